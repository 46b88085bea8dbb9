// Tools and filament: T, G10 and G11, volumetric E.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/units.hpp"
#include "reading/interpreter/modal_machine.hpp"

namespace platetally::interpreter {

namespace {

constexpr double kThinnestFilament_mm = 0.1;
constexpr double kThickestFilament_mm = 20.0;

}  // namespace

bool ModalMachine::has_tool(double number) const {
  return number >= 0.0 && number < static_cast<double>(tools_.size());
}

int ModalMachine::tool_of(const gcode::Words& words) {
  if (!words.has('T'))
    return last_tool_;
  if (has_tool(words['T']))
    return static_cast<int>(words['T']);
  remarks_.say(
      "word-for-missing-tool", Severity::warning,
      [&] {
        return fmt::format(
            "a word for tool {}; the machine has tools 0 to {}; the word was left out", words['T'],
            tools_.size() - 1);
      },
      "Was the plate made for another machine?");
  return -1;
}

void ModalMachine::select_word(const gcode::Command& command) {
  if (table_.has_tool_rows()) {
    const dialect::Found found = table_.find(command);
    if (found.row != nullptr) {
      run_row(command, *found.row);
      return;
    }
  }
  if (command.bare_number)
    return;  // asks which tool is in hand
  if (command.fraction >= 0) {
    count_unaccounted(command);
    return;
  }
  select_tool(command.number);
}

void ModalMachine::select_tool(double number) {
  if (number == -1.0) {
    missing_.select_other(false);
    if (selected_ != -1)
      emit_selection(-1);
    return;
  }
  if (!has_tool(number)) {
    constexpr double kMostNumber = 1e6;
    missing_.select(static_cast<std::int32_t>(std::clamp(number, -kMostNumber, kMostNumber)),
                    layers_.current() != 0, remarks_.place);
    return;
  }
  missing_.select_other(static_cast<int>(number) == last_tool_);
  ++tool_selects_;
  if (const auto tool = static_cast<int>(number); tool != selected_)
    emit_selection(tool);
}

void ModalMachine::emit_selection(int tool) {
  if (tool >= 0 && tool != last_tool_) {
    marks_.select_other_tool();
    update_marks();
  }
  Record selection = event(RecordKind::select_tool);
  selection.event.tool = tool;
  out_.push(selection);
  ahead_.swap();
  const int before = tool_;
  selected_ = tool;
  tool_ = tool;
  if (tool >= 0)
    last_tool_ = tool;
  change_standby(before, tool);
  update_e_scale();
}

// Where G10 gave a standby temperature, the tool that goes sinks to it and the tool that comes
// rises to its active one.
void ModalMachine::change_standby(int from, int to) {
  const auto turn = [this](int tool, bool active) {
    if (tool < 0)
      return;
    const ToolState& state = tools_[static_cast<std::size_t>(tool)];
    if (!state.has_standby)
      return;
    const double set_c = active ? state.active_c : state.standby_c;
    if (set_c != state.set_c)
      emit_heater(Heater::head, tool, set_c);
  };
  if (from == to)
    return;
  turn(from, false);
  turn(to, true);
}

void ModalMachine::retract_or_set_tool(const gcode::Words& words) {
  if (words.has('L')) {
    remarks_.say("work-offset-ignored", Severity::note, [] {
      return std::string(
          "G10 L stores a coordinate system in the machine; positions were taken as written");
    });
  } else if (words.has('P')) {
    set_tool_temperatures(words);
  } else {
    emit(RecordKind::firmware_retract);
  }
}

void ModalMachine::set_tool_temperatures(const gcode::Words& words) {
  if (!has_tool(words['P'])) {
    remarks_.say("word-for-missing-tool", Severity::warning, [&] {
      return fmt::format("G10 for tool {}; the machine has tools 0 to {}; the word was left out",
                         words['P'], tools_.size() - 1);
    });
    return;
  }
  const auto tool = static_cast<int>(words['P']);
  ToolState& state = tools_[static_cast<std::size_t>(tool)];
  if (words.has('R')) {
    state.standby_c = std::max(0.0, words['R']);
    state.has_standby = true;
  }
  if (words.has('S'))
    state.active_c = std::max(0.0, words['S']);
  const bool active = tool == tool_ || !state.has_standby;
  if (active ? words.has('S') : words.has('R'))
    emit_heater(Heater::head, tool, active ? state.active_c : state.standby_c);
  if (words.has('X') || words.has('Y') || words.has('Z'))
    remarks_.say("tool-offset-ignored", Severity::note, [] {
      return std::string(
          "G10 P with axis words sets where a tool's tip is; positions were taken as those of the "
          "tip");
    });
}

void ModalMachine::set_volumetric(const gcode::Words& words) {
  if (words.has('D')) {
    const double said_mm = words['D'] * unit_mm_;
    if (said_mm >= kThinnestFilament_mm && said_mm <= kThickestFilament_mm) {
      if (words.has('T')) {
        const int tool = tool_of(words);
        if (tool >= 0)
          tools_[static_cast<std::size_t>(tool)].filament_mm = said_mm;
      } else {
        for (ToolState& tool : tools_)
          tool.filament_mm = said_mm;
      }
      volumetric_ = true;
    } else if (said_mm == 0.0) {
      volumetric_ = false;
    } else {
      remarks_.say("filament-diameter", Severity::warning, [said_mm] {
        return fmt::format(
            "M200 D{}: expected 0, or a filament of {} to {} mm; the word was left out", said_mm,
            kThinnestFilament_mm, kThickestFilament_mm);
      });
      return;
    }
  }
  if (words.has('S'))
    volumetric_ = words['S'] != 0.0;
  update_e_scale();
}

void ModalMachine::update_e_scale() {
  const ToolState& tool = tools_[static_cast<std::size_t>(last_tool_)];
  e_scale_ =
      volumetric_ ? tool.flow_factor / base::filament_area_mm2(tool.filament_mm) : tool.flow_factor;
}

}  // namespace platetally::interpreter
