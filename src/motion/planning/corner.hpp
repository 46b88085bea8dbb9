// How fast a corner may be passed: the square of the speed, in mm2/s2.
//
// Junction deviation: a circle tangent to both legs whose nearest point is d from the corner has
// R = d sin(phi/2) / (1 - sin(phi/2)), phi the angle between the legs; v^2 = a R. With q the half
// of the sum and s the half of the difference of the unit directions, |q| = sin(phi/2) = cos(t/2)
// and |s| = sin(t/2) for the turn t, so
//   R = d |q| (1 + |q|) / |s|^2
// which needs no angle and cancels neither near straight (1 - sin would) nor near reversal.
// Speed step: the largest v at which no axis's speed changes by more than its step; both moves
// pass the corner at the same v along their own path: v = min over axes of step / |u1 - u0|.
// Range: unit directions. Both are common practice of open motion controllers (from memory); the
// circle is elementary geometry. A move of E alone and a move in X Y Z share no path: by the
// circle they stop between each other; by the step model the steps of all axes decide.
#pragma once

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

#include "motion/planning/path.hpp"

namespace platetally::motion {

/// Two directions that meet, each with X Y Z of length 1, or E alone.
struct Corner {
  const Direction& before;
  const Direction& after;
  bool before_feeds = false;  ///< E alone
  bool after_feeds = false;
};

inline constexpr double kUnlimitedSquare = std::numeric_limits<double>::infinity();
/// Directions computed from coordinates carry errors of 1e-16 / length; less than this is straight.
inline constexpr double kSameDirection = 1e-12;

/// `acceleration_mm_s2`: where the moves' own differ, the smaller. Infinity for no turn.
inline double deviation_square(const Corner& corner, double deviation_mm,
                               double acceleration_mm_s2) {
  if (corner.before_feeds != corner.after_feeds)
    return 0.0;
  if (corner.before_feeds)
    return corner.before[3] == corner.after[3] ? kUnlimitedSquare : 0.0;
  double sum = 0.0;
  double difference = 0.0;
  for (std::size_t axis = 0; axis < 3; ++axis) {
    const double plus = corner.after[axis] + corner.before[axis];
    const double minus = corner.after[axis] - corner.before[axis];
    sum += plus * plus;
    difference += minus * minus;
  }
  if (difference == 0.0)
    return kUnlimitedSquare;
  const double q_square = 0.25 * sum;
  const double q = std::sqrt(q_square);
  return acceleration_mm_s2 * deviation_mm * (q + q_square) / (0.25 * difference);
}

inline double step_square(const Corner& corner, const std::array<double, 4>& step_mm_s) {
  double speed = kUnlimitedSquare;
  for (std::size_t axis = 0; axis < 4; ++axis) {
    const double change = std::abs(corner.after[axis] - corner.before[axis]);
    if (change > kSameDirection)
      speed = std::min(speed, step_mm_s[axis] / change);
  }
  return speed * speed;
}

}  // namespace platetally::motion
