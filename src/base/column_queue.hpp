// Columns of numbers side by side, all as long as one another: append behind, drop from the front.
//
// A number is written once, where it stays. What has been dropped is only closed up when the room
// behind is used up, and then the little that is left is moved, or more room taken.
#pragma once

#include <algorithm>
#include <array>
#include <cstddef>
#include <cstdint>
#include <memory>

namespace platetally::base {

template <std::size_t kColumns>
class ColumnQueue {
 public:
  /// Room for so many rows behind the last: rows appended up to there move nothing.
  void make_room(std::size_t rows) {
    if (tail_ + rows > slots_) [[unlikely]]
      move_up(rows);
  }

  /// Rows of any values, for which there is room.
  void append(std::size_t rows) { tail_ += rows; }
  void drop(std::size_t rows) {
    head_ += rows;
    if (head_ == tail_) {
      origin_ += head_;
      head_ = tail_ = 0;
    }
  }

  std::size_t size() const { return tail_ - head_; }
  /// Running numbers of rows: of the first one that is left, and of the next one to come.
  std::uint64_t first() const { return origin_ + head_; }
  std::uint64_t end() const { return origin_ + tail_; }

  /// From the first row that is left. Valid until room is made.
  double* column(std::size_t which) { return columns_[which].get() + head_; }
  const double* column(std::size_t which) const { return columns_[which].get() + head_; }
  /// From the next row to come.
  double* behind(std::size_t which) { return columns_[which].get() + tail_; }

 private:
  static constexpr std::size_t kInitialSlots = 1024;

  void move_up(std::size_t rows) {
    const std::size_t left = size();
    const bool grows = 3 * (left + rows) > slots_;  // else a row would be moved often
    const std::size_t slots = grows ? std::max(kInitialSlots, 4 * (left + rows)) : slots_;
    for (std::unique_ptr<double[]>& column : columns_) {
      const double* const from = column.get() + head_;
      if (grows) {
        auto larger = std::make_unique_for_overwrite<double[]>(slots);
        std::copy_n(from, left, larger.get());
        column = std::move(larger);
      } else {
        std::copy_n(from, left, column.get());
      }
    }
    slots_ = slots;
    origin_ += head_;
    tail_ = left;
    head_ = 0;
  }

  std::array<std::unique_ptr<double[]>, kColumns> columns_;
  std::size_t slots_ = 0;
  std::size_t head_ = 0;
  std::size_t tail_ = 0;
  std::uint64_t origin_ = 0;  // running number of the first slot
};

}  // namespace platetally::base
