// Which bed tiles are held at the target, which are kept warm beside them.
#pragma once

#include <cstdint>
#include <vector>

#include "platetally/machine.hpp"

namespace platetally::heat {

struct ZonePlan {
  std::uint64_t active = 0;
  std::uint64_t warm = 0;  ///< neighbours of active tiles, not active themselves
};

/// Tiles around those in `tiles`, by 4 or 8 neighbours (0: none), without `tiles` themselves.
std::uint64_t neighbours_of(std::uint64_t tiles, const Bed& bed);

/// Plans tiles from the footprints of the layers (bits row * columns + column).
class ZonePlanner {
 public:
  ZonePlanner(const Bed& bed, const std::vector<std::uint64_t>& footprint_by_layer);
  /// The plan while `layer` is printed.
  ZonePlan plan(std::uint32_t layer) const;

 private:
  const Bed& bed_;
  std::uint64_t all_;
  std::uint64_t whole_plate_ = 0;
  std::vector<std::uint64_t> from_layer_on_;
};

}  // namespace platetally::heat
