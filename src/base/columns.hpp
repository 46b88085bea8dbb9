// Columns of numbers, several at once.
#pragma once

#include <cstddef>

namespace platetally::base {

struct Extent {
  double least, most;
};

/// Of at least one number, none of them NaN.
Extent extent_of(const double* column, std::size_t count);

}  // namespace platetally::base
