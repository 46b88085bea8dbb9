// Builds records with their seconds by hand, for tests of the stages behind motion.
#pragma once

#include "reading/interpreter/record.hpp"

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

inline Record move(Point from, Point to, double e_mm, double motion_s, int tool = 0,
                   std::uint32_t layer = 1, std::uint8_t flags = 0) {
  Record record = blank(RecordKind::move, tool, layer);
  record.flags = flags;
  record.move = {};
  record.move.from_mm = {from.x_mm, from.y_mm, from.z_mm};
  record.move.to_mm = {to.x_mm, to.y_mm, to.z_mm};
  record.move.e_mm = e_mm;
  record.motion_s = motion_s;
  return record;
}

/// E alone at one place.
inline Record feed(double e_mm, int tool = 0, std::uint32_t layer = 1, std::uint8_t flags = 0) {
  return move({}, {}, e_mm, 0.1, tool, layer, flags);
}

inline Record select(int tool, int tool_in_hand, std::uint32_t layer = 1) {
  Record record = blank(RecordKind::select_tool, tool_in_hand, layer);
  record.event = {};
  record.event.tool = tool;
  return record;
}

inline Record event(RecordKind kind, double value, int tool = 0, std::uint32_t layer = 1,
                    interpreter::Heater heater = interpreter::Heater::bed) {
  Record record = blank(kind, tool, layer);
  record.event = {};
  record.event.value = value;
  record.event.tool = tool;
  record.event.heater = heater;
  return record;
}

}  // namespace platetally::test
