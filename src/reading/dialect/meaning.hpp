// What a command word does, as far as an account of the plate is concerned.
#pragma once

#include <cstdint>

namespace platetally::dialect {

enum class Meaning : std::uint8_t {
  unknown,       ///< no row: counted and listed
  nothing,       ///< known, and of no consequence for the account
  not_modelled,  ///< known, has a consequence that the account leaves out: said once
  machine_row,   ///< a row of the machine file
  // motion
  rapid,
  line,
  arc_clockwise,
  arc_counter_clockwise,
  cancel_motion,
  plane_xy,
  plane_zx,
  plane_yz,
  inches,
  millimetres,
  absolute,
  relative,
  feed_inverse_time,
  feed_per_minute,
  home,
  probe,
  machine_coordinates,
  work_offset,
  set_position,
  clear_offsets,
  suspend_offsets,
  restore_offsets,
  motors_on,
  motors_off,
  // filament
  e_absolute,
  e_relative,
  volumetric,
  extruder_on,
  extruder_off,
  retract_or_tool_data,
  firmware_return,
  tool_change,
  // heat and air
  head_set,
  head_wait,
  bed_set,
  bed_wait,
  enclosure_set,
  enclosure_wait,
  wait_all,
  fan_on,
  fan_off,
  // limits and factors
  axis_acceleration,
  axis_speed,
  acceleration,
  corner,
  feed_factor,
  flow_factor,
  // time
  dwell,
  wait_for_moves,
  pause,
  end,
};

}  // namespace platetally::dialect
