// Where the machine believes it is: G92 and its relatives, homing, probing, motors.
#include <fmt/format.h>

#include <cmath>

#include "reading/interpreter/modal_machine.hpp"

namespace platetally::interpreter {

namespace {

constexpr char kAxes[] = {'X', 'Y', 'Z'};

}  // namespace

// E has no place of its own: its register is set.
void ModalMachine::set_position(const gcode::Words& words) {
  const bool all = (words.mask | words.bare) == 0;
  for (std::size_t axis = 0; axis < 3; ++axis) {
    if (!all && !words.has(kAxes[axis]))
      continue;
    const double said_mm = all ? 0.0 : words[kAxes[axis]] * position_.unit_mm();
    if (std::abs(said_mm) < kMost_mm) {
      position_.call(axis, said_mm);
    } else {
      remarks_.say("position-out-of-range", Severity::error, [&] {
        return fmt::format("G92 sets {} beyond {:.0e} mm; the word was left out", kAxes[axis],
                           kMost_mm);
      });
    }
  }
  if (all)
    filament_.call(0.0, 1.0);
  if (words.has('E') && std::abs(words['E']) < kMost_mm)
    filament_.call(words['E'], position_.unit_mm());
}

void ModalMachine::remark_on_work_offset(const gcode::Command& command) {
  remarks_.say("work-offset-ignored", Severity::note, [&] {
    return fmt::format(
        "G{} selects a coordinate system whose place is stored in the machine, not in the plate; "
        "positions were taken as written",
        command.number);
  });
}

void ModalMachine::home(const gcode::Words& words) {
  wake_motors();
  events_.push(RecordKind::home);
  const std::uint32_t said = words.mask | words.bare;
  constexpr std::uint32_t kAnyAxis = 0b111U << gcode::Words::index('X');
  for (std::size_t axis = 0; axis < 3; ++axis) {
    if ((said & kAnyAxis) != 0 && !words.has(kAxes[axis]) && !words.has_bare(kAxes[axis]))
      continue;
    position_.home(axis);
  }
}

void ModalMachine::probe(const gcode::Words& words) {
  wake_motors();
  events_.push(RecordKind::probe);
  // A probing move ends at or before its target; the target is what the plate knows.
  const Way way{position_.target(words), filament_.nothing()};
  if (keep_in_range(way))
    position_.go_to(way.to_mm);
}

void ModalMachine::turn_motors(bool on, const gcode::Words& words) {
  // With S: off after so many idle seconds, of no consequence while the plate prints. With letters:
  // some axes only; the others still draw their holding power.
  if (!on && words.has('S'))
    return;
  const std::uint32_t said = words.mask | words.bare;
  const auto names = [said](char letter) {
    return ((said >> gcode::Words::index(letter)) & 1U) != 0;
  };
  const bool some = names('X') || names('Y') || names('Z') || names('E');
  if (some && !(names('X') && names('Y')))
    return;
  events_.push(RecordKind::motors, on ? 1.0 : 0.0);
  motors_off_ = !on;
}

void ModalMachine::wake_motors() {
  if (!motors_off_)
    return;
  motors_off_ = false;
  events_.push(RecordKind::motors, 1.0);
}

}  // namespace platetally::interpreter
