// All moves that wait for their times, in program order: each has a row of the same columns,
// whether it came in a run of strokes or as a record of its own.
#pragma once

#include <cstdint>
#include <limits>
#include <vector>

#include "motion/planning/column_queue.hpp"
#include "motion/planning/move_block.hpp"
#include "motion/planning/timed_strokes.hpp"

namespace platetally::motion {

/// Append behind, take from the front.
template <typename Element>
class ListQueue {
 public:
  void push(const Element& element) { elements_.push_back(element); }
  bool empty() const { return first_ == elements_.size(); }
  const Element& front() const { return elements_[first_]; }
  Element& front() { return elements_[first_]; }
  Element& back() { return elements_.back(); }
  void drop_front() {
    if (++first_ == elements_.size()) {
      elements_.clear();
      first_ = 0;
    } else if (first_ >= kWorthMoving && 2 * first_ > elements_.size()) {
      elements_.erase(elements_.begin(), begin());
      first_ = 0;
    }
  }
  typename std::vector<Element>::const_iterator begin() const {
    return elements_.begin() + static_cast<std::ptrdiff_t>(first_);
  }

 private:
  static constexpr std::size_t kWorthMoving = 1024;  // dropped elements, to move the rest up

  std::vector<Element> elements_;
  std::size_t first_ = 0;
};

class WaitingMoves {
 public:
  /// Moves are counted from the first one of the plate.
  using Number = std::uint64_t;

  struct Run {
    interpreter::StrokesHead head;
    Number first;
    std::size_t size;
    std::uint64_t behind_records;  ///< it follows the records before this running number
    Number end() const { return first + size; }
  };
  /// A record with moves of its own: one, or the chords of an arc.
  struct Single {
    Number next;           ///< the first of them whose time the record does not have yet
    Number end;            ///< behind the last; kOpen while more may come
    std::uint64_t record;  ///< its running number
  };
  static constexpr Number kOpen = std::numeric_limits<Number>::max();

  /// Before a block is begun: all of its rows then stay where they are written.
  void make_room(std::size_t moves) { rows_.make_room(moves); }

  /// A run, whose columns the caller writes.
  StrokeRoom append(const interpreter::Strokes& strokes, std::uint64_t behind_records) {
    runs_.push({strokes.head, rows_.end(), strokes.size, behind_records});
    const StrokeRoom room{rows_.behind(kX), rows_.behind(kY), rows_.behind(kE),
                          rows_.behind(kFeed)};
    rows_.append(strokes.size);
    strokes_ += strokes.size;
    return room;
  }
  /// A record, whose moves follow.
  void open_single(std::uint64_t record) { singles_.push({rows_.end(), kOpen, record}); }
  void close_single() { singles_.back().end = rows_.end(); }
  void append(double e_mm, double feed_mm_s) {
    rows_.behind(kE)[0] = e_mm;
    rows_.behind(kFeed)[0] = feed_mm_s;
    rows_.append(1);
  }

  Number end() const { return rows_.end(); }
  /// Strokes in all runs.
  std::size_t strokes() const { return strokes_; }
  /// Rows from that move on.
  const double* e_mm(Number from) const { return row(kE, from); }
  const double* feed_mm_s(Number from) const { return row(kFeed, from); }
  double* length_mm(Number from) { return rows_.column(kLength) + (from - rows_.first()); }
  double* seconds(Number from) { return rows_.column(kSeconds) + (from - rows_.first()); }

  /// Those that the caller has not dropped yet.
  ListQueue<Run>& runs() { return runs_; }
  const ListQueue<Run>& runs() const { return runs_; }
  ListQueue<Single>& singles() { return singles_; }
  const ListQueue<Single>& singles() const { return singles_; }

  TimedStrokes front_strokes() const {
    const Run& run = runs_.front();
    return {{run.head, run.size, row(kX, run.first), row(kY, run.first), row(kE, run.first),
             row(kFeed, run.first)},
            row(kSeconds, run.first)};
  }
  void drop_front_strokes() {
    strokes_ -= runs_.front().size;
    runs_.drop_front();
  }
  /// Rows before that move are not looked at any more.
  void drop_until(Number end) { rows_.drop(static_cast<std::size_t>(end - rows_.first())); }
  /// Rows that are still held.
  Number first() const { return rows_.first(); }

 private:
  const double* row(std::size_t column, Number from) const {
    return rows_.column(column) + (from - rows_.first());
  }

  static constexpr std::size_t kX = 0, kY = 1, kE = 2, kFeed = 3, kLength = 4, kSeconds = 5;

  ColumnQueue<6> rows_;
  ListQueue<Run> runs_;
  ListQueue<Single> singles_;
  std::size_t strokes_ = 0;
};

}  // namespace platetally::motion
