// Sends records on in batches, and puts travels and swaps into the layer that they lead to.
#pragma once

#include <span>
#include <vector>

#include "interpreter/record.hpp"

namespace platetally::interpreter {

class RecordSink {
 public:
  virtual ~RecordSink() = default;
  virtual void take(std::span<const Record> batch) = 0;
};

/// What follows the last laid move is held back (up to a batch) until the next laid move tells
/// which layer it leads to. What leads to the very first layer stays in layer 0: that is the start.
class RecordBatcher {
 public:
  explicit RecordBatcher(RecordSink& sink) : sink_(sink) { records_.reserve(2 * kBatchSize); }

  /// A record in the layer of the last laid move.
  void add(Record record) {
    record.layer = layer_;
    records_.push_back(record);
    if (records_.size() >= kBatchSize)
      flush();
  }

  /// A record that lays material in `layer`.
  void add_laid(Record record, std::uint32_t layer) {
    if (layer != layer_ && layer_ != 0)
      for (std::size_t i = settled_; i < records_.size(); ++i)
        records_[i].layer = layer;
    layer_ = layer;
    record.layer = layer;
    records_.push_back(record);
    settled_ = records_.size();
    if (records_.size() >= kBatchSize)
      flush();
  }

  std::uint32_t layer() const { return layer_; }

  void finish() {
    settled_ = records_.size();
    flush();
  }

 private:
  void flush() {
    if (settled_ == 0 && records_.size() < 2 * kBatchSize)
      return;
    const std::size_t count = settled_ > 0 ? settled_ : records_.size();
    sink_.take({records_.data(), count});
    records_.erase(records_.begin(), records_.begin() + static_cast<std::ptrdiff_t>(count));
    settled_ = 0;
  }

  RecordSink& sink_;
  std::vector<Record> records_;
  std::size_t settled_ = 0;  ///< records before this one know their layer
  std::uint32_t layer_ = 0;
};

}  // namespace platetally::interpreter
