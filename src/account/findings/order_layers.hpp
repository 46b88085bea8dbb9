// The layers of a plate whose order of tools can be planned, by the time in which they are printed.
#pragma once

#include <cstddef>
#include <vector>

#include "material/ordering/problem.hpp"
#include "platetally/account.hpp"

namespace platetally {

struct OrderLayers {
  /// One for each visit of a layer; several of one tool each for a visit that is left as it is.
  ordering::Orders layers;
  std::vector<std::size_t> visit_of;  ///< by layer: index into the account's visits
  std::size_t visits = 0;
  std::size_t left_out =
      0;                   ///< layers whose order is left as it is, because more is not understood
  bool by_height = false;  ///< the order in time is not known
};

/// `tools`: how many the machine has; others are passed over.
OrderLayers order_layers(const Account& account, std::size_t tools);

/// Orders of `layers.layers` as orders of visits.
ordering::Orders by_visit(const OrderLayers& layers, const ordering::Orders& orders);

}  // namespace platetally
