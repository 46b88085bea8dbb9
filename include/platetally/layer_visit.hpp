/// @file
/// Which tools print in a layer, in the order of printing.
#pragma once

#include <cstdint>
#include <vector>

namespace platetally {

/// Tools that lay the part in one layer without another layer between: most plates visit each layer
/// once; objects printed one after the other visit each of their layers. A tower is no part.
struct LayerVisit {
  std::uint64_t layer = 0;  ///< LayerAccount::index
  std::vector<int> order;   ///< tools one after the other; one may occur several times
};

}  // namespace platetally
