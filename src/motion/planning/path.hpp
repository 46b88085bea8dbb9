// The shape of a move as the planner needs it: how long, which way at its ends, how bent.
//
// Straight: one direction. Arc in a plane of radius R, sweep s, with an even rise h across the
// plane: length = sqrt((R s)^2 + h^2); the tangent is perpendicular to the radius at either end,
// turned up by the rise; radius of curvature of the helix R (length / (R s))^2.
// Where start and end radius differ (files print centres with three digits), R is their mean in
// the length and the smaller one in the curvature. Several turns are a sweep beyond 2 pi.
// Range: radii > 0, else the move counts as straight. Source: NISTIR 6556 section 3.5.3 (arcs, and
// feed along the helix, section 2.1.2.6); differential geometry of the circular helix.
#pragma once

#include <array>
#include <cmath>

#include "reading/interpreter/rows.hpp"

namespace platetally::motion {

/// Share of each axis X Y Z E in one millimetre of the path.
using Direction = std::array<double, 4>;

enum class PathKind : unsigned char {
  none,   ///< neither path nor E: takes no time, and look-ahead looks through it
  feed,   ///< E alone; the path is the filament
  line,   ///< straight in X Y Z
  arc,    ///< bent
  broken  ///< too long for arithmetic
};

struct Path {
  PathKind kind = PathKind::none;
  double length_mm = 0.0;  ///< of the path that the feed runs along
  Direction entry{};
  Direction exit{};
};

/// Numbers of a plane's two axes, as an arc turns from one to the other, and of the one across it.
struct PlaneAxes {
  std::size_t first, second, across;
};

inline PlaneAxes axes_of(interpreter::Plane plane) {
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

/// What only an arc has.
struct Bend {
  double radius_mm = 0.0;               ///< of curvature
  Direction most_along{};               ///< largest |share| of each axis in the tangent, on the way
  std::array<double, 3> most_across{};  ///< the same of the normal
};

using interpreter::kLeastLength_mm;
using interpreter::kMostLength_mm;

/// Path of E alone.
inline Path feed_path(double e_mm) {
  Path path;
  const double length_mm = std::abs(e_mm);
  if (length_mm < kLeastLength_mm)
    return path;
  if (!(length_mm < kMostLength_mm)) {
    path.kind = PathKind::broken;
    return path;
  }
  path.kind = PathKind::feed;
  path.length_mm = length_mm;
  path.entry = {0.0, 0.0, 0.0, std::copysign(1.0, e_mm)};
  path.exit = path.entry;
  return path;
}

Path arc_path(const interpreter::Move& move, Bend& bend);

/// Path of a move that is no arc. Inline: once a move.
inline Path straight_path(const interpreter::Move& move) {
  const double dx = move.to_mm[0] - move.from_mm[0];
  const double dy = move.to_mm[1] - move.from_mm[1];
  const double dz = move.to_mm[2] - move.from_mm[2];
  const double length_mm = std::sqrt(dx * dx + dy * dy + dz * dz);
  if (length_mm < kLeastLength_mm)
    return feed_path(move.e_mm);
  Path path;
  if (!(length_mm < kMostLength_mm && std::abs(move.e_mm) < kMostLength_mm)) {
    path.kind = PathKind::broken;
    return path;
  }
  const double per_mm = 1.0 / length_mm;
  path.kind = PathKind::line;
  path.length_mm = length_mm;
  path.entry = {dx * per_mm, dy * per_mm, dz * per_mm, move.e_mm * per_mm};
  path.exit = path.entry;
  return path;
}

}  // namespace platetally::motion
