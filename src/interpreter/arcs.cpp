#include "interpreter/arcs.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace platetally::interpreter {

namespace {

constexpr double kFullTurnRad = 2.0 * std::numbers::pi;

std::optional<std::array<double, 2>> centre_from_radius(const ArcRequest& request) {
  const double dx_mm = request.end_mm[0] - request.start_mm[0];
  const double dy_mm = request.end_mm[1] - request.start_mm[1];
  const double chord_mm = std::hypot(dx_mm, dy_mm);
  const double radius_mm = std::abs(*request.radius_mm);
  constexpr double kRoundingMm = 0.002;  // the standard's tolerance for millimetres
  if (chord_mm == 0.0 || radius_mm < 0.5 * chord_mm - kRoundingMm)
    return std::nullopt;
  const double height_mm =
      std::sqrt(std::max(0.0, radius_mm * radius_mm - 0.25 * chord_mm * chord_mm));
  // Left of the chord for a counter-clockwise turn of at most half.
  double side = request.clockwise ? -1.0 : 1.0;
  if (*request.radius_mm < 0.0)
    side = -side;
  return std::array<double, 2>{
      request.start_mm[0] + 0.5 * dx_mm - side * height_mm * dy_mm / chord_mm,
      request.start_mm[1] + 0.5 * dy_mm + side * height_mm * dx_mm / chord_mm};
}

}  // namespace

std::optional<Arc> find_arc(const ArcRequest& request) {
  Arc arc;
  if (request.radius_mm) {
    const auto centre = centre_from_radius(request);
    if (!centre)
      return std::nullopt;
    arc.centre_mm = *centre;
  } else if (request.offset_mm) {
    arc.centre_mm = {request.start_mm[0] + (*request.offset_mm)[0],
                     request.start_mm[1] + (*request.offset_mm)[1]};
  } else {
    return std::nullopt;
  }
  const double start_x_mm = request.start_mm[0] - arc.centre_mm[0];
  const double start_y_mm = request.start_mm[1] - arc.centre_mm[1];
  const double end_x_mm = request.end_mm[0] - arc.centre_mm[0];
  const double end_y_mm = request.end_mm[1] - arc.centre_mm[1];
  const double radius_mm = std::hypot(start_x_mm, start_y_mm);
  if (radius_mm == 0.0 || !std::isfinite(radius_mm))
    return std::nullopt;
  arc.radius_gap_mm = std::abs(radius_mm - std::hypot(end_x_mm, end_y_mm));
  double turn_rad = std::atan2(start_x_mm * end_y_mm - start_y_mm * end_x_mm,
                               start_x_mm * end_x_mm + start_y_mm * end_y_mm);
  if (request.clockwise)
    turn_rad = -turn_rad;
  const bool closed =
      request.returns_to_start || (end_x_mm == start_x_mm && end_y_mm == start_y_mm);
  if (closed)
    turn_rad = kFullTurnRad;
  else if (turn_rad <= 0.0)
    turn_rad += kFullTurnRad;
  turn_rad += kFullTurnRad * std::clamp(request.turns - 1, 0, 1000);
  arc.sweep_rad = request.clockwise ? -turn_rad : turn_rad;
  return arc;
}

}  // namespace platetally::interpreter
