// Tools and filament: T, G10 and G11, volumetric E.
#include <fmt/format.h>

#include <algorithm>

#include "reading/interpreter/modal_machine.hpp"

namespace platetally::interpreter {

namespace {

constexpr double kThinnestFilament_mm = 0.1;
constexpr double kThickestFilament_mm = 20.0;

}  // namespace

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
  if (number == ToolInHand::kParked) {
    missing_.select_other(false);
    if (hand_.is_news(ToolInHand::kParked))
      emit_selection(ToolInHand::kParked);
    return;
  }
  if (!hand_.has(number)) {
    constexpr double kMostNumber = 1e6;
    missing_.select(static_cast<std::int32_t>(std::clamp(number, -kMostNumber, kMostNumber)),
                    places_.current() != 0, remarks_.place);
    return;
  }
  const auto tool = static_cast<int>(number);
  missing_.select_other(tool == hand_.feeding());
  hand_.count_select();
  if (hand_.is_news(tool))
    emit_selection(tool);
}

void ModalMachine::emit_selection(int tool) {
  if (tool != ToolInHand::kParked && tool != hand_.feeding()) {
    marks_.select_other_tool();
    update_flags();
  }
  Record selection = events_.make(RecordKind::select_tool);
  selection.event.tool = tool;
  events_.push(selection);
  places_.swap();
  const int before = hand_.in_hand();
  hand_.select(tool);
  heat_.change_tool(before, tool);
  filament_.feed_by(static_cast<std::size_t>(hand_.feeding()));
}

void ModalMachine::retract_or_set_tool(const gcode::Words& words) {
  if (words.has('L')) {
    remarks_.say("work-offset-ignored", Severity::note, [] {
      return std::string(
          "G10 L stores a coordinate system in the machine; positions were taken as written");
    });
  } else if (words.has('P')) {
    heat_.set_tool(words);
  } else {
    events_.push(RecordKind::firmware_retract);
  }
}

void ModalMachine::set_volumetric(const gcode::Words& words) {
  if (words.has('D') && !set_diameter(words))
    return;
  if (words.has('S'))
    filament_.set_volumetric(words['S'] != 0.0);
}

/// M200 D: a filament's diameter, from which on E is volumetric; 0: it is not. False: neither.
bool ModalMachine::set_diameter(const gcode::Words& words) {
  const double said_mm = words['D'] * position_.unit_mm();
  if (said_mm == 0.0) {
    filament_.set_volumetric(false);
    return true;
  }
  if (!(said_mm >= kThinnestFilament_mm && said_mm <= kThickestFilament_mm)) {
    remarks_.say("filament-diameter", Severity::warning, [said_mm] {
      return fmt::format(
          "M200 D{}: expected 0, or a filament of {} to {} mm; the word was left out", said_mm,
          kThinnestFilament_mm, kThickestFilament_mm);
    });
    return false;
  }
  if (words.has('T')) {
    const int tool = hand_.named_by(words, remarks_);
    if (tool >= 0)
      filament_.set_diameter_mm(static_cast<std::size_t>(tool), said_mm);
  } else {
    for (std::size_t tool = 0; tool < hand_.count(); ++tool)
      filament_.set_diameter_mm(tool, said_mm);
  }
  filament_.set_volumetric(true);
  return true;
}

void ModalMachine::set_feed_factor(const gcode::Words& words) {
  if (const auto factor = limits_.read_factor(words, "M220"))
    feed_.set_factor(*factor);
}

void ModalMachine::set_flow_factor(const gcode::Words& words) {
  const auto factor = limits_.read_factor(words, "M221");
  const int tool = factor ? hand_.named_by(words, remarks_) : ToolInHand::kParked;
  if (tool != ToolInHand::kParked)
    filament_.set_flow_factor(static_cast<std::size_t>(tool), *factor);
}

}  // namespace platetally::interpreter
