// Columns of numbers, several at once.
#pragma once

#include <cstddef>

namespace platetally::base {

struct Extent {
  double least, most;
};

/// Of at least one number, none of them NaN.
Extent extent_of(const double* column, std::size_t count);

/// Added up as four sums of every fourth number, whatever the machine has, so that the bits are the
/// same everywhere.
double sum_of(const double* column, std::size_t count);

}  // namespace platetally::base
