#include "motion/timeline/time_bound.hpp"

#include <algorithm>

namespace platetally::timeline {

using interpreter::RecordKind;

/// With the machine's own seconds, of which a plate can ask as often as it likes.
double TimeBound::expected_s(const interpreter::Record& record) const {
  switch (record.kind) {
    case RecordKind::home:
      return record.motion_s + machine_.procedures.homing_s.expected;
    case RecordKind::probe:
      return record.motion_s + machine_.procedures.probing_s.expected;
    case RecordKind::pause:
      return record.motion_s + machine_.procedures.pause_s.expected;
    case RecordKind::move:
    case RecordKind::dwell:
    case RecordKind::set_heater:
    case RecordKind::wait_heater:
    case RecordKind::set_fan:
    case RecordKind::select_tool:
    case RecordKind::firmware_retract:
    case RecordKind::firmware_return:
    case RecordKind::set_limits:
    case RecordKind::takes_seconds:
    case RecordKind::motors:
    case RecordKind::object:
    case RecordKind::end_of_plate:
      break;
  }
  return record.motion_s;
}

void TimeBound::note(const char* code, Severity severity, std::uint64_t line, const char* message) {
  Diagnostic said;
  said.code = code;
  said.severity = severity;
  said.line = line;
  said.message = message;
  said.help = "is an F word, an acceleration or a dwell a slip, or in another unit?";
  diagnostics_.add(std::move(said));
}

/// As much of the seconds as may be counted.
double TimeBound::within(double seconds, std::uint64_t line) {
  if (seconds > kLongestMove_s) {
    note("move-too-long", Severity::warning, line,
         "a move that takes more than a week; expected at most 604800 s, which were taken");
    seconds = kLongestMove_s;
  }
  const double left_s = std::max(0.0, kLongestPlate_s - total_s_);
  if (seconds > left_s) {
    note("plate-too-long", Severity::error, line,
         "the plate takes more than four weeks up to here; expected less; what follows is counted "
         "without its time and its energy");
    seconds = left_s;
  }
  total_s_ += seconds;
  return seconds;
}

void TimeBound::take(const interpreter::Record& event) {
  const double seconds = expected_s(event);
  const double counted_s = within(seconds, event.line);
  if (counted_s == seconds) [[likely]] {
    sink_.take(event);
    return;
  }
  interpreter::Record shorter = event;
  shorter.motion_s = counted_s;
  if (seconds > 0.0)
    shorter.kind = RecordKind::dwell;
  sink_.take(shorter);
}

void TimeBound::take(const interpreter::Rows& rows) {
  double sum_s = 0.0;
  double longest_s = 0.0;
  for (std::size_t i = 0; i < rows.size; ++i) {
    sum_s += rows.motion_s[i];
    longest_s = std::max(longest_s, rows.motion_s[i]);
  }
  if (longest_s <= kLongestMove_s && total_s_ + sum_s <= kLongestPlate_s) [[likely]] {
    total_s_ += sum_s;
    sink_.take(rows);
    return;
  }
  motion_s_.assign(rows.motion_s, rows.motion_s + rows.size);
  motion_s_.resize(rows.size + interpreter::kReadableBehind, 0.0);
  for (std::size_t i = 0; i < rows.size; ++i)
    motion_s_[i] = within(motion_s_[i], rows.run.first_line + i);
  interpreter::Rows shorter = rows;
  shorter.motion_s = motion_s_.data();
  sink_.take(shorter);
}

}  // namespace platetally::timeline
