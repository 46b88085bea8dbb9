// What strokes in a row come to, several at once.
#pragma once

#include <cstddef>

#include "motion/timed_strokes.hpp"

namespace platetally::ledgers {

struct StrokeBox {
  double x_min_mm, x_max_mm, y_min_mm, y_max_mm;
};

/// The box around the ends of strokes `first` to `last` - 1; at least one.
StrokeBox box_of(const interpreter::Strokes& strokes, std::size_t first, std::size_t last);

/// The sum of a column's entries from `first` to `last` - 1, by four sums of every fourth.
double sum_of(const double* column, std::size_t first, std::size_t last);

}  // namespace platetally::ledgers
