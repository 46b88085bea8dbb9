// From words to meanings: the rows that the trade as a whole shares, and the machine file's own.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <unordered_map>

#include "platetally/machine.hpp"

namespace platetally::dialect {

enum class Meaning : std::uint8_t {
  unknown,        ///< no row: counted as unaccounted
  nothing,        ///< known, and of no consequence for the account
  rapid,          ///< G0
  linear,         ///< G1
  arc_clockwise,  ///< G2
  arc_counter,    ///< G3
  dwell,          ///< G4
  retract,        ///< G10, or tool temperatures with P
  unretract,      ///< G11
  plane_xy,
  plane_zx,
  plane_yz,
  inches,
  millimetres,
  home,
  probe,
  absolute,         ///< G90
  relative,         ///< G91
  set_position,     ///< G92
  reset_position,   ///< G92.1, G92.2, G92.3
  inverse_time,     ///< G93
  feed_per_minute,  ///< G94
  pause,
  end,  ///< M2, M30
  motors_on,
  motors_off,
  extrude_absolute,  ///< M82
  extrude_relative,  ///< M83
  extruder_on,       ///< M101
  extruder_off,      ///< M103
  head_set,
  head_wait,
  fan_on,
  fan_off,
  wait_all,  ///< M116
  bed_set,
  bed_wait,
  enclosure_set,
  enclosure_wait,
  volumetric,
  limit_acceleration,  ///< M201
  limit_speed,         ///< M203
  accelerations,       ///< M204
  corners,             ///< M205
  feed_factor,
  flow_factor,
  wait_moves,  ///< M400
  own,         ///< a row of the machine file: see row()
};

/// Looks words up; lettered words in the machine file win over the built-in rows.
class WordTable {
 public:
  explicit WordTable(const Dialect& dialect);

  /// Of "G92.1": letter 'G', number 92, fraction 1 (-1: none).
  Meaning lettered(char letter, std::int32_t number, std::int32_t fraction) const;
  /// The machine file's row for a word such as "M862.3" or "WARM_UP" (any case), or nullptr.
  const DialectRow* row(std::string_view word) const;
  bool has_rows() const { return !rows_.empty(); }

 private:
  std::unordered_map<std::string, const DialectRow*> rows_;
};

/// "G92.1".
std::string spell(char letter, std::int32_t number, std::int32_t fraction);

}  // namespace platetally::dialect
