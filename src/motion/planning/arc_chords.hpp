// An arc as the chords that a controller makes of it.
//
// A controller of straight moves cuts an arc of length l (the helix's, along the way) into
//   n = max(1, floor(l / chord))
// equal turns about the centre; each is a straight move with its own corners, and the last ends
// where the arc does, however far the file's rounding has put that from the circle. Height and
// filament go evenly. Points lie on the circle through the start: R (cos, sin)(begin + k sweep/n).
// Range: arcs as path.hpp has them, R > 0. Source: common practice of open motion controllers (from
// memory); the circle is elementary geometry.
#pragma once

#include <array>
#include <cstddef>

#include "reading/interpreter/record.hpp"

namespace platetally::motion {

class ArcChords {
 public:
  /// More are not made of one arc: it is planned as an arc.
  static constexpr std::size_t kMost = 10'000;

  ArcChords(const interpreter::Move& move, double length_mm, double chord_mm);

  bool are_too_many() const { return count_ > kMost; }
  std::size_t count() const { return count_; }
  /// Where chord k of 1 .. count() ends.
  std::array<double, 3> end_mm(std::size_t k) const;

 private:
  const interpreter::Move& move_;
  std::size_t count_;
  std::size_t first_, second_, across_;  // axes of the plane, and the one across it
  double radius_mm_;
  double begin_rad_;
};

}  // namespace platetally::motion
