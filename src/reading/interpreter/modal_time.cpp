// Time that the plate states: dwells and pauses.
#include <fmt/format.h>

#include "base/units.hpp"
#include "reading/interpreter/modal_machine.hpp"

namespace platetally::interpreter {

namespace {

constexpr double kMostSeconds = 7.0 * base::kSecondsPerDay;

}  // namespace

double ModalMachine::stated_seconds(const gcode::Words& words) const {
  if (words.has('S'))
    return words['S'];
  if (!words.has('P'))
    return 0.0;
  return machine_.dialect.dwell_p_is_milliseconds ? words['P'] / base::kMillisecondsPerSecond
                                                  : words['P'];
}

// Without a time a dwell still ends the motion before it.
void ModalMachine::dwell(const gcode::Words& words) {
  emit_seconds(RecordKind::dwell, stated_seconds(words));
}

void ModalMachine::pause(const gcode::Words& words) {
  const double seconds = stated_seconds(words);
  if (seconds > 0.0) {
    emit_seconds(RecordKind::dwell, seconds);
  } else {
    events_.push(RecordKind::pause);
  }
}

void ModalMachine::emit_seconds(RecordKind kind, double seconds) {
  if (seconds < 0.0) {
    remarks_.say("dwell-negative", Severity::warning, [seconds] {
      return fmt::format("a stand-still of {} s; expected 0 or more; it was left out", seconds);
    });
    return;
  }
  if (seconds > kMostSeconds) {
    remarks_.say(
        "dwell-too-long", Severity::warning,
        [seconds] {
          return fmt::format("a stand-still of {} s; expected at most {:.0f} s, which were taken",
                             seconds, kMostSeconds);
        },
        "G4 P is read as milliseconds or seconds: dialect.dwell_p_is_milliseconds.");
    seconds = kMostSeconds;
  }
  events_.push(kind, seconds);
}

}  // namespace platetally::interpreter
