// From the numbers of plain strokes to where they go, several at once.
#pragma once

#include <cstddef>

#include "reading/interpreter/strokes.hpp"

namespace platetally::interpreter {

/// What the words of strokes count from and by, and where the first one begins.
struct StrokeFrame {
  double offset_x_mm, offset_y_mm, unit_mm;
  double e_unit, e_scale;
  bool e_relative;
  double from_x_mm, from_y_mm, from_e;  ///< E as the register has it
  double z_mm;
  double reach_mm;  ///< that X, Y, Z and E together stay below
};

/// Writes `count` strokes, which the words X, Y and E of each say, behind those of `run`; there is
/// room. False where one of them is too short, feeds nothing or reaches too far: then `run` is as
/// it was.
bool append_strokes(const StrokeFrame& frame, const double* x, const double* y, const double* e,
                    std::size_t count, double feed_mm_s, StrokeColumns& run);

}  // namespace platetally::interpreter
