// Strokes of material that share nearly everything, as nearly all of nearly every plate: what they
// share once, and what they do not side by side.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <span>

#include "reading/interpreter/record.hpp"

namespace platetally::interpreter {

/// What strokes of one run share: straight, level, one from where the other ended and a line behind
/// it, laid by one tool in one layer.
struct StrokesHead {
  std::uint64_t first_line = 0;  ///< 1-based
  std::uint32_t layer = 0;
  std::int16_t tool = -1;
  std::uint8_t flags = 0;  ///< RecordFlag
  Plane plane = Plane::xy;
  double from_x_mm = 0.0;  ///< where the first one begins
  double from_y_mm = 0.0;
  double z_mm = 0.0;
};

/// What the planner's arithmetic bears. Shorter ones come as records, slower ones and such without
/// a feed too.
inline constexpr double kLeastStroke_mm = 1e-9;
inline constexpr double kLeastStrokeFeed_mm_s = 1e-6;

/// So many numbers, whatever they are, may be read behind a run's columns, so that its length need
/// not be minded to the last one.
inline constexpr std::size_t kReadableBehind = 3;

/// A run of them; the columns belong to somebody else. All lay material.
struct Strokes {
  StrokesHead head;
  std::size_t size = 0;
  const double* to_x_mm = nullptr;
  const double* to_y_mm = nullptr;
  const double* e_mm = nullptr;
  const double* feed_mm_s = nullptr;

  double from_x_mm(std::size_t i) const { return i == 0 ? head.from_x_mm : to_x_mm[i - 1]; }
  double from_y_mm(std::size_t i) const { return i == 0 ? head.from_y_mm : to_y_mm[i - 1]; }

  /// `count` of them, from number `first` on, as a run of their own.
  Strokes part(std::size_t first, std::size_t count) const {
    Strokes part{head, count, to_x_mm + first, to_y_mm + first, e_mm + first, feed_mm_s + first};
    part.head.first_line += first;
    part.head.from_x_mm = from_x_mm(first);
    part.head.from_y_mm = from_y_mm(first);
    return part;
  }

  /// One of them as a record of its own.
  Record record(std::size_t i) const {
    Record record;
    record.kind = RecordKind::move;
    record.flags = head.flags;
    record.tool = head.tool;
    record.layer = head.layer;
    record.line = head.first_line + i;
    record.move = {{from_x_mm(i), from_y_mm(i), head.z_mm},
                   {to_x_mm[i], to_y_mm[i], head.z_mm},
                   e_mm[i],
                   feed_mm_s[i],
                   {0.0, 0.0},
                   0.0,
                   head.plane};
    return record;
  }
};

inline constexpr std::size_t kMostStrokes = 256;  // of a run

/// Where records go, in program order.
class RecordSink {
 public:
  virtual ~RecordSink() = default;
  /// At most kBatchSize records, valid during the call.
  virtual void take(std::span<const Record> batch) = 0;
  /// At most kMostStrokes of them, valid during the call. A sink that does not care takes them as
  /// records.
  virtual void take(const Strokes& strokes);
};

/// The columns of a run that grows.
struct StrokeColumns {
  using Column = std::array<double, kMostStrokes + kReadableBehind>;

  StrokesHead head;
  std::size_t size = 0;
  Column to_x_mm;
  Column to_y_mm;
  Column e_mm;
  Column feed_mm_s;

  void push(double x_mm, double y_mm, double e, double feed) {
    to_x_mm[size] = x_mm;
    to_y_mm[size] = y_mm;
    e_mm[size] = e;
    feed_mm_s[size] = feed;
    ++size;
  }
  Strokes strokes() const {
    return {head, size, to_x_mm.data(), to_y_mm.data(), e_mm.data(), feed_mm_s.data()};
  }
};

}  // namespace platetally::interpreter
