// How fast a corner may be passed: the square of the speed, in mm2/s2.
//
// Junction deviation: a circle tangent to both legs whose nearest point is d from the corner has
// R = d sin(phi/2) / (1 - sin(phi/2)), phi the angle between the legs; v^2 = a R. With q the half
// of the sum and s the half of the difference of the unit directions, |q| = sin(phi/2) = cos(t/2)
// and |s| = sin(t/2) for the turn t, so
//   R = d |q| (1 + |q|) / |s|^2
// which needs no angle and cancels neither near straight (1 - sin would) nor near reversal.
// Corner speed: the same circle, but what is given is the speed v at a right angle, whatever the
// acceleration: d = v^2 (sqrt 2 - 1) / a, a that of the kind of move, for either leg; the axes may
// lower it along the leg, to a', and the lesser a' d counts. The circle ends at the middle of
// either leg at the latest: v^2 <= a' L/2 tan(phi/2) = a' L |q| / (2 |s|). (|q| |s| is half the
// directions' cross product, but that cancels to nothing where they differ by rounding alone.)
// And the filament's speed may jump by its step: v |u1 - u0| <= step, of E alone.
// Speed step: the largest v at which no axis's speed changes by more than its step; both moves
// pass the corner at the same v along their own path: v = min over axes of step / |u1 - u0|.
// Range: unit directions; lengths and accelerations > 0. All three are common practice of open
// motion controllers (from memory); the circle is elementary geometry. A move of E alone and a move
// in X Y Z share no path: by the circles they stop between each other; by the step model the steps
// of all axes decide. By the corner speed, E alone stops before E alone too.
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

// The bodies below serve one corner and, in move_block.cpp, many side by side: no branches, so that
// the compiler does several at once.

/// By the circle alone; `acceleration_times_deviation` in mm2/s2, squares of the sum and of the
/// difference of both directions. Infinity for no turn.
inline double circle_square(double acceleration_times_deviation, double sum, double difference) {
  const double q_square = 0.25 * sum;
  const double q = std::sqrt(q_square);
  const double circle = acceleration_times_deviation * (q + q_square) / (0.25 * difference);
  return difference == 0.0 ? kUnlimitedSquare : circle;
}

/// By the circle that is given by its speed at a right angle, and ends at the middle of a leg.
inline double leg_square(double right_square, double reach, double sum, double difference) {
  const double q_square = 0.25 * sum;
  const double q = std::sqrt(q_square);
  const double per_s = 1.0 / std::sqrt(0.25 * difference);
  const double circle = right_square * (q + q_square) * (per_s * per_s);
  const double middle = 0.25 * reach * q * per_s;
  const double lesser = middle < circle ? middle : circle;
  return difference == 0.0 ? kUnlimitedSquare : lesser;
}

/// At which an axis steps by its most, where its share of the way changes by `change`.
inline double step_speed(double step_mm_s, double change) {
  const double most = step_mm_s / change;
  return change > kSameDirection ? most : kUnlimitedSquare;
}

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
  return circle_square(acceleration_mm_s2 * deviation_mm, sum, difference);
}

/// What limits a corner by its speed at a right angle; of both legs the lesser.
struct CornerLegs {
  double right_square = 0.0;  ///< a' d
  double reach = 0.0;         ///< 2 a' L
};

/// v^2 (sqrt 2 - 1) of the speed at a right angle.
inline double right_angle_square(double corner_speed_mm_s) {
  constexpr double kFlat = 0.41421356237309504880;  // sqrt 2 - 1
  return corner_speed_mm_s * corner_speed_mm_s * kFlat;
}

inline double corner_speed_square(const Corner& corner, const CornerLegs& legs,
                                  double e_step_mm_s) {
  if (corner.before_feeds || corner.after_feeds)
    return 0.0;
  const Direction& from = corner.before;
  const Direction& to = corner.after;
  double sum = 0.0;
  double difference = 0.0;
  for (std::size_t axis = 0; axis < 3; ++axis) {
    sum += (to[axis] + from[axis]) * (to[axis] + from[axis]);
    difference += (to[axis] - from[axis]) * (to[axis] - from[axis]);
  }
  const double filament_mm_s = step_speed(e_step_mm_s, std::abs(to[3] - from[3]));
  return std::min(leg_square(legs.right_square, legs.reach, sum, difference),
                  filament_mm_s * filament_mm_s);
}

inline double step_square(const Corner& corner, const std::array<double, 4>& step_mm_s) {
  double speed = kUnlimitedSquare;
  for (std::size_t axis = 0; axis < 4; ++axis)
    speed = std::min(
        speed, step_speed(step_mm_s[axis], std::abs(corner.after[axis] - corner.before[axis])));
  return speed * speed;
}

}  // namespace platetally::motion
