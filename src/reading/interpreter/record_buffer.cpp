#include "reading/interpreter/record_buffer.hpp"

#include <algorithm>

namespace platetally::interpreter {

void RecordBuffer::go_to_layer(std::uint32_t layer) {
  if (layer_ != 0)
    for (std::size_t i = held_from_; i < size_; ++i)
      records_[i].layer = layer;
  layer_ = layer;
}

void RecordBuffer::make_room() {
  // At least one batch goes; of what is held back, at most a batch stays.
  hand_over(std::max(held_from_, size_ - kBatchSize));
}

void RecordBuffer::hand_over(std::size_t count) {
  for (std::size_t done = 0; done < count;) {
    const std::size_t batch = std::min(kBatchSize, count - done);
    sink_.take(std::span<const Record>(records_.data() + done, batch));
    done += batch;
  }
  std::copy(records_.begin() + static_cast<std::ptrdiff_t>(count),
            records_.begin() + static_cast<std::ptrdiff_t>(size_), records_.begin());
  size_ -= count;
  held_from_ -= std::min(held_from_, count);
}

StrokeColumns* RecordBuffer::begin_strokes(const StrokesHead& head) {
  flush();
  strokes_.head = head;
  return &strokes_;
}

void RecordBuffer::hand_over_strokes() {
  sink_.take(strokes_.strokes());
  strokes_.size = 0;
}

void RecordBuffer::flush() {
  hand_over(size_);
  if (strokes_.size > 0)
    hand_over_strokes();
}

}  // namespace platetally::interpreter
