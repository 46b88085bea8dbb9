#include "reading/interpreter/limit_words.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/units.hpp"
#include "machine/description/motion_keys.hpp"
#include "reading/dialect/limit_keys.hpp"

namespace platetally::interpreter {

namespace {

constexpr char kAxes[] = {'X', 'Y', 'Z', 'E'};
constexpr double kPercent = 100.0;
// Far beyond any machine; keeps later squares small.
constexpr double kMostLimit = 1e9;

}  // namespace

bool LimitWords::honours(bool honoured, const char* word) {
  if (!honoured)
    remarks_.say("limit-word-not-honoured", Severity::note, [word] {
      return fmt::format(
          "{} changes limits or factors, which this machine's file says it does not obey; the word "
          "was left out",
          word);
    });
  return honoured;
}

void LimitWords::push(Limit limit, const std::array<double, 4>& values) {
  Record setting = events_.make(RecordKind::set_limits);
  setting.event.limit = limit;
  setting.event.values = values;
  events_.push(setting);
}

void LimitWords::set_pair(Limit limit, double value, double y_value, bool may_be_zero) {
  if (!(value > 0.0 || (may_be_zero && value == 0.0)) || value > kMostLimit) {
    remarks_.say("limit-not-positive", Severity::warning, [value] {
      return fmt::format("a limit of {}; expected more than 0; the limit in force was kept", value);
    });
    return;
  }
  push(limit, {value, y_value, std::nan(""), std::nan("")});
}

void LimitWords::set(Limit limit, double value, bool may_be_zero) {
  set_pair(limit, value, std::nan(""), may_be_zero);
}

void LimitWords::set_x_and_y(Limit limit, double value) {
  set_pair(limit, value, value, false);
}

void LimitWords::run_axes(const gcode::Words& words, double unit_mm, Limit limit, bool honoured) {
  const char* word = limit == Limit::axis_speed_mm_s           ? "M203"
                     : limit == Limit::axis_acceleration_mm_s2 ? "M201"
                                                               : "M205";
  std::array<double, 4> values{};
  bool any = false;
  for (std::size_t axis = 0; axis < values.size(); ++axis) {
    values[axis] = words.get(kAxes[axis], std::nan("")) * unit_mm;
    const bool may_be_zero = limit == Limit::corner_step_mm_s;
    if (values[axis] < 0.0 || (values[axis] == 0.0 && !may_be_zero) || values[axis] > kMostLimit) {
      remarks_.say("limit-not-positive", Severity::warning, [&] {
        return fmt::format("{} {}{}: expected more than 0; the limit in force was kept", word,
                           kAxes[axis], values[axis]);
      });
      values[axis] = std::nan("");
    }
    any = any || !std::isnan(values[axis]);
  }
  if (!any || !honours(honoured, word))
    return;
  push(limit, values);
}

// S is for moves that lay and moves that travel, P, T and R for laying, travelling, retracting. T
// is an acceleration here and no tool.
void LimitWords::run_acceleration(const gcode::Words& words, double unit_mm) {
  if (machine_.motion.corner_model == CornerModel::corner_speed) {
    run_one_acceleration(words, unit_mm);
    return;
  }
  constexpr std::uint32_t kSaid = 1U << gcode::Words::index('S') | 1U << gcode::Words::index('P') |
                                  1U << gcode::Words::index('T') | 1U << gcode::Words::index('R');
  if ((words.mask & kSaid) == 0 || !honours(machine_.motion.honours_acceleration_words, "M204"))
    return;
  const auto limit = [&](char letter, Limit which) {
    if (words.has(letter))
      set(which, words[letter] * unit_mm);
  };
  limit('S', Limit::print_acceleration_mm_s2);
  limit('S', Limit::travel_acceleration_mm_s2);
  limit('P', Limit::print_acceleration_mm_s2);
  limit('T', Limit::travel_acceleration_mm_s2);
  limit('R', Limit::retract_acceleration_mm_s2);
}

// A controller that knows corners by their speed keeps one acceleration for all that moves: S says
// it, or the lesser of P and T together.
void LimitWords::run_one_acceleration(const gcode::Words& words, double unit_mm) {
  const bool says_both = words.has('P') && words.has('T');
  if ((!words.has('S') && !says_both) ||
      !honours(machine_.motion.honours_acceleration_words, "M204"))
    return;
  const double value = words.has('S') ? words['S'] : std::min(words['P'], words['T']);
  set(Limit::print_acceleration_mm_s2, value * unit_mm);
  set(Limit::travel_acceleration_mm_s2, value * unit_mm);
}

/// A word that nothing explains, but whose keys do. False: they do not.
bool LimitWords::run_by_key(const gcode::Command& command) {
  if (!machine_.dialect.limits_by_key)
    return false;
  const auto limits = dialect::read_limits_by_key(command);
  if (!limits)
    return false;
  const auto set_stated = [&](Limit limit, const std::optional<double>& value) {
    if (value)
      set(limit, *value, true);
  };
  set_stated(Limit::path_acceleration_mm_s2, limits->acceleration_mm_s2);
  if (limits->cruise_share)
    set_stated(Limit::least_cruise_share, limits->cruise_share);
  else
    set_stated(Limit::braking_acceleration_mm_s2, limits->braking_acceleration_mm_s2);
  set_stated(Limit::corner_speed_mm_s, limits->corner_speed_mm_s);
  if (limits->speed_mm_s)
    set_x_and_y(Limit::axis_speed_mm_s, *limits->speed_mm_s);
  read_by_key_.add(command, remarks_.place.line);
  return true;
}

void LimitWords::run_corner(const gcode::Words& words, double unit_mm) {
  const bool honoured = machine_.motion.honours_corner_words;
  run_axes(words, unit_mm, Limit::corner_step_mm_s, honoured);
  const auto limit = [&](char letter, Limit which, double scale, bool may_be_zero) {
    if (words.has(letter) && honours(honoured, "M205"))
      set(which, words[letter] * scale, may_be_zero);
  };
  limit('J', Limit::junction_deviation_mm, unit_mm, false);
  if (honoured && words.has('J') && words['J'] * unit_mm > machine::kLargeDeviation_mm)
    remarks_.say("deviation-too-large", Severity::warning, [&] {
      return fmt::format(
          "M205 J{}: a junction deviation of {} mm is more than any corner can be cut by; expected "
          "0.005 to 0.05; went on with it",
          words['J'], words['J'] * unit_mm);
    });
  limit('S', Limit::minimum_print_feed_mm_s, unit_mm, true);
  limit('T', Limit::minimum_travel_feed_mm_s, unit_mm, true);
  limit('B', Limit::minimum_segment_time_s, base::kSecondsPerMicrosecond, true);
}

std::optional<double> LimitWords::read_factor(const gcode::Words& words, const char* word) {
  if (!words.has('S') || !honours(machine_.motion.honours_factor_words, word))
    return {};
  const double factor = words['S'] / kPercent;
  if (factor > 0.0 && factor < kMostLimit)
    return factor;
  remarks_.say("factor-not-positive", Severity::warning, [&] {
    return fmt::format("{} S{}: expected more than 0; the factor in force was kept", word,
                       words['S']);
  });
  return {};
}

void LimitWords::set_by_name(std::string_view name, double value) {
  if (name == "print_speed_mm_s") {
    set_x_and_y(Limit::axis_speed_mm_s, value);
  } else if (name == "corner_step_mm_s") {
    set_x_and_y(Limit::corner_step_mm_s, value);
  } else if (name == "acceleration_mm_s2") {
    set(Limit::print_acceleration_mm_s2, value);
    set(Limit::travel_acceleration_mm_s2, value);
  } else if (name == "print_acceleration_mm_s2") {
    set(Limit::print_acceleration_mm_s2, value);
  } else if (name == "travel_acceleration_mm_s2") {
    set(Limit::travel_acceleration_mm_s2, value);
  } else if (name == "retract_acceleration_mm_s2") {
    set(Limit::retract_acceleration_mm_s2, value);
  } else if (name == "junction_deviation_mm") {
    set(Limit::junction_deviation_mm, value);
  } else if (name == "corner_speed_mm_s") {
    set(Limit::corner_speed_mm_s, value, true);
  } else if (name == "least_cruise_share") {
    set(Limit::least_cruise_share, value, true);
  } else if (name == "braking_acceleration_mm_s2") {
    set(Limit::braking_acceleration_mm_s2, value);
  }
}

}  // namespace platetally::interpreter
