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

/// Of a vector between coordinates below 1e12: no overflow to guard against.
double length_of(double a, double b) {
  return std::sqrt(a * a + b * b);
}

/// Where a radius points at one end of the arc: its parts along an axis and across it.
struct Pointing {
  double along, across;
};

/// Largest part along the axis on the way from one to the other, by a turn of `sweep`. Less than
/// half a turn points along the axis in between only if it changes sides of it.
double most_along(Pointing from, Pointing to, double sweep_rad) {
  const bool passes_axis = std::abs(sweep_rad) >= pi || (from.across < 0.0) != (to.across < 0.0);
  return passes_axis ? 1.0 : std::max(std::abs(from.along), std::abs(to.along));
}

}  // namespace

Course arc_course(const interpreter::Move& move, Bend& bend) {
  const auto [first, second, across] = axes_of(move.plane);
  const double from_first = move.from_mm[first] - move.centre_mm[0];
  const double from_second = move.from_mm[second] - move.centre_mm[1];
  const double to_first = move.to_mm[first] - move.centre_mm[0];
  const double to_second = move.to_mm[second] - move.centre_mm[1];
  const double from_radius = length_of(from_first, from_second);
  const double to_radius = length_of(to_first, to_second);
  const double around_mm = 0.5 * (from_radius + to_radius) * std::abs(move.sweep_rad);
  if (!(std::min(from_radius, to_radius) > kLeastLength_mm && around_mm > kLeastLength_mm))
    return straight_course(move);

  const double rise_mm = move.to_mm[across] - move.from_mm[across];
  const double length_mm = length_of(around_mm, rise_mm);
  Course course;
  if (!(length_mm < kMostLength_mm && std::abs(move.e_mm) < kMostLength_mm)) {
    course.kind = CourseKind::broken;
    return course;
  }
  course.kind = CourseKind::arc;
  course.length_mm = length_mm;
  const double in_plane = around_mm / length_mm;
  const double turn = std::copysign(in_plane, move.sweep_rad);
  const Pointing from{from_first / from_radius, from_second / from_radius};
  const Pointing to{to_first / to_radius, to_second / to_radius};
  course.entry[first] = -turn * from.across;
  course.entry[second] = turn * from.along;
  course.exit[first] = -turn * to.across;
  course.exit[second] = turn * to.along;
  course.entry[across] = course.exit[across] = rise_mm / length_mm;
  course.entry[3] = course.exit[3] = move.e_mm / length_mm;

  const double most_first = most_along(from, to, move.sweep_rad);
  const double most_second =
      most_along({from.across, from.along}, {to.across, to.along}, move.sweep_rad);
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
