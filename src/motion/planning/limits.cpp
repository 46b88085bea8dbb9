#include "motion/planning/limits.hpp"

#include <algorithm>
#include <cmath>
#include <span>

namespace platetally::motion {

namespace {

using interpreter::Limit;

/// `values` into `targets`, where stated and within least .. most.
bool assign(std::span<const double> values, double least, double most, std::span<double> targets) {
  bool sound = true;
  for (std::size_t i = 0; i < targets.size(); ++i) {
    if (std::isnan(values[i]))
      continue;
    if (values[i] >= least && values[i] <= most)
      targets[i] = values[i];
    else
      sound = false;
  }
  return sound;
}

}  // namespace

Limits::Limits(const MotionLimits& machine) : machine_(machine) {
  prepare();
}

void Limits::prepare() {
  for (std::size_t axis = 0; axis < kAxisCount; ++axis) {
    of_paths_.per_speed[axis] = 1.0 / machine_.speed_mm_s[axis];
    of_paths_.per_acceleration[axis] = 1.0 / machine_.acceleration_mm_s2[axis];
  }
  of_paths_.minimum_segment_time_s = machine_.minimum_segment_time_s;
  by_use_[static_cast<std::size_t>(Use::print)] = {machine_.minimum_print_feed_mm_s,
                                                   machine_.print_acceleration_mm_s2};
  by_use_[static_cast<std::size_t>(Use::travel)] = {machine_.minimum_travel_feed_mm_s,
                                                    machine_.travel_acceleration_mm_s2};
  by_use_[static_cast<std::size_t>(Use::retract)] = {0.0, machine_.retract_acceleration_mm_s2};
}

bool Limits::set(const interpreter::Event& event) {
  const auto one = [&](double least, double& target) {
    return assign(event.values, least, kMost, std::span(&target, 1));
  };
  bool sound = true;
  switch (event.limit) {
    case Limit::axis_speed_mm_s:
      sound = assign(event.values, kLeast, kMost, machine_.speed_mm_s);
      break;
    case Limit::axis_acceleration_mm_s2:
      sound = assign(event.values, kLeast, kMost, machine_.acceleration_mm_s2);
      break;
    case Limit::print_acceleration_mm_s2:
      sound = one(kLeast, machine_.print_acceleration_mm_s2);
      break;
    case Limit::travel_acceleration_mm_s2:
      sound = one(kLeast, machine_.travel_acceleration_mm_s2);
      break;
    case Limit::retract_acceleration_mm_s2:
      sound = one(kLeast, machine_.retract_acceleration_mm_s2);
      break;
    case Limit::junction_deviation_mm:
      sound = one(0.0, machine_.junction_deviation_mm);
      break;
    case Limit::corner_step_mm_s:
      sound = assign(event.values, 0.0, kMost, machine_.corner_step_mm_s);
      break;
    case Limit::minimum_print_feed_mm_s:
      sound = one(0.0, machine_.minimum_print_feed_mm_s);
      break;
    case Limit::minimum_travel_feed_mm_s:
      sound = one(0.0, machine_.minimum_travel_feed_mm_s);
      break;
    case Limit::minimum_segment_time_s:
      sound = one(0.0, machine_.minimum_segment_time_s);
      break;
    case Limit::path_acceleration_mm_s2:
      sound = set_path_acceleration(event.values[0]);
      break;
    case Limit::corner_speed_mm_s:
      sound = one(0.0, machine_.corner_speed_mm_s);
      break;
    case Limit::least_cruise_share:
      sound = set_cruise_share(event.values[0]);
      break;
    case Limit::braking_acceleration_mm_s2:
      sound = event.values[0] >= kLeast &&
              set_cruise_share(1.0 -
                               std::min(1.0, event.values[0] / machine_.print_acceleration_mm_s2));
      break;
  }
  prepare();
  return sound;
}

bool Limits::set_path_acceleration(double acceleration_mm_s2) {
  if (!(acceleration_mm_s2 >= kLeast && acceleration_mm_s2 <= kMost))
    return false;
  machine_.print_acceleration_mm_s2 = machine_.travel_acceleration_mm_s2 = acceleration_mm_s2;
  for (const std::size_t axis : {0U, 1U})
    machine_.acceleration_mm_s2[axis] =
        std::max(machine_.acceleration_mm_s2[axis], acceleration_mm_s2);
  return true;
}

bool Limits::set_cruise_share(double share) {
  if (!(share >= 0.0 && share < 1.0))
    return false;
  machine_.least_cruise_share = share;
  return true;
}

Pace Limits::arc_pace(const Path& path, const Bend& bend, double feed_mm_s, Use use) const {
  Pace result = pace(path.length_mm, bend.most_along, feed_mm_s, use);
  double across = of_use(use).acceleration_mm_s2;
  for (std::size_t axis = 0; axis < 3; ++axis)
    if (across * bend.most_across[axis] > machine_.acceleration_mm_s2[axis])
      across = machine_.acceleration_mm_s2[axis] / bend.most_across[axis];
  result.speed_mm_s = std::min(result.speed_mm_s, std::sqrt(across * bend.radius_mm));
  return result;
}

}  // namespace platetally::motion
