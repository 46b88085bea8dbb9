// Builds timed records by hand, for tests of the stages behind motion.
#pragma once

#include "motion/planning/timed_record.hpp"

namespace platetally::test {

using interpreter::Record;
using interpreter::RecordKind;

inline Record blank(RecordKind kind, int tool, std::uint32_t layer) {
  Record record{};
  record.kind = kind;
  record.tool = static_cast<std::int16_t>(tool);
  record.layer = layer;
  return record;
}

struct Point {
  double x_mm = 0.0, y_mm = 0.0, z_mm = 0.0;
};

inline motion::TimedRecord move(Point from, Point to, double e_mm, double motion_s, int tool = 0,
                                std::uint32_t layer = 1, std::uint8_t flags = 0) {
  motion::TimedRecord timed;
  timed.record = blank(RecordKind::move, tool, layer);
  timed.record.flags = flags;
  timed.record.move = {};
  timed.record.move.from_mm = {from.x_mm, from.y_mm, from.z_mm};
  timed.record.move.to_mm = {to.x_mm, to.y_mm, to.z_mm};
  timed.record.move.e_mm = e_mm;
  timed.motion_s = motion_s;
  return timed;
}

/// E alone at one place.
inline motion::TimedRecord feed(double e_mm, int tool = 0, std::uint32_t layer = 1,
                                std::uint8_t flags = 0) {
  return move({}, {}, e_mm, 0.1, tool, layer, flags);
}

inline motion::TimedRecord select(int tool, int tool_in_hand, std::uint32_t layer = 1) {
  motion::TimedRecord timed;
  timed.record = blank(RecordKind::select_tool, tool_in_hand, layer);
  timed.record.event = {};
  timed.record.event.tool = tool;
  return timed;
}

inline motion::TimedRecord event(RecordKind kind, double value, int tool = 0,
                                 std::uint32_t layer = 1,
                                 interpreter::Heater heater = interpreter::Heater::bed) {
  motion::TimedRecord timed;
  timed.record = blank(kind, tool, layer);
  timed.record.event = {};
  timed.record.event.value = value;
  timed.record.event.tool = tool;
  timed.record.event.heater = heater;
  return timed;
}

}  // namespace platetally::test
