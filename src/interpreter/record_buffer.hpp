// Records on their way out, in batches; those behind the last laid material are held back, because
// the travel, hop or tool change that leads to a layer belongs to that layer.
#pragma once

#include <vector>

#include "interpreter/interpreter.hpp"
#include "interpreter/record.hpp"

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

  /// Hands over everything.
  void flush();

 private:
  static constexpr std::size_t kSlots = 2 * kBatchSize;

  void go_to_layer(std::uint32_t layer);
  void make_room();
  void hand_over(std::size_t count);

  RecordSink& sink_;
  std::vector<Record> records_;
  std::size_t size_ = 0;
  std::size_t held_from_ = 0;  // records from here on have laid nothing yet
  std::uint32_t layer_ = 0;
};

}  // namespace platetally::interpreter
