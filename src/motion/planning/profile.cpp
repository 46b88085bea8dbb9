#include "motion/planning/profile.hpp"

namespace platetally::motion {

Phases phases(const Reach& reach, double v0_mm_s, double v1_mm_s) {
  const double w0 = v0_mm_s * v0_mm_s;
  const double w1 = v1_mm_s * v1_mm_s;
  const double length_mm = reach.square / reach.two_accel;
  const double unlimited_square = 0.5 * (reach.square + w0 + w1);
  Phases result;
  result.peak_mm_s = std::min(reach.speed, std::sqrt(unlimited_square));
  const double peak_square = result.peak_mm_s * result.peak_mm_s;
  result.accelerate_s = std::max(0.0, 2.0 * (result.peak_mm_s - v0_mm_s) / reach.two_accel);
  result.brake_s = std::max(0.0, 2.0 * (result.peak_mm_s - v1_mm_s) / reach.two_accel);
  result.accelerate_mm = std::max(0.0, (peak_square - w0) / reach.two_accel);
  result.brake_mm = std::max(0.0, (peak_square - w1) / reach.two_accel);
  if (unlimited_square > reach.speed * reach.speed) {
    result.cruise_mm = std::max(0.0, length_mm - result.accelerate_mm - result.brake_mm);
    result.cruise_s = result.cruise_mm / result.peak_mm_s;
  }
  return result;
}

double rest_to_rest_s(double length_mm, double speed_mm_s, double acceleration_mm_s2) {
  if (!(length_mm > 0.0))
    return 0.0;
  const double two_accel = 2.0 * acceleration_mm_s2;
  return travel_time_s({two_accel * length_mm, speed_mm_s, two_accel}, 0.0, 0.0, 0.0, 0.0);
}

}  // namespace platetally::motion
