/// @file
/// A quantity with the band it is expected to lie in.
#pragma once

namespace platetally {

/// low <= expected <= high, all in the unit that the owning name states.
struct Range {
  double low = 0.0;       ///< the least that is expected
  double expected = 0.0;  ///< the middle, by the meaning of the quantity
  double high = 0.0;      ///< the most that is expected

  /// A band without width.
  static constexpr Range exactly(double value) { return {value, value, value}; }
  /// Bands add up end by end: as if all causes erred together.
  constexpr Range& operator+=(const Range& other) {
    low += other.low;
    expected += other.expected;
    high += other.high;
    return *this;
  }
  /// Scales all three.
  friend constexpr Range operator*(double factor, const Range& range) {
    return {factor * range.low, factor * range.expected, factor * range.high};
  }
  /// Member by member.
  bool operator==(const Range&) const = default;
};

}  // namespace platetally
