#include "motion/planning/standing.hpp"

#include <algorithm>
#include <cmath>

#include "motion/planning/profile.hpp"

namespace platetally::motion {

using interpreter::RecordKind;

namespace {

/// One axis from rest to rest; `acceleration_mm_s2`: of this kind of move, before the axis's own.
double axis_s(const MotionLimits& limits, std::size_t axis, double length_mm, double speed_mm_s,
              double acceleration_mm_s2) {
  const double acceleration = std::min(acceleration_mm_s2, limits.acceleration_mm_s2[axis]);
  const double left = 1.0 - limits.least_cruise_share;
  const double peak = left < 1.0 ? std::sqrt(left * acceleration * length_mm) : speed_mm_s;
  return rest_to_rest_s(length_mm, std::min({speed_mm_s, limits.speed_mm_s[axis], peak}),
                        acceleration);
}

}  // namespace

double standing_s(const interpreter::Record& record, const MotionLimits& limits,
                  const Procedures& procedures) {
  const auto feed_s = [&](double length_mm, double speed_mm_s) {
    return axis_s(limits, 3, std::abs(length_mm), speed_mm_s, limits.retract_acceleration_mm_s2);
  };
  const auto lift_s = [&] {
    return axis_s(limits, 2, procedures.retract_lift_mm, limits.speed_mm_s[2],
                  limits.travel_acceleration_mm_s2);
  };
  switch (record.kind) {
    case RecordKind::dwell:
    case RecordKind::takes_seconds:
      return std::isfinite(record.event.value) ? std::max(0.0, record.event.value) : 0.0;
    case RecordKind::firmware_retract:
      return feed_s(procedures.retract_mm, procedures.retract_speed_mm_s) + lift_s();
    case RecordKind::firmware_return:
      return feed_s(procedures.retract_mm + procedures.return_extra_mm,
                    procedures.return_speed_mm_s) +
             lift_s();
    case RecordKind::move:
    case RecordKind::set_heater:
    case RecordKind::wait_heater:
    case RecordKind::set_fan:
    case RecordKind::select_tool:
    case RecordKind::set_limits:
    case RecordKind::pause:
    case RecordKind::home:
    case RecordKind::probe:
    case RecordKind::motors:
    case RecordKind::object:
    case RecordKind::end_of_plate:
      break;
  }
  return 0.0;
}

}  // namespace platetally::motion
