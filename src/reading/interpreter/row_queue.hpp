// Rows and events that wait, in program order: append behind, take from the front. On their way out
// of the interpreter, from thread to thread, and in motion until they have their times.
#pragma once

#include <algorithm>
#include <cstddef>
#include <cstdint>

#include "base/column_queue.hpp"
#include "base/list_queue.hpp"
#include "reading/interpreter/rows.hpp"

namespace platetally::interpreter {

/// Where the columns of rows to come are written.
struct RowRoom {
  double* to_x_mm;
  double* to_y_mm;
  double* to_z_mm;
  double* e_mm;
  double* feed_mm_s;
};

class RowQueue {
 public:
  /// Rows are counted from the first one that was ever appended.
  using Number = std::uint64_t;

  struct Entry {
    Run run;
    Number first = 0;
    std::size_t size = 0;
    std::uint64_t events_before = 0;  ///< the running number of the event behind it
    Number end() const { return first + size; }
  };

  /// So many rows can be appended without any that wait being moved.
  void make_room(std::size_t rows) { columns_.make_room(rows + kReadableBehind); }
  RowRoom room() {
    return {columns_.behind(kX), columns_.behind(kY), columns_.behind(kZ), columns_.behind(kE),
            columns_.behind(kFeed)};
  }
  void begin_run(const Run& run) { runs_.push({run, columns_.end(), 0, events_.end()}); }
  /// Rows of the last run, which have been written.
  void add_rows(std::size_t rows) {
    columns_.append(rows);
    runs_.back().size += rows;
  }
  void append(const Rows& rows);
  void append(const Record& event) { events_.push(event); }

  base::ListQueue<Entry>& runs() { return runs_; }
  const base::ListQueue<Entry>& runs() const { return runs_; }
  base::ListQueue<Record>& events() { return events_; }
  const base::ListQueue<Record>& events() const { return events_; }
  /// Numbers of rows: of the first that is held, and of the next to come.
  Number first() const { return columns_.first(); }
  Number end() const { return columns_.end(); }
  std::size_t rows() const { return columns_.size(); }
  bool empty() const { return runs_.empty() && events_.empty(); }
  std::size_t bytes() const {
    return columns_.size() * kColumns * sizeof(double) + runs_.size() * sizeof(Entry) +
           events_.size() * sizeof(Record);
  }

  /// Columns from row `from` on.
  const double* e_mm(Number from) const { return column(kE, from); }
  const double* feed_mm_s(Number from) const { return column(kFeed, from); }
  double* seconds(Number from) { return columns_.column(kSeconds) + (from - columns_.first()); }

  Rows rows_of(const Entry& entry) const {
    return {entry.run,
            entry.size,
            column(kX, entry.first),
            column(kY, entry.first),
            column(kZ, entry.first),
            column(kE, entry.first),
            column(kFeed, entry.first),
            column(kSeconds, entry.first)};
  }

  /// Gives everything to `sink`, in the order in which it came, and keeps it.
  void give_all(RowSink& sink) const;
  /// Gives runs and events before these running numbers, and drops them.
  void hand_over(std::uint64_t run_end, std::uint64_t event_end, RowSink& sink);
  void drop_rows_before(Number end) {
    columns_.drop(static_cast<std::size_t>(end - columns_.first()));
  }
  void clear() {
    runs_.clear();
    events_.clear();
    columns_.drop(columns_.size());
  }

 private:
  const double* column(std::size_t which, Number from) const {
    return columns_.column(which) + (from - columns_.first());
  }

  static constexpr std::size_t kX = 0, kY = 1, kZ = 2, kE = 3, kFeed = 4, kSeconds = 5;
  static constexpr std::size_t kColumns = 6;

  base::ColumnQueue<kColumns> columns_;
  base::ListQueue<Entry> runs_;
  base::ListQueue<Record> events_;
};

}  // namespace platetally::interpreter
