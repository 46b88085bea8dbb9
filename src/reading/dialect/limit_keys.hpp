// Limits of the motion in the arguments of a word that nothing explains, read by the plain English
// in their keys: no list of any controller's words.
//
// A key is cut into its parts at whatever is no letter. DECEL or DECELERATION together with ACCEL
// or ACCELERATION: the acceleration by which short moves brake. ACCEL or ACCELERATION: the
// acceleration. CORNER with VELOCITY or SPEED: the speed at a right-angle corner. CRUISE with RATIO
// or SHARE: the cruise share. VELOCITY or SPEED: the highest speed. Other parts do not matter,
// unless they say that the quantity is none of the path (a fan's, a retraction's).
// The word is read only if every argument is KEY=VALUE, every key is a limit's and every value is
// plausible as one. Ranges (assumed, beyond what machines have): accelerations 10 .. 1e6 mm/s2,
// corner speed 0 .. 200 mm/s, share 0 .. below 1, highest speed 5 .. 5000 mm/s.
#pragma once

#include <optional>

#include "reading/gcode/words.hpp"

namespace platetally::dialect {

/// What a word says of limits; what it does not say is absent.
struct LimitsByKey {
  std::optional<double> acceleration_mm_s2;
  std::optional<double> braking_acceleration_mm_s2;
  std::optional<double> corner_speed_mm_s;
  std::optional<double> cruise_share;
  std::optional<double> speed_mm_s;
};

/// Of a named command; nothing where it is not read so.
std::optional<LimitsByKey> read_limits_by_key(const gcode::Command& command);

}  // namespace platetally::dialect
