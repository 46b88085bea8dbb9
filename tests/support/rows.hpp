// Rows made of records and laid open again, for tests that say a plate record by record.
#pragma once

#include <array>
#include <span>
#include <vector>

#include "reading/interpreter/row_queue.hpp"

namespace platetally::test {

/// A move as a run of its own, whose columns are the record's members.
inline interpreter::Rows row_of(const interpreter::Record& record) {
  const interpreter::Move& move = record.move;
  interpreter::Run run;
  run.first_line = record.line;
  run.layer = record.layer;
  run.tool = record.tool;
  run.flags = record.flags;
  run.kind = move.is_arc()
                 ? interpreter::RunKind::arc
                 : interpreter::kind_of(move.from_mm, move.to_mm, move.e_mm, record.flags);
  run.is_level = move.from_mm[2] == move.to_mm[2];
  run.plane = move.plane;
  run.from_mm = move.from_mm;
  run.centre_mm = move.centre_mm;
  run.sweep_rad = move.sweep_rad;
  return {run,
          1,
          &move.to_mm[0],
          &move.to_mm[1],
          &move.to_mm[2],
          &move.e_mm,
          &move.feed_mm_s,
          &record.motion_s};
}

inline void give(const interpreter::Record& record, interpreter::RowSink& sink) {
  if (record.kind == interpreter::RecordKind::move)
    sink.take(row_of(record));
  else
    sink.take(record);
}

inline void give(std::span<const interpreter::Record> records, interpreter::RowSink& sink) {
  for (const interpreter::Record& record : records)
    give(record, sink);
}

/// Moves that go on with one another in runs of `most` at most.
inline void give_in_runs(std::span<const interpreter::Record> records, std::size_t most,
                         interpreter::RowSink& sink) {
  interpreter::RowQueue queue;
  for (const interpreter::Record& record : records) {
    if (record.kind != interpreter::RecordKind::move) {
      queue.append(record);
      continue;
    }
    const interpreter::Rows row = row_of(record);
    const bool goes_on =
        !queue.runs().empty() && row.run.kind < interpreter::RunKind::arc &&
        queue.runs().back().run.kind == row.run.kind && queue.runs().back().size < most &&
        queue.runs().back().events_before == queue.events().end() &&
        queue.runs().back().run.flags == row.run.flags &&
        queue.runs().back().run.first_line + queue.runs().back().size == row.run.first_line &&
        queue.rows_of(queue.runs().back()).record(queue.runs().back().size - 1).move.to_mm ==
            row.run.from_mm;
    queue.make_room(1);
    if (!goes_on)
      queue.begin_run(row.run);
    const interpreter::RowRoom room = queue.room();
    *room.to_x_mm = *row.to_x_mm;
    *room.to_y_mm = *row.to_y_mm;
    *room.to_z_mm = *row.to_z_mm;
    *room.e_mm = *row.e_mm;
    *room.feed_mm_s = *row.feed_mm_s;
    queue.add_rows(1);
    queue.runs().back().run.is_level = queue.runs().back().run.is_level && row.run.is_level;
  }
  queue.give_all(sink);
}

/// Everything that comes, laid open.
struct Kept : interpreter::RowSink {
  void take(const interpreter::Rows& rows) override {
    ++runs;
    for (std::size_t i = 0; i < rows.size; ++i)
      records.push_back(rows.record(i));
  }
  void take(const interpreter::Record& event) override { records.push_back(event); }
  double total_s() const {
    double total = 0.0;
    for (const interpreter::Record& record : records)
      total += record.motion_s;
    return total;
  }
  std::vector<interpreter::Record> records;
  std::size_t runs = 0;
};

/// A run of strokes with columns of its own, which goes on from where it ends.
class StrokeColumns {
 public:
  explicit StrokeColumns(const std::array<double, 3>& from_mm, std::uint64_t first_line = 1,
                         std::uint32_t layer = 1, std::int16_t tool = 0) {
    run_.kind = interpreter::RunKind::stroke;
    run_.from_mm = from_mm;
    run_.first_line = first_line;
    run_.layer = layer;
    run_.tool = tool;
  }
  void push(const std::array<double, 3>& to_mm, double e_mm, double feed_mm_s,
            double motion_s = 0.0) {
    run_.is_level = run_.is_level && to_mm[2] == run_.from_mm[2];
    const std::array<double, kColumns> row{to_mm[0], to_mm[1], to_mm[2], e_mm, feed_mm_s, motion_s};
    for (std::size_t column = 0; column < kColumns; ++column) {
      columns_[column].resize(size_);
      columns_[column].push_back(row[column]);
      columns_[column].resize(size_ + 1 + interpreter::kReadableBehind, 0.0);
    }
    ++size_;
  }
  std::size_t size() const { return size_; }
  interpreter::Rows rows() const {
    return {run_,
            size_,
            columns_[0].data(),
            columns_[1].data(),
            columns_[2].data(),
            columns_[3].data(),
            columns_[4].data(),
            columns_[5].data()};
  }

 private:
  static constexpr std::size_t kColumns = 6;

  interpreter::Run run_;
  std::size_t size_ = 0;
  std::array<std::vector<double>, kColumns> columns_;
};

}  // namespace platetally::test
