#include "reading/interpreter/layer_places.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace platetally::interpreter {

bool LayerPlaces::lay(const Point& from_mm, const Point& to_mm, bool is_purge) {
  if (layers_.is_level_again(from_mm[2], to_mm[2])) [[likely]] {
    if (ahead_.is_watching())
      ahead_.lay(from_mm, to_mm, layers_.current(), to_mm[2]);
    laid_to_mm_ = to_mm;
    return true;
  }
  if (ahead_.holds(from_mm, to_mm, layers_.current_mm()))
    return true;
  const bool joined = from_mm == laid_to_mm_;
  const auto place = layers_.lay(from_mm, to_mm, joined, !is_purge && may_open(from_mm, to_mm));
  laid_to_mm_ = to_mm;
  if (!place.is_known)
    return false;
  ahead_.lay(from_mm, to_mm, place.layer, layers_.current_mm());
  return true;
}

void LayerPlaces::lay_level(std::size_t count, const double* x_mm, const double* y_mm,
                            double z_mm) {
  if (ahead_.is_watching()) {
    const auto x = base::extent_of(x_mm, count);
    const auto y = base::extent_of(y_mm, count);
    ahead_.lay_in({x.least, x.most, y.least, y.most});
  }
  laid_to_mm_ = {x_mm[count - 1], y_mm[count - 1], z_mm};
  layers_.count_level(count);
}

bool LayerPlaces::lies_off_the_part(const Point& from_mm, const Point& to_mm) const {
  // By the middle of the move, as the purge book decides it.
  const double x_mm = 0.5 * (from_mm[0] + to_mm[0]);
  const double y_mm = 0.5 * (from_mm[1] + to_mm[1]);
  const auto inside = [&](const auto& area) {
    return x_mm >= area.x_min_mm && x_mm <= area.x_max_mm && y_mm >= area.y_min_mm &&
           y_mm <= area.y_max_mm;
  };
  return (trusts_area_ && !inside(machine_.area)) ||
         std::any_of(machine_.waste_areas.begin(), machine_.waste_areas.end(), inside);
}

bool LayerPlaces::may_open(const Point& from_mm, const Point& to_mm) {
  if (!lies_off_the_part(from_mm, to_mm)) {
    heights_off_part_ = 0;
    return true;
  }
  // Purge lies at the height of a layer; a plate that climbs outside was made for another machine.
  if (heights_off_part_ == 0 || to_mm[2] > off_part_mm_ + kSameHeight_mm) {
    ++heights_off_part_;
    off_part_mm_ = to_mm[2];
  }
  constexpr int kBelievedHeights = 2;
  if (heights_off_part_ <= kBelievedHeights || !trusts_area_)
    return false;
  trusts_area_ = false;
  remarks_.say(
      "plate-outside-area", Severity::warning,
      [&] {
        return fmt::format(
            "material is laid outside the machine's area at more than {} heights, here at X{:.6g} "
            "Y{:.6g}; expected X {:.6g} to {:.6g}, Y {:.6g} to {:.6g}; from here on it makes "
            "layers "
            "all the same",
            kBelievedHeights, to_mm[0], to_mm[1], machine_.area.x_min_mm, machine_.area.x_max_mm,
            machine_.area.y_min_mm, machine_.area.y_max_mm);
      },
      "Was the plate made for another machine, or one whose origin is the middle of the bed?");
  return !lies_off_the_part(from_mm, to_mm);
}

}  // namespace platetally::interpreter
