// Time of one move between two given speeds.
//
// Idea: constant acceleration a up to a peak, a stretch at the move's own speed v if it is reached,
// constant deceleration a. With w = v^2 and r = 2 a L, a move is possible if |w1 - w0| <= r.
//   peak   p = min(v, sqrt((r + w0 + w1) / 2))
//   time   T = (r + (p - v0)^2 + (p - v1)^2) / (2 a p)
// One form for triangle and trapezoid: for the trapezoid it is (p - v0)/a + (p - v1)/a + the rest
// of L at p; for the triangle r = 2 p^2 - w0 - w1 turns it into (2p - v0 - v1)/a. Nothing cancels:
// all terms are positive, and where p - v0 loses digits its square is far below r. A piece of 1e-4
// mm in the middle of a fast line keeps its digits. Range: 0 <= v0, v1 <= v; a, L > 0. Source: L.
// Biagiotti, C. Melchiorri, Trajectory Planning for Automatic Machines and Robots, Springer 2008,
// chapter 3 (from memory); checked by integration and against a kinematics library.
#pragma once

#include <algorithm>
#include <cmath>

namespace platetally::motion {

/// What a move may do at most, in the form that look-ahead and profile share.
struct Reach {
  double square;     ///< 2 a L, mm2/s2: by how much the square of the speed can change
  double speed;      ///< of the move itself, mm/s
  double two_accel;  ///< 2 a, mm/s2
};

/// Seconds from `v0` over `peak` to `v1`; r = 2 a L.
inline double seconds_over_peak(double r, double two_accel, double peak, double v0, double v1) {
  const double rise = peak - v0;
  const double fall = peak - v1;
  return (r + rise * rise + fall * fall) / (two_accel * peak);
}

/// Seconds from entry to exit. `w` are the squares of the speeds `v`.
inline double travel_time_s(const Reach& reach, double v0, double w0, double v1, double w1) {
  const double peak = std::min(std::sqrt(0.5 * (reach.square + w0 + w1)), reach.speed);
  return seconds_over_peak(reach.square, reach.two_accel, peak, v0, v1);
}

/// The same move laid open: how long and how far in each of its three phases.
struct Phases {
  double peak_mm_s = 0.0;
  double accelerate_s = 0.0, cruise_s = 0.0, brake_s = 0.0;
  double accelerate_mm = 0.0, cruise_mm = 0.0, brake_mm = 0.0;

  double time_s() const { return accelerate_s + cruise_s + brake_s; }
};

Phases phases(const Reach& reach, double v0_mm_s, double v1_mm_s);

/// A move of its own, from rest to rest; 0 for no length.
double rest_to_rest_s(double length_mm, double speed_mm_s, double acceleration_mm_s2);

}  // namespace platetally::motion
