// Strokes with the times that the machine's motion gives them.
#pragma once

#include <span>

#include "motion/planning/timed_record.hpp"
#include "reading/interpreter/strokes.hpp"

namespace platetally::motion {

/// A run of strokes; the columns belong to somebody else.
struct TimedStrokes {
  interpreter::Strokes strokes;
  const double* motion_s = nullptr;

  std::size_t size() const { return strokes.size; }
  /// One of them as a record of its own.
  TimedRecord timed(std::size_t i) const;
};

/// A run of one stroke, whose columns are the record's members; empty where it is no such stroke.
TimedStrokes stroke_of(const TimedRecord& timed);

/// Where timed records go, in program order.
class TimedSink {
 public:
  virtual ~TimedSink() = default;
  /// The records are only valid during the call.
  virtual void take(std::span<const TimedRecord> batch) = 0;
  /// So are these. A sink that does not care takes them as records.
  virtual void take(const TimedStrokes& strokes);
};

}  // namespace platetally::motion
