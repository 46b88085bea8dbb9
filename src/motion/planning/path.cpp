#include "motion/planning/path.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace platetally::motion {

namespace {

using std::numbers::pi;

/// What is said of the plane's first and second axis, of the one across, and of E.
Direction on_axes(interpreter::Plane plane, double first, double second, double across, double e) {
  switch (plane) {
    case interpreter::Plane::zx:
      return {second, across, first, e};
    case interpreter::Plane::yz:
      return {across, first, second, e};
    case interpreter::Plane::xy:
      break;
  }
  return {first, second, across, e};
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

Path arc_path(const interpreter::Move& move, Bend& bend) {
  const auto [first, second, across] = axes_of(move.plane);
  const double from_first = move.from_mm[first] - move.centre_mm[0];
  const double from_second = move.from_mm[second] - move.centre_mm[1];
  const double to_first = move.to_mm[first] - move.centre_mm[0];
  const double to_second = move.to_mm[second] - move.centre_mm[1];
  const double from_radius = length_of(from_first, from_second);
  const double to_radius = length_of(to_first, to_second);
  const double around_mm = 0.5 * (from_radius + to_radius) * std::abs(move.sweep_rad);
  if (!(std::min(from_radius, to_radius) > kLeastLength_mm && around_mm > kLeastLength_mm))
    return straight_path(move);

  const double rise_mm = move.to_mm[across] - move.from_mm[across];
  const bool is_flat = rise_mm == 0.0;
  const double length_mm = is_flat ? around_mm : length_of(around_mm, rise_mm);
  Path path;
  if (!(length_mm < kMostLength_mm && std::abs(move.e_mm) < kMostLength_mm)) {
    path.kind = PathKind::broken;
    return path;
  }
  const double per_mm = 1.0 / length_mm;
  const double in_plane = is_flat ? 1.0 : around_mm * per_mm;
  const double turn = std::copysign(in_plane, move.sweep_rad);
  const double rise = rise_mm * per_mm;
  const double feed = move.e_mm * per_mm;
  const double per_from = 1.0 / from_radius;
  const double per_to = 1.0 / to_radius;
  const Pointing from{from_first * per_from, from_second * per_from};
  const Pointing to{to_first * per_to, to_second * per_to};
  path.kind = PathKind::arc;
  path.length_mm = length_mm;
  path.entry = on_axes(move.plane, -turn * from.across, turn * from.along, rise, feed);
  path.exit = on_axes(move.plane, -turn * to.across, turn * to.along, rise, feed);

  const double most_first = most_along(from, to, move.sweep_rad);
  const double most_second =
      most_along({from.across, from.along}, {to.across, to.along}, move.sweep_rad);
  const double radius_mm = std::min(from_radius, to_radius);
  bend.radius_mm = is_flat ? radius_mm : radius_mm / (in_plane * in_plane);
  bend.most_along = on_axes(move.plane, in_plane * most_second, in_plane * most_first,
                            std::abs(rise), std::abs(feed));
  const Direction most_across = on_axes(move.plane, most_first, most_second, 0.0, 0.0);
  bend.most_across = {most_across[0], most_across[1], most_across[2]};
  return path;
}

}  // namespace platetally::motion
