#include "reading/interpreter/arcs.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace platetally::interpreter {

namespace {

using std::numbers::pi;

double distance_mm(Point2 a, Point2 b) {
  return std::hypot(a[0] - b[0], a[1] - b[1]);
}

/// Angle from start to end about the centre, in the direction of the command, in (0, 2 pi].
double sweep_rad(Point2 from, Point2 to, Point2 centre, bool clockwise) {
  const double ux = from[0] - centre[0], uy = from[1] - centre[1];
  const double vx = to[0] - centre[0], vy = to[1] - centre[1];
  // The angle between two directions by one atan2 keeps its digits where both angles are alike.
  double angle = std::atan2(ux * vy - uy * vx, ux * vx + uy * vy);
  if (clockwise)
    angle = -angle;
  if (angle <= 0.0)
    angle += 2.0 * pi;
  return angle;
}

}  // namespace

std::optional<Arc> arc_by_centre(Point2 from_mm, Point2 to_mm, Point2 offset_mm, bool clockwise,
                                 double more_turns) {
  Arc arc;
  arc.centre_mm = {from_mm[0] + offset_mm[0], from_mm[1] + offset_mm[1]};
  arc.start_radius_mm = distance_mm(from_mm, arc.centre_mm);
  arc.end_radius_mm = distance_mm(to_mm, arc.centre_mm);
  if (arc.start_radius_mm < kSamePoint_mm)
    return std::nullopt;
  const bool full = distance_mm(from_mm, to_mm) < kSamePoint_mm;
  double angle = full ? 2.0 * pi : sweep_rad(from_mm, to_mm, arc.centre_mm, clockwise);
  angle += 2.0 * pi * more_turns;
  arc.sweep_rad = clockwise ? -angle : angle;
  return arc;
}

std::optional<Arc> arc_by_radius(Point2 from_mm, Point2 to_mm, double radius_mm, bool clockwise) {
  const double chord_mm = distance_mm(from_mm, to_mm);
  if (chord_mm < kSamePoint_mm || radius_mm == 0.0)
    return std::nullopt;
  Arc arc;
  const double half_mm = 0.5 * chord_mm;
  const double radius = std::max(std::abs(radius_mm), half_mm);
  arc.radius_shortfall_mm = radius - std::abs(radius_mm);
  const double to_centre_mm = std::sqrt((radius - half_mm) * (radius + half_mm));
  // Left of the chord for a short counter-clockwise arc and for a long clockwise one.
  const bool left = (radius_mm > 0.0) != clockwise;
  const double side = left ? to_centre_mm / chord_mm : -to_centre_mm / chord_mm;
  const double dx = to_mm[0] - from_mm[0], dy = to_mm[1] - from_mm[1];
  arc.centre_mm = {from_mm[0] + 0.5 * dx - side * dy, from_mm[1] + 0.5 * dy + side * dx};
  arc.start_radius_mm = radius;
  arc.end_radius_mm = radius;
  // The half angle is asin(half chord / R); atan2 keeps its digits near half a turn.
  const double short_rad = 2.0 * std::atan2(half_mm, to_centre_mm);
  const double angle = radius_mm > 0.0 ? short_rad : 2.0 * pi - short_rad;
  arc.sweep_rad = clockwise ? -angle : angle;
  return arc;
}

}  // namespace platetally::interpreter
