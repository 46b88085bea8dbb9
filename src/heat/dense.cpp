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

}  // namespace platetally::heat
