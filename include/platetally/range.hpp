// A quantity with the band it is expected to lie in.
#pragma once

namespace platetally {

/// low <= expected <= high, all in the unit that the owning name states.
struct Range {
  double low = 0.0;
  double expected = 0.0;
  double high = 0.0;

  static constexpr Range exactly(double value) { return {value, value, value}; }
  constexpr Range& operator+=(const Range& other) {
    low += other.low;
    expected += other.expected;
    high += other.high;
    return *this;
  }
  friend constexpr Range operator*(double factor, const Range& range) {
    return {factor * range.low, factor * range.expected, factor * range.high};
  }
  bool operator==(const Range&) const = default;
};

}  // namespace platetally
