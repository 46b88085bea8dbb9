// Heaters and fans.
#include <fmt/format.h>

#include <algorithm>

#include "reading/interpreter/modal_machine.hpp"

namespace platetally::interpreter {

namespace {

constexpr double kFanFull = 255.0;

}  // namespace

void ModalMachine::emit_heater(Heater heater, int tool, double set_c) {
  switch (heater) {
    case Heater::bed:
      bed_set_c_ = set_c;
      break;
    case Heater::enclosure:
      enclosure_set_c_ = set_c;
      break;
    case Heater::head:
      tools_[static_cast<std::size_t>(tool)].set_c = set_c;
      heats_nozzle_ = heats_nozzle_ || set_c > 0.0;
      break;
  }
  Record setting = event(RecordKind::set_heater);
  setting.event.heater = heater;
  setting.event.tool = tool;
  setting.event.value = set_c;
  out_.push(setting);
}

void ModalMachine::emit_wait(Heater heater, int tool, bool cooling) {
  Record wait = event(RecordKind::wait_heater);
  wait.event.heater = heater;
  wait.event.tool = tool;
  wait.event.wait_cooling = cooling;
  out_.push(wait);
}

// S sets and waits for warming only, R sets and waits for cooling too; without either a waiting
// word waits for the set point in force. A setting word's R is another machine's standby: no set
// point.
void ModalMachine::set_heater(Heater heater, const gcode::Words& words, bool waits) {
  int tool = -1;
  if (heater == Heater::head) {
    tool = tool_of(words);
    if (tool < 0)
      return;
  }
  const bool cooling = waits && !words.has('S') && words.has('R');
  if (words.has('S') || cooling) {
    const double set_c = std::max(0.0, words[cooling ? 'R' : 'S']);
    emit_heater(heater, tool, set_c);
    if (heater == Heater::head)
      tools_[static_cast<std::size_t>(tool)].active_c = set_c;
  }
  if (waits)
    emit_wait(heater, tool, cooling);
}

void ModalMachine::wait_for_all() {
  if (bed_set_c_ > 0.0)
    emit_wait(Heater::bed, -1, false);
  for (std::size_t tool = 0; tool < tools_.size(); ++tool)
    if (tools_[tool].set_c > 0.0)
      emit_wait(Heater::head, static_cast<int>(tool), false);
  if (enclosure_set_c_ > 0.0)
    emit_wait(Heater::enclosure, -1, false);
}

void ModalMachine::set_fan(const gcode::Words& words, bool on) {
  const double said = on ? words.get('S', kFanFull) : 0.0;
  if (said > 0.0 && said < 1.0)
    remarks_.say("fan-duty-small", Severity::note, [said] {
      return fmt::format("fan duty S{} was read as {} of 255, not as a share of 1", said, said);
    });
  Record setting = event(RecordKind::set_fan);
  setting.event.tool = static_cast<std::int32_t>(std::clamp(words.get('P', 0.0), 0.0, 255.0));
  setting.event.value = std::clamp(said / kFanFull, 0.0, 1.0);
  out_.push(setting);
}

}  // namespace platetally::interpreter
