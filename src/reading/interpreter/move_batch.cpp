#include "reading/interpreter/move_batch.hpp"

#include <algorithm>

namespace platetally::interpreter {

void MoveBatch::add(std::span<const Record> records) {
  records_.insert(records_.end(), records.begin(), records.end());
}

void MoveBatch::add(const Strokes& strokes) {
  runs_.push_back({strokes.head, strokes.size, records_.size()});
  for (const double* column : {strokes.to_x_mm, strokes.to_y_mm, strokes.e_mm, strokes.feed_mm_s})
    columns_.insert(columns_.end(), column, column + strokes.size);
  columns_.insert(columns_.end(), kReadableBehind, 0.0);
}

void MoveBatch::clear() {
  records_.clear();
  runs_.clear();
  columns_.clear();
}

void MoveBatch::unpack(RecordSink& sink) const {
  std::size_t given = 0;
  const auto give_up_to = [&](std::size_t end) {
    while (given < end) {
      const std::size_t count = std::min(kBatchSize, end - given);
      sink.take(std::span<const Record>(records_).subspan(given, count));
      given += count;
    }
  };
  const double* column = columns_.data();
  for (const Run& run : runs_) {
    give_up_to(run.behind_records);
    sink.take({run.head, run.size, column, column + run.size, column + 2 * run.size,
               column + 3 * run.size});
    column += 4 * run.size + kReadableBehind;
  }
  give_up_to(records_.size());
}

}  // namespace platetally::interpreter
