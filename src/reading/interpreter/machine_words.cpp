// Words and named commands of the machine's own, as its file explains them.
#include <fmt/format.h>

#include <algorithm>

#include "reading/dialect/parameters.hpp"
#include "reading/dialect/text.hpp"
#include "reading/interpreter/modal_machine.hpp"

namespace platetally::interpreter {

namespace {

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
      marks_.mark_by_word(row.action == DialectAction::begin_purge);
      update_flags();
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
      events_.push(RecordKind::probe);
      return;
    case DialectAction::pause:
      events_.push(RecordKind::pause);
      return;
  }
}

bool ModalMachine::run_condition(const DialectRow& row) {
  bool was_open = true;
  if (row.action == DialectAction::begin_condition)
    conditions_.begin(row.take_first_branch);
  else if (row.action == DialectAction::else_condition)
    was_open = conditions_.turn_to_other();
  else if (row.action == DialectAction::end_condition)
    was_open = conditions_.end();
  else
    return false;
  if (!was_open)
    remarks_.say("condition-not-begun", Severity::warning, [&] {
      return fmt::format("{} without the word that begins its condition; it was left out",
                         row.word);
    });
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
    if (number_of(command, key, value))
      limits_.set_by_name(key.means, value);
  }
}

void ModalMachine::run_row_temperatures(const gcode::Command& command, const DialectRow& row,
                                        bool waits) {
  double number = hand_.feeding();
  if (find_number(command, row, "tool", number) && !hand_.has(number)) {
    remarks_.say("word-for-missing-tool", Severity::warning, [&] {
      return fmt::format("{} for tool {}; the machine has tools 0 to {}; the word was left out",
                         row.word, number, hand_.count() - 1);
    });
    return;
  }
  const auto set = [&](std::string_view means, Heater heater, int tool) {
    double set_c = 0.0;
    if (!find_number(command, row, means, set_c))
      return;
    heat_.set(heater, tool, std::max(0.0, set_c));
    if (heater == Heater::head)
      heat_.set_active(tool, std::max(0.0, set_c));
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
    heat_.wait(Heater::bed, -1, false);
  if (names("head_c"))
    heat_.wait(Heater::head, tool, false);
  if (names("enclosure_c"))
    heat_.wait(Heater::enclosure, -1, false);
}

}  // namespace platetally::interpreter
