#include "heat/zones.hpp"

namespace platetally::heat {

std::uint64_t neighbours_of(std::uint64_t tiles, const Bed& bed) {
  std::uint64_t around = 0;
  if (bed.neighbour_count == 0)
    return 0;
  for (int row = 0; row < bed.rows; ++row) {
    for (int column = 0; column < bed.columns; ++column) {
      if (((tiles >> (row * bed.columns + column)) & 1U) == 0)
        continue;
      for (int down = -1; down <= 1; ++down) {
        for (int right = -1; right <= 1; ++right) {
          const int r = row + down;
          const int c = column + right;
          const bool diagonal = down != 0 && right != 0;
          if (r < 0 || r >= bed.rows || c < 0 || c >= bed.columns ||
              (diagonal && bed.neighbour_count == 4))
            continue;
          around |= std::uint64_t{1} << (r * bed.columns + c);
        }
      }
    }
  }
  return around & ~tiles;
}

ZonePlanner::ZonePlanner(const Bed& bed, const std::vector<std::uint64_t>& footprint_by_layer)
    : bed_(bed), from_layer_on_(footprint_by_layer) {
  const int tiles = bed.rows * bed.columns;
  all_ = tiles >= 64 ? ~std::uint64_t{0} : (std::uint64_t{1} << tiles) - 1;
  for (std::size_t layer = from_layer_on_.size(); layer-- > 0;) {
    whole_plate_ |= from_layer_on_[layer];
    from_layer_on_[layer] = whole_plate_;
  }
}

ZonePlan ZonePlanner::plan(std::uint32_t layer) const {
  std::uint64_t active = whole_plate_;
  if (bed_.follow_layers && layer < from_layer_on_.size())
    active = from_layer_on_[layer];
  if (bed_.zone_policy == ZonePolicy::whole_bed || active == 0)
    active = all_;
  return {active, neighbours_of(active, bed_)};
}

}  // namespace platetally::heat
