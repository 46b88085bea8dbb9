#include "reading/interpreter/modal_machine.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "base/units.hpp"

namespace platetally::interpreter {

using dialect::Meaning;

namespace {

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
      hand_(std::max<std::size_t>(1, machine.tools.size())),
      events_(out, remarks, hand_),
      marks_(machine.dialect),
      objects_(machine.dialect),
      filament_(machine),
      feed_(machine.motion.initial_feed_mm_s),
      places_(machine, remarks),
      heat_(events_, remarks, hand_),
      limits_(machine, events_, remarks) {}

void ModalMachine::begin_line(const gcode::Line& line) {
  position_.begin_line();
  marks_.begin_line();
  if (!line.comment.empty() && !conditions_.skip())
    marks_.take(line.comment, line.comment_is_alone);
  update_flags();
  if (objects_.watches() && !line.comment.empty()) [[unlikely]]
    read_object(line);
}

void ModalMachine::read_object(const gcode::Line& line) {
  if (conditions_.skip())
    return;
  const std::optional<int> object = objects_.take(line.comment, line.comment_is_alone);
  if (!object)
    return;
  Record event = events_.make(RecordKind::object);
  event.event.tool = *object;
  events_.push(event);
}

void ModalMachine::run(const gcode::Command& command) {
  if (conditions_.skip()) {
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
  unaccounted_.add(command, remarks_.place.line, places_.current() == 0);
}

void ModalMachine::set_distances(bool relative) {
  position_.set_relative(relative);
  if (machine_.dialect.distance_words_set_e == DistanceWordsSetE::yes)
    set_e_mode(relative);
  filament_.update_relative(relative);
}

// A flat dispatch: longer than other functions, one row a meaning, and no meaning without a row.
void ModalMachine::dispatch(const gcode::Command& command, dialect::Found found) {
  const gcode::Words& words = command.words;
  const double unit_mm = position_.unit_mm();
  const MotionLimits& motion = machine_.motion;
  ++understood_;  // but for moves, which are counted where they are taken, and what is unknown
  switch (found.meaning) {
    case Meaning::unknown:
      --understood_;
      if (!limits_.run_by_key(command))
        count_unaccounted(command);
      return;
    case Meaning::nothing:
      return;
    case Meaning::not_modelled:
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
      if (found.row != nullptr)  // as it always is with this meaning
        run_row(command, *found.row);
      return;
    // motion
    case Meaning::rapid:
      return run_motion(words, MotionWord::rapid);
    case Meaning::line:
      return run_motion(words, MotionWord::line);
    case Meaning::arc_clockwise:
      return run_motion(words, MotionWord::arc_clockwise);
    case Meaning::arc_counter_clockwise:
      return run_motion(words, MotionWord::arc_counter_clockwise);
    case Meaning::cancel_motion:
      motion_ = MotionWord::none;
      return;
    case Meaning::plane_xy:
      return position_.set_plane(Plane::xy);
    case Meaning::plane_zx:
      return position_.set_plane(Plane::zx);
    case Meaning::plane_yz:
      return position_.set_plane(Plane::yz);
    case Meaning::inches:
      return position_.set_unit_mm(base::kMmPerInch);
    case Meaning::millimetres:
      return position_.set_unit_mm(1.0);
    case Meaning::absolute:
      return set_distances(false);
    case Meaning::relative:
      return set_distances(true);
    case Meaning::feed_inverse_time:
      return feed_.set_inverse(true);
    case Meaning::feed_per_minute:
      return feed_.set_inverse(false);
    case Meaning::home:
      return home(words);
    case Meaning::probe:
      return probe(words);
    case Meaning::machine_coordinates:
      return position_.take_machine_coordinates();
    case Meaning::work_offset:
      return remark_on_work_offset(command);
    case Meaning::set_position:
      return set_position(words);
    case Meaning::clear_offsets:
      return position_.clear_offsets();
    case Meaning::suspend_offsets:
      return position_.suspend_offsets();
    case Meaning::restore_offsets:
      return position_.restore_offsets();
    case Meaning::motors_on:
      return turn_motors(true, words);
    case Meaning::motors_off:
      return turn_motors(false, words);
    // filament
    case Meaning::e_absolute:
      return set_e_mode(false);
    case Meaning::e_relative:
      return set_e_mode(true);
    case Meaning::volumetric:
      return set_volumetric(words);
    case Meaning::extruder_on:
      return filament_.switch_extruder(true);
    case Meaning::extruder_off:
      return filament_.switch_extruder(false);
    case Meaning::retract_or_tool_data:
      return retract_or_set_tool(words);
    case Meaning::firmware_return:
      return events_.push(RecordKind::firmware_return);
    case Meaning::tool_change:
      if (words.has('T'))
        select_tool(words['T']);
      return;
    // heat and air
    case Meaning::head_set:
      return heat_.run(Heater::head, words, false);
    case Meaning::head_wait:
      return heat_.run(Heater::head, words, true);
    case Meaning::bed_set:
      return heat_.run(Heater::bed, words, false);
    case Meaning::bed_wait:
      return heat_.run(Heater::bed, words, true);
    case Meaning::enclosure_set:
      return heat_.run(Heater::enclosure, words, false);
    case Meaning::enclosure_wait:
      return heat_.run(Heater::enclosure, words, true);
    case Meaning::wait_all:
      return heat_.wait_for_all();
    case Meaning::fan_on:
      return heat_.run_fan(words, true);
    case Meaning::fan_off:
      return heat_.run_fan(words, false);
    // limits and factors
    case Meaning::axis_acceleration:
      return limits_.run_axes(words, unit_mm, Limit::axis_acceleration_mm_s2,
                              motion.honours_acceleration_words);
    case Meaning::axis_speed:
      return limits_.run_axes(words, unit_mm, Limit::axis_speed_mm_s, motion.honours_speed_words);
    case Meaning::acceleration:
      return limits_.run_acceleration(words, unit_mm);
    case Meaning::corner:
      return limits_.run_corner(words, unit_mm);
    case Meaning::feed_factor:
      return set_feed_factor(words);
    case Meaning::flow_factor:
      return set_flow_factor(words);
    // time
    case Meaning::dwell:
      return dwell(words);
    case Meaning::wait_for_moves:
      return emit_seconds(RecordKind::dwell, 0.0);
    case Meaning::pause:
      return pause(words);
    case Meaning::end:
      ended_ = true;
      return;
  }
}

void ModalMachine::remark_on_end() {
  const Place end = remarks_.place;
  missing_.remark(remarks_, hand_.count());
  remarks_.place = end;
  remarks_.place.column = 0;
  if (marks_.is_marked_by_word())
    remarks_.say("purge-not-ended", Severity::note, [] {
      return std::string(
          "a word of the machine file begins purge, and none ended it before the plate's end; "
          "everything behind it was marked as purge");
    });
  if (conditions_.open() > 0)
    remarks_.say("condition-not-ended", Severity::warning, [this] {
      return fmt::format(
          "{} of the conditions that the machine file names are not ended before the plate's end",
          conditions_.open());
    });
  if (layers().is_capped())
    remarks_.say("layers-capped", Severity::warning, [] {
      return fmt::format(
          "material is laid at more than {} different heights; beyond that each height was counted "
          "to the nearest of them",
          kMostLayers);
    });
}

}  // namespace platetally::interpreter
