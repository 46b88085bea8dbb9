#include "motion/timeline/durations.hpp"

namespace platetally::timeline {

using interpreter::RecordKind;

SwapKind Durations::swap_kind(const Machine& machine, int from, int to) {
  const auto count = static_cast<int>(machine.tools.size());
  if (from < 0 || to < 0 || from >= count || to >= count)
    return SwapKind::head_change;
  return machine.tools[static_cast<std::size_t>(from)].head ==
                 machine.tools[static_cast<std::size_t>(to)].head
             ? SwapKind::filament_change
             : SwapKind::head_change;
}

Range Durations::swap_s(const Machine& machine, int from, int to) {
  for (const SwapPair& pair : machine.swap_pairs)
    if (pair.from == from && pair.to == to && pair.seconds.high > 0.0)
      return pair.seconds;
  return swap_kind(machine, from, to) == SwapKind::head_change ? machine.swap.head_change_s
                                                               : machine.swap.filament_change_s;
}

Range Durations::long_swap_s(const Machine& machine) {
  const double expected_s = machine.swap.long_swap_probability * machine.swap.long_swap_extra_s;
  return {0.0, expected_s, 2.0 * expected_s};
}

Duration Durations::of(const interpreter::Record& record) {
  Duration duration;
  duration.time_s = Range::exactly(record.motion_s);
  duration.swap = watch_.see(record);
  const auto takes = [&duration](Cause cause, const Range& seconds) {
    duration.cause = cause;
    duration.time_s += seconds;
  };
  switch (record.kind) {
    case RecordKind::select_tool:
      if (duration.swap.selection == Selection::swap) {
        takes(Cause::swap, swap_s(machine_, duration.swap.from, duration.swap.to));
        duration.long_swap_s = long_swap_s(machine_);
        duration.time_s += duration.long_swap_s;
      } else if (duration.swap.selection == Selection::first) {
        takes(Cause::start_and_end, Range::exactly(machine_.swap.first_pick_s));
      }
      break;
    case RecordKind::home:
      takes(Cause::homing, machine_.procedures.homing_s);
      break;
    case RecordKind::probe:
      takes(Cause::probing, machine_.procedures.probing_s);
      break;
    case RecordKind::pause:
      takes(Cause::pause, machine_.procedures.pause_s);
      break;
    case RecordKind::end_of_plate:
      takes(Cause::start_and_end, machine_.procedures.end_s);
      break;
    case RecordKind::move:
    case RecordKind::dwell:
    case RecordKind::set_heater:
    case RecordKind::wait_heater:
    case RecordKind::set_fan:
    case RecordKind::firmware_retract:
    case RecordKind::firmware_return:
    case RecordKind::set_limits:
    case RecordKind::takes_seconds:
    case RecordKind::motors:
    case RecordKind::object:
      break;
  }
  if (!started_) {
    started_ = true;
    duration.start_s = machine_.procedures.start_s;
    duration.time_s += duration.start_s;
  }
  return duration;
}

}  // namespace platetally::timeline
