#include "motion/planning/arc_chords.hpp"

#include <algorithm>
#include <cmath>

#include "motion/planning/path.hpp"

namespace platetally::motion {

ArcChords::ArcChords(const interpreter::Move& move, double length_mm, double chord_mm)
    : move_(move) {
  const PlaneAxes axes = axes_of(move.plane);
  first_ = axes.first;
  second_ = axes.second;
  across_ = axes.across;
  const double from_first = move.from_mm[first_] - move.centre_mm[0];
  const double from_second = move.from_mm[second_] - move.centre_mm[1];
  radius_mm_ = std::sqrt(from_first * from_first + from_second * from_second);
  begin_rad_ = std::atan2(from_second, from_first);
  const double most = static_cast<double>(kMost) + 1.0;
  count_ = static_cast<std::size_t>(std::clamp(std::floor(length_mm / chord_mm), 1.0, most));
}

std::array<double, 3> ArcChords::end_mm(std::size_t k) const {
  if (k == count_)
    return move_.to_mm;
  const double share = static_cast<double>(k) / static_cast<double>(count_);
  const double angle_rad = begin_rad_ + move_.sweep_rad * share;
  std::array<double, 3> end_mm{};
  end_mm[first_] = move_.centre_mm[0] + radius_mm_ * std::cos(angle_rad);
  end_mm[second_] = move_.centre_mm[1] + radius_mm_ * std::sin(angle_rad);
  end_mm[across_] =
      move_.from_mm[across_] + (move_.to_mm[across_] - move_.from_mm[across_]) * share;
  return end_mm;
}

}  // namespace platetally::motion
