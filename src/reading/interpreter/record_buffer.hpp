// Records and runs of strokes on their way out; records behind the last laid material are held
// back, because the travel, hop or tool change that leads to a layer belongs to that layer.
#pragma once

#include <vector>

#include "reading/interpreter/record.hpp"
#include "reading/interpreter/strokes.hpp"

namespace platetally::interpreter {

class RecordBuffer {
 public:
  explicit RecordBuffer(RecordSink& sink) : sink_(sink), records_(kSlots) {}

  /// Material is laid in `layer` next: what is held back leads there and goes with it. What comes
  /// before the first layer stays in layer 0.
  void enter(std::uint32_t layer) {
    if (layer != layer_)
      go_to_layer(layer);
  }

  /// A new record at the end, to be filled in by the caller, in the layer in force.
  Record& next(RecordKind kind, std::uint64_t line) {
    if (strokes_.size > 0)
      hand_over_strokes();
    if (size_ == kSlots)
      make_room();
    Record& record = records_[size_++];
    record.kind = kind;
    record.flags = 0;
    record.layer = layer_;
    record.line = line;
    return record;
  }

  /// The record that was appended last belongs to its layer for good, and so does all before it.
  void settle() { held_from_ = size_; }

  /// The run to push a stroke of that line to, which has room; nothing where one must begin. A run
  /// goes on from line to line, as long as nothing but its strokes is taken.
  StrokeColumns* strokes(std::uint64_t line) {
    const bool goes_on = strokes_.size > 0 && strokes_.size < kMostStrokes &&
                         line == strokes_.head.first_line + strokes_.size;
    return goes_on ? &strokes_ : nullptr;
  }
  /// Begins one; the caller has entered its layer.
  StrokeColumns* begin_strokes(const StrokesHead& head);

  /// Hands over everything.
  void flush();

 private:
  static constexpr std::size_t kSlots = 2 * kBatchSize;

  void go_to_layer(std::uint32_t layer);
  void make_room();
  void hand_over(std::size_t count);
  void hand_over_strokes();

  RecordSink& sink_;
  std::vector<Record> records_;
  std::size_t size_ = 0;
  std::size_t held_from_ = 0;  // records from here on have laid nothing yet
  std::uint32_t layer_ = 0;
  StrokeColumns strokes_;  // behind all records
};

}  // namespace platetally::interpreter
