// Time of one move between two given speeds.
//
// Idea: constant acceleration a up to a peak, a stretch at the move's own speed if it is reached,
// constant deceleration a. With w = v^2 and r = 2 a L, a move is possible if |w1 - w0| <= r.
//   peak without a limit   w_p = (r + w0 + w1) / 2
//   triangle (w_p <= v^2)  T = (r + w1 - w0) / (2a (v0 + v_p)) + (r - w1 + w0) / (2a (v1 + v_p))
//   trapezoid (else)       T = (r + (v - v0)^2 + (v - v1)^2) / (2 a v)
// Both are the textbook forms rewritten so that nothing cancels: a piece of 1e-4 mm in the middle
// of a fast line keeps its digits. Range: 0 <= v0, v1 <= v; a, L > 0.
// Source: L. Biagiotti, C. Melchiorri, Trajectory Planning for Automatic Machines and Robots,
// Springer 2008, chapter 3 (from memory); checked by integration and against a kinematics library.
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

/// Seconds from entry to exit. `w` are the squares of the speeds `v`.
inline double travel_time_s(const Reach& reach, double v0, double w0, double v1, double w1) {
  const double peak_square = 0.5 * (reach.square + w0 + w1);
  if (peak_square <= reach.speed * reach.speed) {
    const double peak = std::sqrt(peak_square);
    const double rise = std::max(0.0, reach.square + (w1 - w0));
    const double fall = std::max(0.0, reach.square - (w1 - w0));
    const double up = v0 + peak;
    const double down = v1 + peak;
    return (rise * down + fall * up) / (reach.two_accel * up * down);
  }
  const double below0 = reach.speed - v0;
  const double below1 = reach.speed - v1;
  return (reach.square + below0 * below0 + below1 * below1) / (reach.two_accel * reach.speed);
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
