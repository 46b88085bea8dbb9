// Words of a machine's own, as its machine file explains them.
#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <limits>
#include <optional>

#include "interpreter/interpreter.hpp"

namespace platetally::interpreter {

namespace {

constexpr std::size_t kDeepestCondition = 64;

char upper(char c) {
  return c >= 'a' && c <= 'z' ? static_cast<char>(c - 'a' + 'A') : c;
}

bool same_word(std::string_view a, std::string_view b) {
  return a.size() == b.size() && std::equal(a.begin(), a.end(), b.begin(),
                                            [](char x, char y) { return upper(x) == upper(y); });
}

std::optional<double> number_in(std::string_view text) {
  double value = 0.0;
  const auto [end, error] =
      std::from_chars(text.data(), text.data() + text.size(), value, std::chars_format::fixed);
  if (error != std::errc() || end == text.data())
    return std::nullopt;
  return value;
}

/// The value of KEY in "A=1 KEY=2 B=3"; any blanks between the pairs, any case of the key.
std::optional<double> value_of(std::string_view key, const gcode::Command& command) {
  if (command.kind != gcode::CommandKind::named) {
    if (key.size() == 1 && upper(key[0]) >= 'A' && upper(key[0]) <= 'Z' &&
        command.words.has(upper(key[0])))
      return command.words[upper(key[0])];
    return std::nullopt;
  }
  std::string_view text = command.text;
  while (!text.empty()) {
    const std::size_t blank = text.find_first_of(" \t,");
    const std::string_view pair = text.substr(0, blank);
    const std::size_t equals = pair.find('=');
    if (equals != std::string_view::npos && same_word(pair.substr(0, equals), key))
      return number_in(pair.substr(equals + 1));
    if (blank == std::string_view::npos)
      break;
    text.remove_prefix(blank + 1);
  }
  return std::nullopt;
}

}  // namespace

void Interpreter::condition(DialectAction action, const DialectRow& row) {
  if (action == DialectAction::begin_condition) {
    if (conditions_.size() >= kDeepestCondition)
      return;
    conditions_.push_back({condition_runs_, true, row.take_first_branch});
  } else if (conditions_.empty()) {
    return;
  } else if (action == DialectAction::else_condition) {
    conditions_.back().in_first = false;
  } else {
    condition_runs_ = conditions_.back().runs_outside;
    conditions_.pop_back();
    return;
  }
  const Condition& inner = conditions_.back();
  condition_runs_ = inner.runs_outside && inner.in_first == inner.takes_first;
}

void Interpreter::own(const DialectRow& row, const gcode::Command& command) {
  switch (row.action) {
    case DialectAction::begin_condition:
    case DialectAction::else_condition:
    case DialectAction::end_condition:
      return condition(row.action, row);
    default:
      break;
  }
  if (!runs())
    return;
  switch (row.action) {
    case DialectAction::takes_seconds: {
      double seconds = row.seconds;
      for (const DialectKey& key : row.keys)
        if (key.means == "seconds")
          seconds = value_of(key.key, command).value_or(seconds);
      return emit(event(RecordKind::takes_seconds, std::clamp(seconds, 0.0, 1e7)));
    }
    case DialectAction::begin_purge:
    case DialectAction::end_purge:
      own_purge_ = row.action == DialectAction::begin_purge;
      return;
    case DialectAction::home:
      return emit(event(RecordKind::home, 0.0));
    case DialectAction::probe:
      return emit(event(RecordKind::probe, 0.0));
    case DialectAction::pause:
      return emit(event(RecordKind::pause, 0.0));
    case DialectAction::set_limits:
    case DialectAction::set_temperature:
    case DialectAction::wait_temperature:
    case DialectAction::tool_change:
      return own_settings(row, command);
    default:
      return;
  }
}

void Interpreter::own_settings(const DialectRow& row, const gcode::Command& command) {
  const bool wait = row.action == DialectAction::wait_temperature;
  for (const DialectKey& key : row.keys) {
    const std::optional<double> value = value_of(key.key, command);
    if (!value) {
      if (!diagnostics_.count_again("parameter-missing"))
        warn("parameter-missing", Severity::note, command.column,
             fmt::format("found {} without a number for {}; expected one; left out", row.word,
                         key.key));
      continue;
    }
    gcode::Command set;
    set.column = command.column;
    set.words.set('S', *value);
    if (key.means == "bed_c")
      set_heater(Heater::bed, set, wait);
    else if (key.means == "head_c")
      set_heater(Heater::head, set, wait);
    else if (key.means == "enclosure_c")
      set_heater(Heater::enclosure, set, wait);
    else if (key.means == "tool")
      select_tool(static_cast<std::int32_t>(std::clamp(*value, -1.0, 1e6)), command.column);
    else if (key.means == "acceleration_mm_s2")
      emit_limit(Limit::print_acceleration_mm_s2, *value);
    else if (key.means == "travel_acceleration_mm_s2")
      emit_limit(Limit::travel_acceleration_mm_s2, *value);
    else if (key.means == "junction_deviation_mm")
      emit_limit(Limit::junction_deviation_mm, *value);
    else if (key.means == "print_speed_mm_s" && *value > 0.0) {
      Record limit = event(RecordKind::set_limits, 0.0);
      limit.event.limit = Limit::axis_speed_mm_s;
      const double none = std::numeric_limits<double>::quiet_NaN();
      limit.event.values = {*value, *value, none, none};
      emit(limit);
    }
  }
}

}  // namespace platetally::interpreter
