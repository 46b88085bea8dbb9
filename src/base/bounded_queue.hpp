// A bounded queue of batches between one producing and one consuming thread.
#pragma once

#include <condition_variable>
#include <cstddef>
#include <deque>
#include <mutex>
#include <utility>
#include <vector>

namespace platetally::base {

/// Holds at most `capacity` batches; push waits for room, pop waits for a batch. Emptied batches
/// come back to the producer, so that a steady flow allocates nothing. `Batch`: a std::vector, or
/// what moves and clears like one.
template <typename Batch>
class BoundedQueue {
 public:
  explicit BoundedQueue(std::size_t capacity) : capacity_(capacity) {}

  /// Hands over `batch` and gives an empty one in its place. False once the consumer has given up.
  bool push(Batch& batch) {
    std::unique_lock lock(mutex_);
    room_.wait(lock, [this] { return full_.size() < capacity_ || abandoned_; });
    if (abandoned_)
      return false;
    full_.push_back(std::move(batch));
    if (empty_.empty()) {
      batch = {};
    } else {
      batch = std::move(empty_.back());
      empty_.pop_back();
    }
    filled_.notify_one();
    return true;
  }

  /// Takes the oldest batch into `batch` (whose old storage is reused). False when the producer has
  /// closed and nothing is left.
  bool pop(Batch& batch) {
    std::unique_lock lock(mutex_);
    batch.clear();
    if (keeps_one_)
      empty_.push_back(std::move(batch));
    filled_.wait(lock, [this] { return !full_.empty() || closed_; });
    if (full_.empty())
      return false;
    batch = std::move(full_.front());
    full_.pop_front();
    keeps_one_ = true;
    room_.notify_one();
    return true;
  }

  /// The producer has nothing more.
  void close() {
    const std::scoped_lock lock(mutex_);
    closed_ = true;
    filled_.notify_all();
  }

  /// The consumer wants nothing more: push returns false from now on.
  void abandon() {
    const std::scoped_lock lock(mutex_);
    abandoned_ = true;
    room_.notify_all();
  }

 private:
  const std::size_t capacity_;
  std::mutex mutex_;
  std::condition_variable room_;
  std::condition_variable filled_;
  std::deque<Batch> full_;
  std::vector<Batch> empty_;
  bool keeps_one_ = false;  // the consumer
  bool closed_ = false;
  bool abandoned_ = false;
};

}  // namespace platetally::base
