// Spans are means over about a second: in hold the heater's power follows the flow linearly, so the
// mean is exact there. The log's size is bounded: when it outgrows kMostEvents, the span doubles
// and neighbouring spans of one tool and layer are joined, and changes of one set point between two
// spans collapse to the last. A plate made of hardly anything but set points, waits and layer
// changes meets a second bound, kHardBound: from there on further set points and waits are left out
// and counted, and spans are joined across tools and layers.
#include "motion/timeline/heat_log_builder.hpp"

#include <algorithm>

#include "base/units.hpp"

namespace platetally::timeline {

using interpreter::Record;
using interpreter::RecordKind;

namespace {

constexpr std::size_t kMostEvents = 1U << 18;
constexpr std::size_t kHardBound = 2 * kMostEvents;
constexpr double kFirstSpanS = 1.0;

bool same_owner(const HeatEvent& a, const HeatEvent& b) {
  return a.tool == b.tool && a.layer == b.layer && a.turn == b.turn;
}

bool same_setting(const HeatEvent& a, const HeatEvent& b) {
  return a.kind == b.kind && a.heater == b.heater && a.tool == b.tool &&
         (a.kind == HeatEventKind::set_heater || a.kind == HeatEventKind::set_fan);
}

void join(HeatEvent& span, const HeatEvent& next) {
  span.duration_s += next.duration_s;
  span.moving_s += next.moving_s;
  span.volume_mm3 += next.volume_mm3;
}

}  // namespace

HeatLogBuilder::HeatLogBuilder(const Machine& machine)
    : machine_(machine), grid_(machine.bed), most_events_(kMostEvents) {
  for (const Tool& tool : machine.tools)
    filament_area_mm2_.push_back(base::filament_area_mm2(tool.filament_diameter_mm));
  log_.span_s = kFirstSpanS;
}

void HeatLogBuilder::take(const interpreter::Record& record, const Duration& duration,
                          double fresh_mm) {
  if (record.kind == RecordKind::move) {
    take_move(record, fresh_mm);
    // Start seconds ride on the first record, whatever it is.
    const double still_s = duration.time_s.expected - record.motion_s;
    if (still_s > 0.0)
      add_span(record, still_s, 0.0, 0.0);
  } else {
    take_event(record, duration);
  }
}

void HeatLogBuilder::take_move(const interpreter::Record& record, double fresh_mm) {
  const interpreter::Move& move = record.move;
  const auto tool = static_cast<std::size_t>(record.tool);
  const double volume_mm3 = record.tool >= 0 && tool < filament_area_mm2_.size()
                                ? fresh_mm * filament_area_mm2_[tool]
                                : 0.0;
  if (interpreter::lays_material(record)) {
    if (log_.footprint_by_layer.size() <= record.layer)
      log_.footprint_by_layer.resize(record.layer + 1U, 0);
    log_.footprint_by_layer[record.layer] |= grid_.tiles_under(move);
  }
  add_span(record, record.motion_s, record.motion_s, volume_mm3);
}

void HeatLogBuilder::take_strokes(const interpreter::Rows& rows, std::size_t first,
                                  std::size_t count) {
  const double area_mm2 = filament_area_mm2_[static_cast<std::size_t>(rows.run.tool)];
  for (std::size_t i = first; i < first + count;) {
    if (span_.duration_s <= 0.0) {
      const double motion_s = rows.motion_s[i];
      add_span(rows.record(i), motion_s, motion_s, rows.e_mm[i] * area_mm2);
      ++i;
      continue;
    }
    double duration_s = span_.duration_s;
    double moving_s = span_.moving_s;
    double volume_mm3 = span_.volume_mm3;
    for (; i < first + count && duration_s < log_.span_s; ++i) {
      duration_s += rows.motion_s[i];
      moving_s += rows.motion_s[i];
      volume_mm3 += rows.e_mm[i] * area_mm2;
    }
    span_.duration_s = duration_s;
    span_.moving_s = moving_s;
    span_.volume_mm3 = volume_mm3;
    if (duration_s >= log_.span_s)
      flush_span();
  }
}

void HeatLogBuilder::take_event(const Record& record, const Duration& duration) {
  const double duration_s = duration.time_s.expected;
  const interpreter::Event& told = record.event;
  HeatEvent event;
  event.layer = record.layer;
  event.line = record.line;
  event.heater = told.heater;
  event.tool = static_cast<std::int16_t>(told.tool);
  event.value = told.value;
  switch (record.kind) {
    case RecordKind::set_heater:
      event.kind = HeatEventKind::set_heater;
      add_event(event);
      break;
    case RecordKind::wait_heater:
      event.kind = HeatEventKind::wait_heater;
      event.wait_cooling = told.wait_cooling;
      add_event(event);
      break;
    case RecordKind::set_fan:
      event.kind = HeatEventKind::set_fan;
      add_event(event);
      break;
    case RecordKind::motors:
      event.kind = HeatEventKind::motors;
      add_event(event);
      break;
    case RecordKind::select_tool: {
      event.kind = HeatEventKind::take_tool;
      // The change itself is driven by the motors; what the machine purges on its own is melted
      // by the tool that comes.
      Record changed = record;
      if (duration.swap.selection != Selection::none)
        changed.tool = event.tool;
      add_event(event);
      add_span(changed, duration_s, duration_s,
               duration.swap.selection == Selection::swap ? machine_.swap.hidden_purge_mm3 : 0.0);
      return;
    }
    case RecordKind::move:
    case RecordKind::dwell:
    case RecordKind::firmware_retract:
    case RecordKind::firmware_return:
    case RecordKind::set_limits:
    case RecordKind::pause:
    case RecordKind::home:
    case RecordKind::probe:
    case RecordKind::takes_seconds:
    case RecordKind::object:
    case RecordKind::end_of_plate:
      break;
  }
  const bool turns_motors = record.kind == RecordKind::home || record.kind == RecordKind::probe;
  add_span(record, duration_s, turns_motors ? duration_s : 0.0, 0.0);
}

void HeatLogBuilder::add_span(const Record& record, double duration_s, double moving_s,
                              double volume_mm3) {
  if (duration_s <= 0.0 && volume_mm3 <= 0.0)
    return;
  HeatEvent next;
  next.tool = record.tool;
  next.layer = record.layer;
  next.turn = turn_;
  if (span_.duration_s > 0.0 && !same_owner(span_, next))
    flush_span();
  if (span_.duration_s <= 0.0) {
    next.volume_mm3 = span_.volume_mm3;  // fed in no time: melts with what follows
    next.line = record.line;
    span_ = next;
  }
  span_.duration_s += duration_s;
  span_.moving_s += moving_s;
  span_.volume_mm3 += volume_mm3;
  if (span_.duration_s >= log_.span_s)
    flush_span();
}

void HeatLogBuilder::flush_span() {
  if (span_.duration_s > 0.0)
    append(span_);
  span_ = {};
}

void HeatLogBuilder::append(const HeatEvent& event) {
  if (full_ && event.kind != HeatEventKind::span) {
    ++log_.left_out;
  } else if (full_ && log_.events.back().kind == HeatEventKind::span) {
    join(log_.events.back(), event);
  } else {
    log_.events.push_back(event);
    if (!full_ && log_.events.size() >= most_events_)
      coarsen();
  }
}

void HeatLogBuilder::add_event(HeatEvent event) {
  flush_span();
  event.turn = turn_;
  // A setting that is overwritten before any time has passed leaves no trace.
  for (auto earlier = log_.events.rbegin(); earlier != log_.events.rend(); ++earlier) {
    if (earlier->kind != HeatEventKind::set_heater && earlier->kind != HeatEventKind::set_fan)
      break;
    if (same_setting(*earlier, event)) {
      earlier->value = event.value;
      earlier->line = event.line;
      return;
    }
  }
  append(event);
}

void HeatLogBuilder::coarsen() {
  log_.span_s *= 2.0;
  // In place: a second log would be the most memory that a tally needs.
  std::size_t kept = 0;
  for (const HeatEvent& event : log_.events) {
    const bool joins = kept > 0 && event.kind == HeatEventKind::span &&
                       log_.events[kept - 1].kind == HeatEventKind::span &&
                       same_owner(log_.events[kept - 1], event) &&
                       log_.events[kept - 1].duration_s + event.duration_s <= log_.span_s;
    if (joins)
      join(log_.events[kept - 1], event);
    else
      log_.events[kept++] = event;
  }
  log_.events.resize(kept);
  // Where little could be joined (a plate that is all set points), the bound moves once; then the
  // log is full.
  full_ = log_.events.size() > kHardBound / 2;
  most_events_ = log_.events.size() > kMostEvents / 2 ? kHardBound : kMostEvents;
}

HeatLog HeatLogBuilder::finish() {
  flush_span();
  log_.holds_turns = !full_;
  return std::move(log_);
}

}  // namespace platetally::timeline
