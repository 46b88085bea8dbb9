// Filament that is of another use than its move seemed to be of, once the whole plate was seen:
// what every verdict on purge comes down to, and every ledger of uses takes alike.
#pragma once

#include <array>
#include <cstdint>
#include <optional>

#include "material/swaps/box.hpp"
#include "material/swaps/use.hpp"

namespace platetally::swaps {

struct Recounted {
  std::uint32_t layer = 0;  ///< ordinal
  int tool = 0;
  double mm = 0.0;
  Use was = Use::part;
  Use is = Use::purge;
  double print_s = 0.0;  ///< seconds of its strokes, counted as print so far
  // Of purge:
  Mark mark = Mark::none;            ///< what it was recognised by
  int from = -1, to = -1;            ///< the swap that it is because of
  bool only_keeps_standing = false;  ///< a tower, where no swap asks for it
  // As far as it is known:
  std::optional<std::uint32_t> segment{};        ///< swaps before it
  std::optional<std::array<double, 2>> at_mm{};  ///< a point of it on the bed
  std::optional<Box> beyond{};                   ///< where it lies beyond the plate
};

}  // namespace platetally::swaps
