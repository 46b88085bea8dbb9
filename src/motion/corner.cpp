#include "motion/corner.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

namespace platetally::motion {

namespace {

constexpr double kUnlimited = std::numeric_limits<double>::infinity();
/// Directions computed from coordinates carry errors of 1e-16 / length; less than this is straight.
constexpr double kSameDirection = 1e-12;

}  // namespace

double deviation_square(const Corner& corner, double deviation_mm, double acceleration_mm_s2) {
  if (corner.before_feeds != corner.after_feeds)
    return 0.0;
  if (corner.before_feeds)
    return corner.before[3] == corner.after[3] ? kUnlimited : 0.0;
  double sum = 0.0;
  double difference = 0.0;
  for (std::size_t axis = 0; axis < 3; ++axis) {
    const double plus = corner.after[axis] + corner.before[axis];
    const double minus = corner.after[axis] - corner.before[axis];
    sum += plus * plus;
    difference += minus * minus;
  }
  if (difference == 0.0)
    return kUnlimited;
  const double q_square = 0.25 * sum;
  const double q = std::sqrt(q_square);
  return acceleration_mm_s2 * deviation_mm * (q + q_square) / (0.25 * difference);
}

double step_square(const Corner& corner, const std::array<double, 4>& step_mm_s) {
  double speed = kUnlimited;
  for (std::size_t axis = 0; axis < 4; ++axis) {
    const double change = std::abs(corner.after[axis] - corner.before[axis]);
    if (change > kSameDirection)
      speed = std::min(speed, step_mm_s[axis] / change);
  }
  return speed * speed;
}

}  // namespace platetally::motion
