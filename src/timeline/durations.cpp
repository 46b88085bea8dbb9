#include "timeline/durations.hpp"

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
  const SwapPolicy& policy = machine.swap;
  Range seconds = swap_kind(machine, from, to) == SwapKind::head_change ? policy.head_change_s
                                                                        : policy.filament_change_s;
  const double expected_extra_s = policy.long_swap_probability * policy.long_swap_extra_s;
  seconds.expected += expected_extra_s;
  // Over many swaps the long ones average out; twice their expectation bounds an unlucky plate.
  seconds.high += 2.0 * expected_extra_s;
  return seconds;
}

Duration Durations::of(const motion::TimedRecord& timed) {
  const interpreter::Record& record = timed.record;
  Duration duration;
  duration.time_s = Range::exactly(timed.motion_s);
  duration.swap = watch_.see(record);
  switch (record.kind) {
    case RecordKind::select_tool:
      if (duration.swap.selection == Selection::swap) {
        duration.time_s += swap_s(machine_, duration.swap.from, duration.swap.to);
        duration.cause = Cause::swap;
      } else if (duration.swap.selection == Selection::first) {
        duration.time_s += Range::exactly(machine_.swap.first_pick_s);
        duration.cause = Cause::procedure;
      }
      break;
    case RecordKind::home:
      duration.time_s += machine_.procedures.homing_s;
      duration.cause = Cause::procedure;
      break;
    case RecordKind::probe:
      duration.time_s += machine_.procedures.probing_s;
      duration.cause = Cause::procedure;
      break;
    case RecordKind::pause:
      duration.time_s += machine_.procedures.pause_s;
      duration.cause = Cause::pause;
      break;
    case RecordKind::end_of_plate:
      duration.time_s += machine_.procedures.end_s;
      duration.cause = Cause::procedure;
      break;
    default:
      break;
  }
  if (!started_) {
    started_ = true;
    duration.time_s += machine_.procedures.start_s;
  }
  return duration;
}

}  // namespace platetally::timeline
