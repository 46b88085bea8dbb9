// Records in program order that wait for their times: append behind, take from the front.
//
// A record is written once. What has been taken from the front is only closed up when the room
// behind is used up, and then the little that is left is moved, or the room doubled.
#pragma once

#include <algorithm>
#include <cstdint>
#include <span>
#include <vector>

#include "motion/planning/timed_record.hpp"

namespace platetally::motion {

class RecordBuffer {
 public:
  RecordBuffer() : slots_(kInitialSlots) {}

  /// Appends a copy, with no time; its running number stays valid whatever moves.
  std::uint64_t append(const interpreter::Record& record) {
    if (tail_ == slots_.size())
      make_room();
    TimedRecord& slot = slots_[tail_];
    slot.record = record;
    slot.motion_s = 0.0;
    slot.length_mm = 0.0;
    return origin_ + tail_++;
  }

  TimedRecord& operator[](std::uint64_t number) {
    return slots_[static_cast<std::size_t>(number - origin_)];
  }
  const TimedRecord& operator[](std::uint64_t number) const {
    return slots_[static_cast<std::size_t>(number - origin_)];
  }

  std::size_t size() const { return tail_ - head_; }
  std::uint64_t first() const { return origin_ + head_; }
  std::uint64_t end() const { return origin_ + tail_; }

  /// The first `count`; valid until the next append.
  std::span<const TimedRecord> front(std::size_t count) const {
    return {slots_.data() + head_, count};
  }
  void drop(std::size_t count) {
    head_ += count;
    if (head_ == tail_) {
      origin_ += head_;
      head_ = tail_ = 0;
    }
  }

 private:
  static constexpr std::size_t kInitialSlots = 256;

  void make_room() {
    if (size() > slots_.size() / 2) {
      slots_.resize(2 * slots_.size());
      return;
    }
    std::copy(slots_.begin() + static_cast<std::ptrdiff_t>(head_), slots_.end(), slots_.begin());
    origin_ += head_;
    tail_ -= head_;
    head_ = 0;
  }

  std::vector<TimedRecord> slots_;
  std::size_t head_ = 0;
  std::size_t tail_ = 0;
  std::uint64_t origin_ = 0;  // running number of slots_[0]
};

}  // namespace platetally::motion
