// From the numbers of plain strokes to their rows, several at once.
#pragma once

#include <array>
#include <cstddef>

#include "reading/interpreter/row_queue.hpp"

namespace platetally::interpreter {

/// What the words of strokes count from and by, and where the first one begins.
struct StrokeFrame {
  std::array<double, 3> offset_mm;
  double unit_mm;
  double e_unit, e_scale;
  bool e_relative;
  std::array<double, 3> from_mm;  ///< all stay at this height
  double from_e;                  ///< as the register has it
  double feed_mm_s;               ///< where they say none, factor applied
  double feed_factor;             ///< of what they say
  double reach_mm;                ///< that X, Y, Z and E together stay below
};

/// Columns of words, one of each a stroke; nothing where the strokes do not say it.
struct StrokeWords {
  const double* x;
  const double* y;
  const double* z;
  const double* e;
  const double* f;
};

/// Writes the rows of `count` strokes to `room`. False where one of them leaves the level, is too
/// short, feeds nothing, reaches too far or states a feed that is none: then nothing is to be taken
/// of what is written.
bool write_strokes(const StrokeFrame& frame, const StrokeWords& words, std::size_t count,
                   const RowRoom& room);

}  // namespace platetally::interpreter
