#include "motion/timeline/time_bound.hpp"

#include <algorithm>

namespace platetally::timeline {

using interpreter::RecordKind;
using motion::TimedRecord;

/// With the machine's own seconds, of which a plate can ask as often as it likes.
double TimeBound::expected_s(const TimedRecord& timed) const {
  switch (timed.record.kind) {
    case RecordKind::home:
      return timed.motion_s + machine_.procedures.homing_s.expected;
    case RecordKind::probe:
      return timed.motion_s + machine_.procedures.probing_s.expected;
    case RecordKind::pause:
      return timed.motion_s + machine_.procedures.pause_s.expected;
    default:
      return timed.motion_s;
  }
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

void TimeBound::take(std::span<const TimedRecord> batch) {
  double sum_s = 0.0;
  double longest_s = 0.0;
  for (const TimedRecord& timed : batch) {
    const double seconds = expected_s(timed);
    sum_s += seconds;
    longest_s = std::max(longest_s, seconds);
  }
  if (longest_s <= kLongestMove_s && total_s_ + sum_s <= kLongestPlate_s) [[likely]] {
    total_s_ += sum_s;
    sink_.take(batch);
    return;
  }
  records_.assign(batch.begin(), batch.end());
  for (TimedRecord& timed : records_) {
    const double seconds = expected_s(timed);
    const double counted_s = within(seconds, timed.record.line);
    if (counted_s == seconds)
      continue;
    timed.motion_s = counted_s;
    if (timed.record.kind != RecordKind::move && seconds > 0.0)
      timed.record.kind = RecordKind::dwell;
  }
  sink_.take(std::span<const TimedRecord>(records_));
}

void TimeBound::take(const motion::TimedStrokes& strokes) {
  double sum_s = 0.0;
  double longest_s = 0.0;
  for (std::size_t i = 0; i < strokes.size(); ++i) {
    sum_s += strokes.motion_s[i];
    longest_s = std::max(longest_s, strokes.motion_s[i]);
  }
  if (longest_s <= kLongestMove_s && total_s_ + sum_s <= kLongestPlate_s) [[likely]] {
    total_s_ += sum_s;
    sink_.take(strokes);
    return;
  }
  motion_s_.assign(strokes.motion_s, strokes.motion_s + strokes.size());
  motion_s_.resize(strokes.size() + interpreter::kReadableBehind, 0.0);
  for (std::size_t i = 0; i < strokes.size(); ++i)
    motion_s_[i] = within(motion_s_[i], strokes.strokes.head.first_line + i);
  sink_.take(motion::TimedStrokes{strokes.strokes, motion_s_.data()});
}

}  // namespace platetally::timeline
