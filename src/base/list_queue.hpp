// Elements in a row: append behind, drop from the front. Their running numbers stay theirs.
#pragma once

#include <cstddef>
#include <cstdint>
#include <vector>

namespace platetally::base {

template <typename Element>
class ListQueue {
 public:
  void push(const Element& element) { elements_.push_back(element); }
  bool empty() const { return first_ == elements_.size(); }
  std::size_t size() const { return elements_.size() - first_; }
  /// Running numbers: of the first element that is left, and of the next one to come.
  std::uint64_t first() const { return origin_ + first_; }
  std::uint64_t end() const { return origin_ + elements_.size(); }

  const Element& operator[](std::uint64_t number) const {
    return elements_[static_cast<std::size_t>(number - origin_)];
  }
  Element& operator[](std::uint64_t number) {
    return elements_[static_cast<std::size_t>(number - origin_)];
  }
  const Element& front() const { return elements_[first_]; }
  const Element& back() const { return elements_.back(); }
  Element& back() { return elements_.back(); }

  void drop_front() {
    if (++first_ == elements_.size()) {
      clear();
    } else if (first_ >= kWorthMoving && 2 * first_ > elements_.size()) {
      elements_.erase(elements_.begin(), elements_.begin() + static_cast<std::ptrdiff_t>(first_));
      origin_ += first_;
      first_ = 0;
    }
  }
  void clear() {
    origin_ += elements_.size();
    elements_.clear();
    first_ = 0;
  }

 private:
  static constexpr std::size_t kWorthMoving = 1024;  // dropped elements, to move the rest up

  std::vector<Element> elements_;
  std::size_t first_ = 0;
  std::uint64_t origin_ = 0;  // running number of elements_[0]
};

}  // namespace platetally::base
