// What the plate asks of the machine, one plain record after the other, in program order: an event,
// or a move laid open out of its row (rows.hpp).
//
// The interpreter knows no clock: a record has geometry and requests, and no seconds until motion
// has said them.
#pragma once

#include <array>
#include <cstdint>
#include <type_traits>

namespace platetally::interpreter {

enum class RecordKind : std::uint8_t {
  move,         ///< straight line or arc, or E alone: `move`; in program order a row, no event
  dwell,        ///< stands still for event.value seconds
  set_heater,   ///< event.heater, event.tool, event.value degC (<= 0: off)
  wait_heater,  ///< the same heater to its present set point; event.wait_cooling: also downwards
  set_fan,      ///< part fan (event.tool: fan number) to event.value, 0 .. 1
  select_tool,  ///< event.tool; -1: parked
  firmware_retract,  ///< G10
  firmware_return,   ///< G11
  set_limits,        ///< event.limit, event.values
  pause,             ///< M0 M1 M600 and the like: waits for a person
  home,
  probe,
  takes_seconds,  ///< a word of the machine's own that takes event.value seconds
  motors,         ///< event.value 1: enabled, 0: off
  object,         ///< event.tool: number of the object that comments name; -1: none. If asked for
  end_of_plate,   ///< the last record, always present
};

enum class Heater : std::uint8_t { bed, enclosure, head };

/// Which limits a set_limits record changes; `values` in axis order X Y Z E where per axis, NaN
/// where not stated; else values[0].
enum class Limit : std::uint8_t {
  axis_speed_mm_s,
  axis_acceleration_mm_s2,
  print_acceleration_mm_s2,
  travel_acceleration_mm_s2,
  retract_acceleration_mm_s2,
  junction_deviation_mm,
  corner_step_mm_s,
  minimum_print_feed_mm_s,
  minimum_travel_feed_mm_s,
  minimum_segment_time_s,
  path_acceleration_mm_s2,  ///< of prints and travels, upward too: X and Y then give at least it
  corner_speed_mm_s,
  least_cruise_share,
  braking_acceleration_mm_s2,  ///< of short moves, which the cruise share follows from
};

enum RecordFlag : std::uint8_t {
  kMarkedPurge = 1,     ///< between marks of purge (comments or the machine's own words)
  kRapid = 2,           ///< written as G0
  kExtruderOn = 4,      ///< extruder switched on by a word (M101): lays material without E
  kOutsideIsPart = 16,  ///< the plate lies outside the machine's area by design: no waste there
  kFeedIsPerMove = 8,   ///< inverse time: feed_mm_s already holds length over the stated time
};

enum class Plane : std::uint8_t { xy, zx, yz };

/// A straight line (sweep_rad == 0) or an arc (sweep_rad != 0, counter-clockwise positive, in
/// `plane`; several turns are more than 2 pi; the axis across the plane moves evenly).
struct Move {
  std::array<double, 3> from_mm;
  std::array<double, 3> to_mm;
  double e_mm;                      ///< filament length fed (negative: drawn back), factors applied
  double feed_mm_s;                 ///< requested; 0: none stated (a rapid move at the axis limits)
  std::array<double, 2> centre_mm;  ///< of an arc, in the plane's two axes (zx: z first)
  double sweep_rad;
  Plane plane;

  bool is_arc() const { return sweep_rad != 0.0; }
  bool is_stationary() const {
    return sweep_rad == 0.0 && from_mm[0] == to_mm[0] && from_mm[1] == to_mm[1] &&
           from_mm[2] == to_mm[2];
  }
  /// At rest, or straight up or down: what is fed is laid along no path.
  bool is_above_one_place() const {
    return sweep_rad == 0.0 && from_mm[0] == to_mm[0] && from_mm[1] == to_mm[1];
  }
};

struct Event {
  double value;
  std::array<double, 4> values;
  std::int32_t tool;
  Heater heater;
  Limit limit;
  bool wait_cooling;
};

/// Trivially copyable.
struct Record {
  RecordKind kind;
  std::uint8_t flags;
  std::int16_t tool;    ///< the tool in hand; -1: none or parked
  std::uint32_t layer;  ///< ordinal in order of appearance; 0: before the first layer
  std::uint64_t line;   ///< 1-based
  /// Of a move, or of a stated stand-still (dwell, takes_seconds, firmware retraction). Homing,
  /// probing, pauses, heat waits and swaps have 0 here: stages behind motion know their seconds.
  double motion_s;
  union {
    Move move;
    Event event;
  };
};
static_assert(std::is_trivially_copyable_v<Record>);

/// Lays material along a path: what makes layers, footprints and parts.
inline bool lays_material(const Record& record) {
  return record.kind == RecordKind::move && !record.move.is_above_one_place() &&
         (record.move.e_mm > 0.0 || (record.flags & kExtruderOn) != 0);
}

}  // namespace platetally::interpreter
