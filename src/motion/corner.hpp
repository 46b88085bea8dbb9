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

#include <array>

#include "motion/course.hpp"

namespace platetally::motion {

/// Two directions that meet, each with X Y Z of length 1, or E alone.
struct Corner {
  const Direction& before;
  const Direction& after;
  bool before_feeds = false;  ///< E alone
  bool after_feeds = false;
};

/// `acceleration_mm_s2`: where the moves' own differ, the smaller. Infinity for no turn.
double deviation_square(const Corner& corner, double deviation_mm, double acceleration_mm_s2);

double step_square(const Corner& corner, const std::array<double, 4>& step_mm_s);

}  // namespace platetally::motion
