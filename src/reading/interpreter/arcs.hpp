// Circular moves: centre, sweep and radius from the words of G2 and G3.
//
// Centre form: the centre is the start plus (I, J), always an increment; the sweep is the angle
// from start to end in the direction of the command, in (0, 2 pi]. Radius form: the centre lies on
// the perpendicular bisector of the chord c at distance sqrt(R^2 - c^2/4); R > 0 takes the arc of
// at most half a turn, R < 0 the other one. Source: NISTIR 6556, sections 3.5.3.1 and 3.5.3.2.
// Range: coordinates up to 1e9 mm. Where start and end coincide (nearer than kSamePoint_mm) the
// centre form is a full turn.
#pragma once

#include <array>
#include <optional>

namespace platetally::interpreter {

using Point2 = std::array<double, 2>;

/// Start and end nearer than this are one point: decimals of files end at 1e-5 mm, and sums of
/// relative moves wander by less than 1e-9.
inline constexpr double kSamePoint_mm = 1e-7;

struct Arc {
  Point2 centre_mm{};
  double sweep_rad = 0.0;  ///< counter-clockwise positive
  double start_radius_mm = 0.0;
  double end_radius_mm = 0.0;
  double radius_shortfall_mm = 0.0;  ///< radius form: what |R| lacked to reach the end
};

/// `more_turns` full turns are added to the sweep. None when the centre is the start.
std::optional<Arc> arc_by_centre(Point2 from_mm, Point2 to_mm, Point2 offset_mm, bool clockwise,
                                 double more_turns);

/// None when the end is the start, or R is 0: no circle is told. An |R| less than half the chord is
/// raised to it.
std::optional<Arc> arc_by_radius(Point2 from_mm, Point2 to_mm, double radius_mm, bool clockwise);

}  // namespace platetally::interpreter
