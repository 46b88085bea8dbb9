// Built as motion/move_block.cpp is: the linear algebra library, built for every machine, uses the
// narrow registers that all of them have.
#include "heat/dense.hpp"

#include <algorithm>

#include "base/simd.hpp"

namespace platetally::heat {

PLATETALLY_WIDE void multiply(const double* __restrict matrix, const double* __restrict vector,
                              std::size_t n, double* __restrict product) {
  std::fill_n(product, n, 0.0);
  for (std::size_t column = 0; column < n; ++column) {
    const double by = vector[column];
    if (by == 0.0)
      continue;
    const double* const entries = matrix + column * n;
    for (std::size_t row = 0; row < n; ++row)
      product[row] += entries[row] * by;
  }
}

PLATETALLY_WIDE void invert(double* __restrict matrix, std::size_t n) {
  for (std::size_t k = 0; k < n; ++k) {
    double* const pivots = matrix + k * n;  // column k
    const double pivot = 1.0 / pivots[k];
    // Columns in turn: what row k holds of each is taken out of it with column k.
    for (std::size_t column = 0; column < n; ++column) {
      if (column == k)
        continue;
      double* const entries = matrix + column * n;
      const double by = entries[k] * pivot;
      if (by == 0.0)
        continue;
      for (std::size_t row = 0; row < n; ++row)
        entries[row] -= by * pivots[row];
      entries[k] = by;
    }
    for (std::size_t row = 0; row < n; ++row)
      pivots[row] *= -pivot;
    pivots[k] = pivot;
  }
}

}  // namespace platetally::heat
