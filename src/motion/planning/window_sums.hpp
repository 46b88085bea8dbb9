// Sums of numbers over a sliding window, as bounds.
//
// Nothing is taken away from a sum again, so nothing cancels, and each is as good as adding up its
// window. Two ways, which differ in the order of adding:
//   narrow windows  sums of 1, 4, 16, .. numbers, each from four of those before; a window is put
//                   together from as many of each as its width has for a digit to the base of 4. No
//                   sum waits for the one beside it.
//   wide windows    sums to the end of one block as wide as the window, and from the beginning of
//                   the next: two additions each (after M. van Herk, Pattern Recognition Letters 13
//                   (1992) 517-521, from memory).
// What the least number alone shows to be within bounds is passed over.
// Range: numbers not negative, finite sums; bounds not NaN.
#pragma once

#include <cstddef>
#include <span>

#include "base/column_queue.hpp"

namespace platetally::motion {

class WindowSums {
 public:
  explicit WindowSums(std::size_t width) : width_(width) {}

  /// Lowers bounds[i] to numbers[i] + .. + numbers[i + width - 1], where that is less. There are as
  /// many numbers as bounds and a width less one besides.
  void bound(std::span<double> bounds, const double* numbers);

 private:
  void bound_narrow(double* bounds, std::size_t count, const double* numbers);
  bool are_within(const double* bounds, std::size_t count, const double* numbers) const;
  void bound_block(double* bounds, std::size_t count, const double* numbers);

  std::size_t width_;
  std::size_t parts_without_look_ = 0;  // that are still to come
  base::ColumnQueue<2> sums_;           // room alone
};

}  // namespace platetally::motion
