// Runs of strokes in program order that wait for their times: append behind, take from the front.
// Room is made as in RecordBuffer.
#pragma once

#include <algorithm>
#include <cstdint>
#include <vector>

#include "motion/timed_strokes.hpp"

namespace platetally::motion {

class StrokeBuffer {
 public:
  struct Run {
    interpreter::StrokesHead head;
    std::uint64_t first = 0;  ///< running number of its first stroke
    std::size_t size = 0;
    std::uint64_t behind_records = 0;  ///< it follows the records before this running number
  };

  /// Appends a copy; strokes have running numbers from the returned one on.
  std::uint64_t append(const interpreter::Strokes& strokes, std::uint64_t behind_records) {
    make_room(strokes.size);
    if (strokes.size < kWorthACall) {
      for (std::size_t i = 0; i < strokes.size; ++i) {
        to_x_mm_[tail_ + i] = strokes.to_x_mm[i];
        to_y_mm_[tail_ + i] = strokes.to_y_mm[i];
        e_mm_[tail_ + i] = strokes.e_mm[i];
        feed_mm_s_[tail_ + i] = strokes.feed_mm_s[i];
      }
    } else {
      std::copy_n(strokes.to_x_mm, strokes.size, to_x_mm_.data() + tail_);
      std::copy_n(strokes.to_y_mm, strokes.size, to_y_mm_.data() + tail_);
      std::copy_n(strokes.e_mm, strokes.size, e_mm_.data() + tail_);
      std::copy_n(strokes.feed_mm_s, strokes.size, feed_mm_s_.data() + tail_);
    }
    const std::uint64_t first = origin_ + tail_;
    runs_.push_back({strokes.head, first, strokes.size, behind_records});
    tail_ += strokes.size;
    return first;
  }

  void set_times(std::uint64_t first, const double* motion_s, std::size_t count) {
    double* const to = motion_s_.data() + (first - origin_);
    if (count >= kWorthACall)
      std::copy_n(motion_s, count, to);
    else
      for (std::size_t i = 0; i < count; ++i)
        to[i] = motion_s[i];
  }

  /// Strokes in all runs.
  std::size_t size() const { return tail_ - head_; }
  /// Running numbers of strokes.
  std::uint64_t first() const { return origin_ + head_; }
  std::uint64_t end() const { return origin_ + tail_; }
  const Run& front() const { return runs_[first_run_]; }
  /// The run with that stroke, which must be there.
  const Run& run_of(std::uint64_t stroke) const {
    auto run = runs_.begin() + static_cast<std::ptrdiff_t>(first_run_);
    while (stroke >= run->first + run->size)
      ++run;
    return *run;
  }
  /// The first stroke that follows that record.
  std::uint64_t first_behind(std::uint64_t record) const {
    auto run = runs_.begin() + static_cast<std::ptrdiff_t>(first_run_);
    while (run != runs_.end() && run->behind_records <= record)
      ++run;
    return run == runs_.end() ? end() : run->first;
  }
  /// The first run; valid until the next append.
  TimedStrokes front_strokes() const {
    const Run& run = front();
    return {{run.head, run.size, to_x_mm_.data() + head_, to_y_mm_.data() + head_,
             e_mm_.data() + head_, feed_mm_s_.data() + head_},
            motion_s_.data() + head_};
  }
  void drop_front() {
    head_ += front().size;
    ++first_run_;
    if (first_run_ == runs_.size()) {
      runs_.clear();
      first_run_ = 0;
      origin_ += head_;
      head_ = tail_ = 0;
    }
  }

 private:
  void make_room(std::size_t more) {
    if (tail_ + more <= to_x_mm_.size())
      return;
    runs_.erase(runs_.begin(), runs_.begin() + static_cast<std::ptrdiff_t>(first_run_));
    first_run_ = 0;
    const std::size_t slots = to_x_mm_.size();
    const bool grows = size() + more > slots / 2;
    for (auto* column : {&to_x_mm_, &to_y_mm_, &e_mm_, &feed_mm_s_, &motion_s_}) {
      std::copy(column->begin() + static_cast<std::ptrdiff_t>(head_),
                column->begin() + static_cast<std::ptrdiff_t>(tail_), column->begin());
      if (grows)
        column->resize(std::max(kInitialSlots, 2 * slots));
    }
    origin_ += head_;
    tail_ -= head_;
    head_ = 0;
  }

  static constexpr std::size_t kInitialSlots = 4096;
  static constexpr std::size_t kWorthACall = 24;  // of the library, for copying

  std::vector<Run> runs_;
  std::size_t first_run_ = 0;
  std::vector<double> to_x_mm_, to_y_mm_, e_mm_, feed_mm_s_, motion_s_;
  std::size_t head_ = 0;
  std::size_t tail_ = 0;
  std::uint64_t origin_ = 0;  // running number of the first slot
};

}  // namespace platetally::motion
