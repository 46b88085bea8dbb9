// Words that set something: heaters, fans, limits, dwell.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "base/units.hpp"
#include "interpreter/interpreter.hpp"

namespace platetally::interpreter {

using dialect::Meaning;

namespace {

constexpr double kLongestStandStillS = 1e7;
constexpr double kNotStated = std::numeric_limits<double>::quiet_NaN();
constexpr double kHottestC = 2000.0;

}  // namespace

void Interpreter::set_heater(Heater heater, const gcode::Command& command, bool wait) {
  const gcode::Words& words = command.words;
  std::int32_t tool = tool_;
  if (heater == Heater::head) {
    if (words.has('T'))
      tool = static_cast<std::int32_t>(std::clamp(words['T'], -1.0, 1e6));
    if (tool < 0 && !words.has('T'))
      tool = 0;
    if (tool < 0 || tool >= static_cast<std::int32_t>(machine_.tools.size())) {
      if (!diagnostics_.count_again("heater-not-on-machine"))
        warn("heater-not-on-machine", Severity::warning, command.column,
             fmt::format("found a temperature for tool {}; expected 0 to {} on '{}'; left out",
                         tool, machine_.tools.size() - 1, machine_.name));
      return;
    }
  }
  const bool cools = !words.has('S') && words.has('R');
  if (words.has('S') || words.has('R')) {
    Record set = event(RecordKind::set_heater, 0.0);
    set.event.heater = heater;
    set.event.tool = tool;
    set.event.value = std::clamp(cools ? words['R'] : words['S'], 0.0, kHottestC);
    emit(set);
    if (heater == Heater::head)
      head_set_c_[static_cast<std::size_t>(tool)] = set.event.value;
    else
      (heater == Heater::bed ? bed_set_c_ : enclosure_set_c_) = set.event.value;
  }
  if (!wait)
    return;
  Record awaited = event(RecordKind::wait_heater, 0.0);
  awaited.event.heater = heater;
  awaited.event.tool = tool;
  awaited.event.wait_cooling = cools;
  emit(awaited);
}

void Interpreter::tool_temperatures(const gcode::Command& command) {
  if (!command.words.has('P') || !command.words.has('S'))
    return;
  gcode::Command set = command;
  set.words.set('T', command.words['P']);
  set.words.mask &= ~(1U << gcode::Words::index('R'));  // standby: the machine file's own
  set_heater(Heater::head, set, false);
}

void Interpreter::wait_all() {
  const auto wait_for = [this](Heater heater, std::int32_t tool) {
    Record awaited = event(RecordKind::wait_heater, 0.0);
    awaited.event.heater = heater;
    awaited.event.tool = tool;
    emit(awaited);
  };
  if (bed_set_c_ > 0.0)
    wait_for(Heater::bed, -1);
  if (enclosure_set_c_ > 0.0)
    wait_for(Heater::enclosure, -1);
  for (std::size_t tool = 0; tool < head_set_c_.size(); ++tool)
    if (head_set_c_[tool] > 0.0)
      wait_for(Heater::head, static_cast<std::int32_t>(tool));
}

void Interpreter::dwell(const gcode::Words& words) {
  double seconds = words.get('S', 0.0);
  if (words.has('P'))
    seconds += words['P'] /
               (machine_.dialect.dwell_p_is_milliseconds ? base::kMillisecondsPerSecond : 1.0);
  emit(event(RecordKind::dwell, std::clamp(seconds, 0.0, kLongestStandStillS)));
}

void Interpreter::fan(const gcode::Command& command, bool on) {
  constexpr double kFullDuty = 255.0;
  const double duty =
      on ? std::clamp(command.words.get('S', kFullDuty) / kFullDuty, 0.0, 1.0) : 0.0;
  Record set = event(RecordKind::set_fan, duty);
  set.event.tool = static_cast<std::int32_t>(std::clamp(command.words.get('P', 0.0), 0.0, 1000.0));
  emit(set);
}

bool Interpreter::honoured(bool honours, const char* word, std::uint32_t column) {
  if (!honours && !diagnostics_.count_again("word-not-honoured"))
    warn("word-not-honoured", Severity::note, column,
         fmt::format("found {}; '{}' is described as not following it; left out", word,
                     machine_.name));
  return honours;
}

void Interpreter::emit_limit(Limit limit, double value) {
  if (!(value >= 0.0) || !std::isfinite(value))
    return;
  Record set = event(RecordKind::set_limits, 0.0);
  set.event.limit = limit;
  set.event.values = {value, kNotStated, kNotStated, kNotStated};
  emit(set);
}

void Interpreter::emit_axis_limit(Limit limit, const gcode::Words& words) {
  Record set = event(RecordKind::set_limits, 0.0);
  set.event.limit = limit;
  bool any = false;
  for (std::size_t axis = 0; axis < 4; ++axis) {
    const char letter = "XYZE"[axis];
    const bool stated = words.has(letter) && words[letter] > 0.0;
    set.event.values[axis] = stated ? words[letter] * unit_mm_ : kNotStated;
    any = any || stated;
  }
  if (any)
    emit(set);
}

void Interpreter::set_limits(Meaning meaning, const gcode::Command& command) {
  const gcode::Words& words = command.words;
  const MotionLimits& motion = machine_.motion;
  switch (meaning) {
    case Meaning::limit_acceleration:
      if (honoured(motion.honours_acceleration_words, "M201", command.column))
        emit_axis_limit(Limit::axis_acceleration_mm_s2, words);
      return;
    case Meaning::limit_speed:
      if (honoured(motion.honours_speed_words, "M203", command.column))
        emit_axis_limit(Limit::axis_speed_mm_s, words);
      return;
    case Meaning::accelerations: {
      if (!honoured(motion.honours_acceleration_words, "M204", command.column))
        return;
      const auto set = [&](char letter, Limit limit) {
        if (words.has(letter) && words[letter] > 0.0)
          emit_limit(limit, words[letter] * unit_mm_);
      };
      set('S', Limit::print_acceleration_mm_s2);
      set('S', Limit::travel_acceleration_mm_s2);
      set('P', Limit::print_acceleration_mm_s2);
      set('T', Limit::travel_acceleration_mm_s2);
      set('R', Limit::retract_acceleration_mm_s2);
      return;
    }
    default:
      break;
  }
  if (!honoured(motion.honours_corner_words, "M205", command.column))
    return;
  emit_axis_limit(Limit::corner_step_mm_s, words);
  if (words.has('J') && words['J'] > 0.0)
    emit_limit(Limit::junction_deviation_mm, words['J'] * unit_mm_);
  if (words.has('S'))
    emit_limit(Limit::minimum_print_feed_mm_s, words['S'] * unit_mm_);
  if (words.has('T'))
    emit_limit(Limit::minimum_travel_feed_mm_s, words['T'] * unit_mm_);
  constexpr double kMicrosecondsPerSecond = 1e6;
  if (words.has('B'))
    emit_limit(Limit::minimum_segment_time_s, words['B'] / kMicrosecondsPerSecond);
}

}  // namespace platetally::interpreter
