// Limits and factors that the plate sets.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/units.hpp"
#include "machine/description/motion_keys.hpp"
#include "reading/dialect/limit_keys.hpp"
#include "reading/interpreter/modal_machine.hpp"

namespace platetally::interpreter {

namespace {

constexpr char kAxes[] = {'X', 'Y', 'Z', 'E'};
constexpr double kPercent = 100.0;
// Far beyond any machine; keeps later squares small.
constexpr double kMostLimit = 1e9;

}  // namespace

bool ModalMachine::honours(bool honoured, const char* word) {
  if (!honoured)
    remarks_.say("limit-word-not-honoured", Severity::note, [word] {
      return fmt::format(
          "{} changes limits or factors, which this machine's file says it does not obey; the word "
          "was left out",
          word);
    });
  return honoured;
}

void ModalMachine::emit_limit_record(Limit limit, const std::array<double, 4>& values) {
  Record setting = event(RecordKind::set_limits);
  setting.event.limit = limit;
  setting.event.values = values;
  out_.push(setting);
}

void ModalMachine::emit_limits(Limit limit, double value, double y_value, bool may_be_zero) {
  if (!(value > 0.0 || (may_be_zero && value == 0.0)) || value > kMostLimit) {
    remarks_.say("limit-not-positive", Severity::warning, [value] {
      return fmt::format("a limit of {}; expected more than 0; the limit in force was kept", value);
    });
    return;
  }
  emit_limit_record(limit, {value, y_value, std::nan(""), std::nan("")});
}

void ModalMachine::emit_limit(Limit limit, double value, bool may_be_zero) {
  emit_limits(limit, value, std::nan(""), may_be_zero);
}

void ModalMachine::emit_limit_of_x_and_y(Limit limit, double value) {
  emit_limits(limit, value, value, false);
}

void ModalMachine::limit_axes(const gcode::Words& words, Limit limit, bool honoured) {
  const char* word = limit == Limit::axis_speed_mm_s           ? "M203"
                     : limit == Limit::axis_acceleration_mm_s2 ? "M201"
                                                               : "M205";
  std::array<double, 4> values{};
  bool any = false;
  for (std::size_t axis = 0; axis < values.size(); ++axis) {
    values[axis] = words.get(kAxes[axis], std::nan("")) * unit_mm_;
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
  emit_limit_record(limit, values);
}

// S is for moves that lay and moves that travel, P, T and R for laying, travelling, retracting. T
// is an acceleration here and no tool.
void ModalMachine::limit_acceleration(const gcode::Words& words) {
  if (machine_.motion.corner_model == CornerModel::corner_speed) {
    limit_one_acceleration(words);
    return;
  }
  constexpr std::uint32_t kSaid = 1U << gcode::Words::index('S') | 1U << gcode::Words::index('P') |
                                  1U << gcode::Words::index('T') | 1U << gcode::Words::index('R');
  if ((words.mask & kSaid) == 0 || !honours(machine_.motion.honours_acceleration_words, "M204"))
    return;
  const auto limit = [&](char letter, Limit which) {
    if (words.has(letter))
      emit_limit(which, words[letter] * unit_mm_);
  };
  limit('S', Limit::print_acceleration_mm_s2);
  limit('S', Limit::travel_acceleration_mm_s2);
  limit('P', Limit::print_acceleration_mm_s2);
  limit('T', Limit::travel_acceleration_mm_s2);
  limit('R', Limit::retract_acceleration_mm_s2);
}

// A controller that knows corners by their speed keeps one acceleration for all that moves: S says
// it, or the lesser of P and T together.
void ModalMachine::limit_one_acceleration(const gcode::Words& words) {
  const bool says_both = words.has('P') && words.has('T');
  if ((!words.has('S') && !says_both) ||
      !honours(machine_.motion.honours_acceleration_words, "M204"))
    return;
  const double value = words.has('S') ? words['S'] : std::min(words['P'], words['T']);
  emit_limit(Limit::print_acceleration_mm_s2, value * unit_mm_);
  emit_limit(Limit::travel_acceleration_mm_s2, value * unit_mm_);
}

/// A word that nothing explains, but whose keys do. False: they do not.
bool ModalMachine::limit_by_key(const gcode::Command& command) {
  if (!machine_.dialect.limits_by_key)
    return false;
  const auto limits = dialect::read_limits_by_key(command);
  if (!limits)
    return false;
  const auto set = [&](Limit limit, const std::optional<double>& value) {
    if (value)
      emit_limit(limit, *value, true);
  };
  set(Limit::path_acceleration_mm_s2, limits->acceleration_mm_s2);
  if (limits->cruise_share)
    set(Limit::least_cruise_share, limits->cruise_share);
  else
    set(Limit::braking_acceleration_mm_s2, limits->braking_acceleration_mm_s2);
  set(Limit::corner_speed_mm_s, limits->corner_speed_mm_s);
  if (limits->speed_mm_s)
    emit_limit_of_x_and_y(Limit::axis_speed_mm_s, *limits->speed_mm_s);
  read_by_key_.add(command, remarks_.place.line);
  return true;
}

void ModalMachine::limit_corner(const gcode::Words& words) {
  const bool honoured = machine_.motion.honours_corner_words;
  limit_axes(words, Limit::corner_step_mm_s, honoured);
  const auto limit = [&](char letter, Limit which, double scale, bool may_be_zero) {
    if (words.has(letter) && honours(honoured, "M205"))
      emit_limit(which, words[letter] * scale, may_be_zero);
  };
  limit('J', Limit::junction_deviation_mm, unit_mm_, false);
  if (honoured && words.has('J') && words['J'] * unit_mm_ > machine::kLargeDeviation_mm)
    remarks_.say("deviation-too-large", Severity::warning, [&] {
      return fmt::format(
          "M205 J{}: a junction deviation of {} mm is more than any corner can be cut by; expected "
          "0.005 to 0.05; went on with it",
          words['J'], words['J'] * unit_mm_);
    });
  limit('S', Limit::minimum_print_feed_mm_s, unit_mm_, true);
  limit('T', Limit::minimum_travel_feed_mm_s, unit_mm_, true);
  limit('B', Limit::minimum_segment_time_s, base::kSecondsPerMicrosecond, true);
}

void ModalMachine::set_feed_factor(const gcode::Words& words) {
  if (!words.has('S') || !honours(machine_.motion.honours_factor_words, "M220"))
    return;
  const double factor = words['S'] / kPercent;
  if (factor > 0.0 && factor < kMostLimit) {
    feed_factor_ = factor;
    return;
  }
  remarks_.say("factor-not-positive", Severity::warning, [&] {
    return fmt::format("M220 S{}: expected more than 0; the factor in force was kept", words['S']);
  });
}

void ModalMachine::set_flow_factor(const gcode::Words& words) {
  if (!words.has('S') || !honours(machine_.motion.honours_factor_words, "M221"))
    return;
  const double factor = words['S'] / kPercent;
  if (!(factor > 0.0 && factor < kMostLimit)) {
    remarks_.say("factor-not-positive", Severity::warning, [&] {
      return fmt::format("M221 S{}: expected more than 0; the factor in force was kept",
                         words['S']);
    });
    return;
  }
  const int tool = tool_of(words);
  if (tool < 0)
    return;
  tools_[static_cast<std::size_t>(tool)].flow_factor = factor;
  update_e_scale();
}

}  // namespace platetally::interpreter
