#include "motion/course.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace platetally::motion {

namespace {

using std::numbers::pi;

struct PlaneAxes {
  std::size_t first, second, across;
};

PlaneAxes axes_of(interpreter::Plane plane) {
  switch (plane) {
    case interpreter::Plane::zx:
      return {2, 0, 1};
    case interpreter::Plane::yz:
      return {1, 2, 0};
    case interpreter::Plane::xy:
      break;
  }
  return {0, 1, 2};
}

/// Largest |cos| over the angles from `start` on through `sweep`.
double most_cosine(double start_rad, double sweep_rad) {
  const double end_rad = start_rad + sweep_rad;
  const bool through_peak =
      std::abs(sweep_rad) >= pi || std::floor(start_rad / pi) != std::floor(end_rad / pi);
  return through_peak ? 1.0 : std::max(std::abs(std::cos(start_rad)), std::abs(std::cos(end_rad)));
}

}  // namespace

Course feed_course(double e_mm) {
  Course course;
  const double length_mm = std::abs(e_mm);
  if (length_mm < kLeastLength_mm)
    return course;
  if (!(length_mm < kMostLength_mm)) {
    course.kind = CourseKind::broken;
    return course;
  }
  course.kind = CourseKind::feed;
  course.length_mm = length_mm;
  course.entry = {0.0, 0.0, 0.0, std::copysign(1.0, e_mm)};
  course.exit = course.entry;
  return course;
}

Course arc_course(const interpreter::Move& move, Bend& bend) {
  const auto [first, second, across] = axes_of(move.plane);
  const double from_first = move.from_mm[first] - move.centre_mm[0];
  const double from_second = move.from_mm[second] - move.centre_mm[1];
  const double to_first = move.to_mm[first] - move.centre_mm[0];
  const double to_second = move.to_mm[second] - move.centre_mm[1];
  const double from_radius = std::hypot(from_first, from_second);
  const double to_radius = std::hypot(to_first, to_second);
  const double around_mm = 0.5 * (from_radius + to_radius) * std::abs(move.sweep_rad);
  if (!(std::min(from_radius, to_radius) > kLeastLength_mm && around_mm > kLeastLength_mm))
    return straight_course(move);

  const double rise_mm = move.to_mm[across] - move.from_mm[across];
  const double length_mm = std::hypot(around_mm, rise_mm);
  Course course;
  if (!(length_mm < kMostLength_mm && std::abs(move.e_mm) < kMostLength_mm)) {
    course.kind = CourseKind::broken;
    return course;
  }
  course.kind = CourseKind::arc;
  course.length_mm = length_mm;
  const double in_plane = around_mm / length_mm;
  const double turn = std::copysign(in_plane, move.sweep_rad);
  course.entry[first] = -turn * from_second / from_radius;
  course.entry[second] = turn * from_first / from_radius;
  course.exit[first] = -turn * to_second / to_radius;
  course.exit[second] = turn * to_first / to_radius;
  course.entry[across] = course.exit[across] = rise_mm / length_mm;
  course.entry[3] = course.exit[3] = move.e_mm / length_mm;

  const double start_rad = std::atan2(from_second, from_first);
  const double most_first = most_cosine(start_rad, move.sweep_rad);
  const double most_second = most_cosine(start_rad - 0.5 * pi, move.sweep_rad);
  bend.radius_mm = std::min(from_radius, to_radius) / (in_plane * in_plane);
  bend.most_along[first] = in_plane * most_second;
  bend.most_along[second] = in_plane * most_first;
  bend.most_along[across] = std::abs(course.entry[across]);
  bend.most_along[3] = std::abs(course.entry[3]);
  bend.most_across = {};
  bend.most_across[first] = most_first;
  bend.most_across[second] = most_second;
  return course;
}

}  // namespace platetally::motion
