#include "motion/limits.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <span>

namespace platetally::motion {

namespace {

using interpreter::Limit;

/// max_k |share_k| * per_limit_k: the reciprocal of the limit along the path.
double per_path_limit(const Direction& shares, const std::array<double, kAxisCount>& per_limit) {
  const double x = std::abs(shares[0]) * per_limit[0];
  const double y = std::abs(shares[1]) * per_limit[1];
  const double z = std::abs(shares[2]) * per_limit[2];
  const double e = std::abs(shares[3]) * per_limit[3];
  return std::max(std::max(x, y), std::max(z, e));
}

/// `values` into `targets`, where stated and within least .. most.
Limits::Answer assign(std::span<const double> values, double least, double most,
                      std::span<double> targets) {
  Limits::Answer answer = Limits::Answer::taken;
  for (std::size_t i = 0; i < targets.size(); ++i) {
    if (std::isnan(values[i]))
      continue;
    if (values[i] >= least && values[i] <= most)
      targets[i] = values[i];
    else
      answer = Limits::Answer::refused;
  }
  return answer;
}

}  // namespace

Limits::Limits(const MotionLimits& machine) : machine_(machine) {
  invert();
}

void Limits::invert() {
  for (std::size_t axis = 0; axis < kAxisCount; ++axis) {
    per_speed_[axis] = 1.0 / machine_.speed_mm_s[axis];
    per_acceleration_[axis] = 1.0 / machine_.acceleration_mm_s2[axis];
  }
}

bool Limits::honours(Limit limit) const {
  switch (limit) {
    case Limit::axis_speed_mm_s:
      return machine_.honours_speed_words;
    case Limit::axis_acceleration_mm_s2:
    case Limit::print_acceleration_mm_s2:
    case Limit::travel_acceleration_mm_s2:
    case Limit::retract_acceleration_mm_s2:
      return machine_.honours_acceleration_words;
    default:
      return machine_.honours_corner_words;
  }
}

Limits::Answer Limits::set(const interpreter::Event& event) {
  if (!honours(event.limit))
    return Answer::not_honoured;
  const auto one = [&](double least, double& target) {
    return assign(event.values, least, kMost, std::span(&target, 1));
  };
  Answer answer = Answer::taken;
  switch (event.limit) {
    case Limit::axis_speed_mm_s:
      answer = assign(event.values, kLeast, kMost, machine_.speed_mm_s);
      break;
    case Limit::axis_acceleration_mm_s2:
      answer = assign(event.values, kLeast, kMost, machine_.acceleration_mm_s2);
      break;
    case Limit::print_acceleration_mm_s2:
      answer = one(kLeast, machine_.print_acceleration_mm_s2);
      break;
    case Limit::travel_acceleration_mm_s2:
      answer = one(kLeast, machine_.travel_acceleration_mm_s2);
      break;
    case Limit::retract_acceleration_mm_s2:
      answer = one(kLeast, machine_.retract_acceleration_mm_s2);
      break;
    case Limit::junction_deviation_mm:
      answer = one(0.0, machine_.junction_deviation_mm);
      break;
    case Limit::corner_step_mm_s:
      answer = assign(event.values, 0.0, kMost, machine_.corner_step_mm_s);
      break;
    case Limit::minimum_print_feed_mm_s:
      answer = one(0.0, machine_.minimum_print_feed_mm_s);
      break;
    case Limit::minimum_travel_feed_mm_s:
      answer = one(0.0, machine_.minimum_travel_feed_mm_s);
      break;
    case Limit::minimum_segment_time_s:
      answer = one(0.0, machine_.minimum_segment_time_s);
      break;
  }
  invert();
  return answer;
}

double Limits::base_acceleration(Use use) const {
  switch (use) {
    case Use::travel:
      return machine_.travel_acceleration_mm_s2;
    case Use::retract:
      return machine_.retract_acceleration_mm_s2;
    case Use::print:
      break;
  }
  return machine_.print_acceleration_mm_s2;
}

double Limits::wanted_speed(const Course& course, double feed_mm_s, Use use) const {
  double speed = feed_mm_s > 0.0 ? feed_mm_s : std::numeric_limits<double>::infinity();
  if (use == Use::print)
    speed = std::max(speed, machine_.minimum_print_feed_mm_s);
  else if (use == Use::travel)
    speed = std::max(speed, machine_.minimum_travel_feed_mm_s);
  if (speed * machine_.minimum_segment_time_s > course.length_mm)
    speed = course.length_mm / machine_.minimum_segment_time_s;
  return std::max(speed, kLeast);
}

Pace Limits::pace(const Course& course, const Direction& shares, double feed_mm_s, Use use) const {
  Pace pace{wanted_speed(course, feed_mm_s, use), base_acceleration(use)};
  const double per_speed = per_path_limit(shares, per_speed_);
  if (pace.speed_mm_s * per_speed > 1.0)
    pace.speed_mm_s = 1.0 / per_speed;
  const double per_acceleration = per_path_limit(shares, per_acceleration_);
  if (pace.acceleration_mm_s2 * per_acceleration > 1.0)
    pace.acceleration_mm_s2 = 1.0 / per_acceleration;
  return pace;
}

Pace Limits::line_pace(const Course& course, double feed_mm_s, Use use) const {
  return pace(course, course.entry, feed_mm_s, use);
}

Pace Limits::arc_pace(const Course& course, const Bend& bend, double feed_mm_s, Use use) const {
  Pace result = pace(course, bend.most_along, feed_mm_s, use);
  double across = base_acceleration(use);
  for (std::size_t axis = 0; axis < 3; ++axis)
    if (across * bend.most_across[axis] > machine_.acceleration_mm_s2[axis])
      across = machine_.acceleration_mm_s2[axis] / bend.most_across[axis];
  result.speed_mm_s = std::min(result.speed_mm_s, std::sqrt(across * bend.radius_mm));
  return result;
}

}  // namespace platetally::motion
