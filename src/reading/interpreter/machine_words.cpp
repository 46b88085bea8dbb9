// Words and named commands of the machine's own, as its file explains them.
#include <fmt/format.h>

#include <algorithm>

#include "reading/dialect/parameters.hpp"
#include "reading/dialect/text.hpp"
#include "reading/interpreter/modal_machine.hpp"

namespace platetally::interpreter {

namespace {

constexpr std::size_t kDeepestBranch = 64;
constexpr double kMost = 1e9;

}  // namespace

void ModalMachine::run_row(const gcode::Command& command, const DialectRow& row) {
  switch (row.action) {
    case DialectAction::ignore:
      return;
    case DialectAction::takes_seconds: {
      double seconds = row.seconds;
      find_number(command, row, "seconds", seconds);
      emit_seconds(RecordKind::takes_seconds, seconds);
      return;
    }
    case DialectAction::set_limits:
      run_row_limits(command, row);
      return;
    case DialectAction::set_temperature:
    case DialectAction::wait_temperature:
      run_row_temperatures(command, row, row.action == DialectAction::wait_temperature);
      return;
    case DialectAction::begin_purge:
    case DialectAction::end_purge:
      row_purge_ = row.action == DialectAction::begin_purge;
      update_marks();
      return;
    case DialectAction::begin_condition:
    case DialectAction::else_condition:
    case DialectAction::end_condition:
      run_condition(row);
      return;
    case DialectAction::tool_change: {
      double tool = 0.0;
      if (find_number(command, row, "tool", tool))
        select_tool(tool);
      return;
    }
    case DialectAction::home:
      home(command.kind == gcode::CommandKind::lettered ? command.words : gcode::Words{});
      return;
    case DialectAction::probe:
      wake_motors();
      emit(RecordKind::probe);
      return;
    case DialectAction::pause:
      emit(RecordKind::pause);
      return;
  }
}

// Conditions nest; a part runs when every branch around it does.
bool ModalMachine::run_condition(const DialectRow& row) {
  const auto recount = [this] {
    skipped_branches_ = static_cast<std::size_t>(std::count_if(
        branches_.begin(), branches_.end(), [](const Branch& b) { return !b.runs(); }));
  };
  switch (row.action) {
    case DialectAction::begin_condition:
      if (branches_.size() < kDeepestBranch) {
        branches_.push_back({row.take_first_branch, true});
      } else {
        ++deeper_branches_;
      }
      break;
    case DialectAction::else_condition:
    case DialectAction::end_condition:
      if (deeper_branches_ > 0) {
        deeper_branches_ -= row.action == DialectAction::end_condition ? 1 : 0;
      } else if (branches_.empty()) {
        remarks_.say("condition-not-begun", Severity::warning, [&] {
          return fmt::format("{} without the word that begins its condition; it was left out",
                             row.word);
        });
      } else if (row.action == DialectAction::else_condition) {
        branches_.back().in_first = false;
      } else {
        branches_.pop_back();
      }
      break;
    default:
      return false;
  }
  recount();
  return true;
}

bool ModalMachine::number_of(const gcode::Command& command, const DialectKey& key, double& value) {
  const dialect::Parameter found = dialect::find_parameter(command, key.key);
  if (!found.present)
    return false;
  if (found.is_number && found.value > -kMost && found.value < kMost) {
    value = found.value;
    return true;
  }
  remarks_.say("parameter-not-a-number", Severity::warning, [&] {
    return fmt::format("{}={}: expected a number for {}; the parameter was left out", key.key,
                       found.text.substr(0, 40), key.means);
  });
  return false;
}

bool ModalMachine::find_number(const gcode::Command& command, const DialectRow& row,
                               std::string_view means, double& value) {
  bool found = false;
  for (const DialectKey& key : row.keys)
    if (key.means == means)
      found = number_of(command, key, value) || found;
  return found;
}

void ModalMachine::run_row_limits(const gcode::Command& command, const DialectRow& row) {
  for (const DialectKey& key : row.keys) {
    double value = 0.0;
    if (!number_of(command, key, value))
      continue;
    if (key.means == "print_speed_mm_s") {
      emit_limit_of_x_and_y(Limit::axis_speed_mm_s, value);
    } else if (key.means == "corner_step_mm_s") {
      emit_limit_of_x_and_y(Limit::corner_step_mm_s, value);
    } else if (key.means == "acceleration_mm_s2") {
      emit_limit(Limit::print_acceleration_mm_s2, value);
      emit_limit(Limit::travel_acceleration_mm_s2, value);
    } else if (key.means == "print_acceleration_mm_s2") {
      emit_limit(Limit::print_acceleration_mm_s2, value);
    } else if (key.means == "travel_acceleration_mm_s2") {
      emit_limit(Limit::travel_acceleration_mm_s2, value);
    } else if (key.means == "retract_acceleration_mm_s2") {
      emit_limit(Limit::retract_acceleration_mm_s2, value);
    } else if (key.means == "junction_deviation_mm") {
      emit_limit(Limit::junction_deviation_mm, value);
    } else if (key.means == "corner_speed_mm_s") {
      emit_limit(Limit::corner_speed_mm_s, value, true);
    } else if (key.means == "least_cruise_share") {
      emit_limit(Limit::least_cruise_share, value, true);
    } else if (key.means == "braking_acceleration_mm_s2") {
      emit_limit(Limit::braking_acceleration_mm_s2, value);
    }
  }
}

void ModalMachine::run_row_temperatures(const gcode::Command& command, const DialectRow& row,
                                        bool waits) {
  double number = last_tool_;
  if (find_number(command, row, "tool", number) && !has_tool(number)) {
    remarks_.say("word-for-missing-tool", Severity::warning, [&] {
      return fmt::format("{} for tool {}; the machine has tools 0 to {}; the word was left out",
                         row.word, number, tools_.size() - 1);
    });
    return;
  }
  const auto set = [&](std::string_view means, Heater heater, int tool) {
    double set_c = 0.0;
    if (!find_number(command, row, means, set_c))
      return;
    emit_heater(heater, tool, std::max(0.0, set_c));
    if (heater == Heater::head)
      tools_[static_cast<std::size_t>(tool)].active_c = std::max(0.0, set_c);
  };
  const auto tool = static_cast<int>(number);
  set("bed_c", Heater::bed, -1);
  set("head_c", Heater::head, tool);
  set("enclosure_c", Heater::enclosure, -1);
  if (!waits)
    return;
  const auto names = [&](std::string_view means) {
    return std::any_of(row.keys.begin(), row.keys.end(),
                       [&](const DialectKey& key) { return key.means == means; });
  };
  if (names("bed_c"))
    emit_wait(Heater::bed, -1, false);
  if (names("head_c"))
    emit_wait(Heater::head, tool, false);
  if (names("enclosure_c"))
    emit_wait(Heater::enclosure, -1, false);
}

}  // namespace platetally::interpreter
