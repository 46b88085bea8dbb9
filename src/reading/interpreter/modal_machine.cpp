#include "reading/interpreter/modal_machine.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "base/units.hpp"

namespace platetally::interpreter {

using dialect::Meaning;

namespace {

constexpr int kNothingSelected = -2;

gcode::Command g_command(std::int32_t number) {
  gcode::Command command;
  command.kind = gcode::CommandKind::lettered;
  command.letter = 'G';
  command.number = number;
  return command;
}

}  // namespace

ModalMachine::ModalMachine(const Machine& machine, RowBuffer& out, Remarks& remarks)
    : machine_(machine),
      out_(out),
      remarks_(remarks),
      table_(machine.dialect),
      g0_is_rapid_(table_.find(g_command(0)).meaning == Meaning::rapid),
      g1_is_line_(table_.find(g_command(1)).meaning == Meaning::line),
      marks_(machine.dialect),
      stated_e_relative_(machine.dialect.initial_extrusion == ExtrusionMode::relative),
      e_relative_(stated_e_relative_),
      volumetric_(machine.dialect.volumetric_e),
      feed_mm_s_(machine.motion.initial_feed_mm_s),
      tools_(std::max<std::size_t>(1, machine.tools.size())),
      selected_(kNothingSelected) {
  for (std::size_t tool = 0; tool < machine.tools.size(); ++tool)
    tools_[tool].filament_mm = machine.tools[tool].filament_diameter_mm;
  update_e_scale();
}

Record ModalMachine::event(RecordKind kind) const {
  Record record;
  record.kind = kind;
  record.flags = flags_;
  record.tool = static_cast<std::int16_t>(tool_);
  record.layer = 0;
  record.line = remarks_.place.line;
  record.motion_s = 0.0;
  record.event = {};
  return record;
}

void ModalMachine::emit(RecordKind kind, double value) {
  Record record = event(kind);
  record.event.value = value;
  out_.push(record);
}

void ModalMachine::begin_line(const gcode::Line& line) {
  machine_coordinates_ = false;
  marks_.begin_line();
  if (!line.comment.empty() && !skips())
    marks_.take(line.comment, line.comment_is_alone);
  update_marks();
}

void ModalMachine::run(const gcode::Command& command) {
  if (skips()) {
    skip(command);
    return;
  }
  if (command.kind == gcode::CommandKind::motionless) {
    run_motionless(command);
    return;
  }
  if (command.letter == 'T' && command.kind == gcode::CommandKind::lettered) {
    ++understood_;
    select_word(command);
    return;
  }
  dispatch(command, table_.find(command));
}

void ModalMachine::skip(const gcode::Command& command) {
  const dialect::Found found = table_.find(command);
  if (found.row != nullptr && run_condition(*found.row))
    return;
  remarks_.say("condition-skipped", Severity::note, [] {
    return std::string(
        "part of the plate that runs only under a condition; the machine file takes the other "
        "branch; its commands were left out");
  });
}

void ModalMachine::count_unaccounted(const gcode::Command& command) {
  unaccounted_.add(command, remarks_.place.line, layers_.current() == 0);
}

void ModalMachine::dispatch(const gcode::Command& command, dialect::Found found) {
  switch (found.meaning) {
    case Meaning::line:
      motion_ = MotionWord::line;
      run_straight(command.words, false);
      return;
    case Meaning::rapid:
      motion_ = MotionWord::rapid;
      run_straight(command.words, true);
      return;
    case Meaning::unknown:
      if (!limit_by_key(command))
        count_unaccounted(command);
      return;
    case Meaning::nothing:
      ++understood_;
      return;
    case Meaning::not_modelled:
      ++understood_;
      remarks_.say(
          "word-not-modelled", Severity::note,
          [&] {
            return fmt::format(
                "{}{} changes a setting of the controller that the account leaves out; everything "
                "else goes on",
                command.letter, command.number);
          },
          "Put the setting into the machine file.");
      return;
    case Meaning::machine_row:
      ++understood_;
      if (found.row != nullptr)  // as it always is with this meaning
        run_row(command, *found.row);
      return;
    default:
      break;
  }
  const bool is_arc =
      found.meaning == Meaning::arc_clockwise || found.meaning == Meaning::arc_counter_clockwise;
  understood_ += is_arc ? 0U : 1U;  // which counts as a move
  if (!dispatch_motion(command, found.meaning) && !dispatch_filament(command, found.meaning) &&
      !dispatch_heat(command, found.meaning))
    dispatch_limits(command, found.meaning);
}

// A flat dispatch: longer than other functions, one row a meaning.
bool ModalMachine::dispatch_motion(const gcode::Command& command, Meaning meaning) {
  const gcode::Words& words = command.words;
  switch (meaning) {
    case Meaning::arc_clockwise:
      motion_ = MotionWord::arc_clockwise;
      run_arc(words, true);
      return true;
    case Meaning::arc_counter_clockwise:
      motion_ = MotionWord::arc_counter_clockwise;
      run_arc(words, false);
      return true;
    case Meaning::cancel_motion:
      motion_ = MotionWord::none;
      return true;
    case Meaning::plane_xy:
      plane_ = Plane::xy;
      return true;
    case Meaning::plane_zx:
      plane_ = Plane::zx;
      return true;
    case Meaning::plane_yz:
      plane_ = Plane::yz;
      return true;
    case Meaning::inches:
      unit_mm_ = base::kMmPerInch;
      return true;
    case Meaning::millimetres:
      unit_mm_ = 1.0;
      return true;
    case Meaning::absolute:
    case Meaning::relative:
      relative_ = meaning == Meaning::relative;
      if (machine_.dialect.distance_words_set_e == DistanceWordsSetE::yes)
        set_e_mode(relative_);
      update_e_mode();
      return true;
    case Meaning::feed_inverse_time:
      inverse_time_ = true;
      return true;
    case Meaning::feed_per_minute:
      inverse_time_ = false;
      return true;
    case Meaning::home:
      home(words);
      return true;
    case Meaning::probe:
      probe(words);
      return true;
    case Meaning::machine_coordinates:
      machine_coordinates_ = true;
      return true;
    case Meaning::work_offset:
      remarks_.say("work-offset-ignored", Severity::note, [&] {
        return fmt::format(
            "G{} selects a coordinate system whose place is stored in the machine, not in the "
            "plate; positions were taken as written",
            command.number);
      });
      return true;
    case Meaning::set_position:
      set_position(words);
      return true;
    case Meaning::clear_offsets:
      clear_offsets(true);
      return true;
    case Meaning::suspend_offsets:
      clear_offsets(false);
      return true;
    case Meaning::restore_offsets:
      offset_mm_ = suspended_offset_mm_;
      return true;
    case Meaning::motors_on:
      turn_motors(true, words);
      return true;
    case Meaning::motors_off:
      turn_motors(false, words);
      return true;
    case Meaning::dwell:
      dwell(words);
      return true;
    case Meaning::wait_for_moves:
      emit_seconds(RecordKind::dwell, 0.0);
      return true;
    case Meaning::pause:
      pause(words);
      return true;
    case Meaning::end:
      ended_ = true;
      return true;
    default:
      return false;
  }
}

bool ModalMachine::dispatch_filament(const gcode::Command& command, Meaning meaning) {
  const gcode::Words& words = command.words;
  switch (meaning) {
    case Meaning::e_absolute:
      set_e_mode(false);
      return true;
    case Meaning::e_relative:
      set_e_mode(true);
      return true;
    case Meaning::volumetric:
      set_volumetric(words);
      return true;
    case Meaning::extruder_on:
      extruder_on_ = true;
      return true;
    case Meaning::extruder_off:
      extruder_on_ = false;
      return true;
    case Meaning::retract_or_tool_data:
      retract_or_set_tool(words);
      return true;
    case Meaning::firmware_return:
      emit(RecordKind::firmware_return);
      return true;
    case Meaning::tool_change:
      if (words.has('T'))
        select_tool(words['T']);
      return true;
    case Meaning::flow_factor:
      set_flow_factor(words);
      return true;
    default:
      return false;
  }
}

bool ModalMachine::dispatch_heat(const gcode::Command& command, Meaning meaning) {
  const gcode::Words& words = command.words;
  switch (meaning) {
    case Meaning::head_set:
    case Meaning::head_wait:
      set_heater(Heater::head, words, meaning == Meaning::head_wait);
      return true;
    case Meaning::bed_set:
    case Meaning::bed_wait:
      set_heater(Heater::bed, words, meaning == Meaning::bed_wait);
      return true;
    case Meaning::enclosure_set:
    case Meaning::enclosure_wait:
      set_heater(Heater::enclosure, words, meaning == Meaning::enclosure_wait);
      return true;
    case Meaning::wait_all:
      wait_for_all();
      return true;
    case Meaning::fan_on:
    case Meaning::fan_off:
      set_fan(words, meaning == Meaning::fan_on);
      return true;
    default:
      return false;
  }
}

bool ModalMachine::dispatch_limits(const gcode::Command& command, Meaning meaning) {
  const gcode::Words& words = command.words;
  const MotionLimits& limits = machine_.motion;
  switch (meaning) {
    case Meaning::axis_acceleration:
      limit_axes(words, Limit::axis_acceleration_mm_s2, limits.honours_acceleration_words);
      return true;
    case Meaning::axis_speed:
      limit_axes(words, Limit::axis_speed_mm_s, limits.honours_speed_words);
      return true;
    case Meaning::acceleration:
      limit_acceleration(words);
      return true;
    case Meaning::corner:
      limit_corner(words);
      return true;
    case Meaning::feed_factor:
      set_feed_factor(words);
      return true;
    default:
      return false;
  }
}

void ModalMachine::remark_on_end() {
  const Place end = remarks_.place;
  missing_.remark(remarks_, tools_.size());
  remarks_.place = end;
  remarks_.place.column = 0;
  if (row_purge_)
    remarks_.say("purge-not-ended", Severity::note, [] {
      return std::string(
          "a word of the machine file begins purge, and none ended it before the plate's end; "
          "everything behind it was marked as purge");
    });
  if (!branches_.empty())
    remarks_.say("condition-not-ended", Severity::warning, [this] {
      return fmt::format(
          "{} of the conditions that the machine file names are not ended before the plate's end",
          branches_.size() + deeper_branches_);
    });
  if (layers_.is_capped())
    remarks_.say("layers-capped", Severity::warning, [] {
      return fmt::format(
          "material is laid at more than {} different heights; beyond that each height was counted "
          "to the nearest of them",
          kMostLayers);
    });
}

}  // namespace platetally::interpreter
