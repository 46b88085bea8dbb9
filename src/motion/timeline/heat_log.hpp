// The print as the heat model needs it: seconds, flow and set points, in program order.
//
// The log is what remains of the plate when the file has been read once: its size follows the
// print's seconds, layers and set points, never the file's lines. Heat runs over it after the last
// line, when the footprint of every layer is known; so one reading of the file is enough, a stream
// will do, and another machine or another policy can be tried without reading again.
#pragma once

#include <cstdint>
#include <vector>

#include "reading/interpreter/record.hpp"

namespace platetally::timeline {

enum class HeatEventKind : std::uint8_t {
  span,         ///< duration_s during which nothing but flow happens
  set_heater,   ///< heater, tool, value degC (<= 0: off)
  wait_heater,  ///< heater, tool, wait_cooling
  set_fan,      ///< value 0 .. 1 (part fan)
  take_tool,    ///< tool; -1: parked. Which head is in hand from now on
  motors,       ///< value 1 enabled, 0 off
};

struct HeatEvent {
  HeatEventKind kind = HeatEventKind::span;
  interpreter::Heater heater = interpreter::Heater::bed;
  bool wait_cooling = false;
  std::int16_t tool = -1;   ///< span: the tool in hand; set/wait_heater of a head: whose
  std::uint32_t layer = 0;  ///< span, wait: the layer that pays
  std::uint32_t turn = 0;   ///< which of the plate's turns of tools it is part of
  std::uint64_t line = 0;   ///< for messages
  double duration_s = 0.0;  ///< span
  double volume_mm3 = 0.0;  ///< span: filament melted by `tool` (never negative)
  double moving_s = 0.0;    ///< span: of duration_s, with motors turning
  double value = 0.0;
};

struct HeatLog {
  std::vector<HeatEvent> events;
  /// By layer: bit r * columns + c is set where material is laid over tile (r, c).
  std::vector<std::uint64_t> footprint_by_layer;
  double span_s = 1.0;  ///< spans are joined up to about this long
  double joined_s =
      10.0;  ///< heat plays spans together at least up to this long; the grain of its power
  std::uint64_t left_out = 0;             ///< set points and waits beyond the log's bound
  std::vector<std::uint64_t> stop_lines;  ///< ascending; how long waits before them last is told
  bool holds_turns = true;                ///< false: spans had to be joined across turns and layers
};

}  // namespace platetally::timeline
