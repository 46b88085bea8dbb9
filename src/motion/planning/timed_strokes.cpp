#include "motion/planning/timed_strokes.hpp"

#include <array>
#include <cmath>

namespace platetally::motion {

TimedRecord TimedStrokes::timed(std::size_t i) const {
  TimedRecord timed{strokes.record(i), motion_s[i], 0.0};
  const interpreter::Move& move = timed.record.move;
  const double x_mm = move.to_mm[0] - move.from_mm[0];
  const double y_mm = move.to_mm[1] - move.from_mm[1];
  timed.length_mm = std::sqrt(x_mm * x_mm + y_mm * y_mm);
  return timed;
}

TimedStrokes stroke_of(const TimedRecord& timed) {
  const interpreter::Record& record = timed.record;
  const interpreter::Move& move = record.move;
  if (record.kind != interpreter::RecordKind::move || !(move.e_mm > 0.0) || move.is_arc() ||
      move.from_mm[2] != move.to_mm[2] ||
      (move.from_mm[0] == move.to_mm[0] && move.from_mm[1] == move.to_mm[1]))
    return {};
  return {{{record.line, record.layer, record.tool, record.flags, move.plane, move.from_mm[0],
            move.from_mm[1], move.to_mm[2]},
           1,
           &move.to_mm[0],
           &move.to_mm[1],
           &move.e_mm,
           &move.feed_mm_s},
          &timed.motion_s};
}

void TimedSink::take(const TimedStrokes& strokes) {
  std::array<TimedRecord, interpreter::kMostStrokes> records;
  for (std::size_t i = 0; i < strokes.size(); ++i)
    records[i] = strokes.timed(i);
  take(std::span<const TimedRecord>(records.data(), strokes.size()));
}

}  // namespace platetally::motion
