// Built as motion/planning/move_block.cpp is. The operations are those of
// ModalMachine::push_stroke(), in the same order.
#include "reading/interpreter/stroke_batch.hpp"

#include <cmath>
#include <cstdint>

#include "base/simd.hpp"

namespace platetally::interpreter {

PLATETALLY_WIDE bool append_strokes(const StrokeFrame& frame, const double* __restrict x,
                                    const double* __restrict y, const double* __restrict e,
                                    std::size_t count, double feed_mm_s, StrokeColumns& run) {
  double* const to_x_mm = run.to_x_mm.data() + run.size;
  double* const to_y_mm = run.to_y_mm.data() + run.size;
  double* const e_mm = run.e_mm.data() + run.size;
  double* const feeds_mm_s = run.feed_mm_s.data() + run.size;
  for (std::size_t i = 0; i < count; ++i) {
    to_x_mm[i] = frame.offset_x_mm + x[i] * frame.unit_mm;
    to_y_mm[i] = frame.offset_y_mm + y[i] * frame.unit_mm;
    feeds_mm_s[i] = feed_mm_s;
  }
  if (frame.e_relative) {
    for (std::size_t i = 0; i < count; ++i)
      e_mm[i] = e[i] * frame.e_unit * frame.e_scale;
  } else {
    e_mm[0] = (e[0] * frame.e_unit - frame.from_e) * frame.e_scale;
    for (std::size_t i = 1; i < count; ++i)
      e_mm[i] = (e[i] * frame.e_unit - e[i - 1] * frame.e_unit) * frame.e_scale;
  }
  const auto goes = [](double x_mm, double y_mm) {
    return static_cast<std::int64_t>(x_mm * x_mm + y_mm * y_mm >=
                                     kLeastStroke_mm * kLeastStroke_mm);
  };
  std::int64_t plain = goes(to_x_mm[0] - frame.from_x_mm, to_y_mm[0] - frame.from_y_mm);
  for (std::size_t i = 1; i < count; ++i)
    plain &= goes(to_x_mm[i] - to_x_mm[i - 1], to_y_mm[i] - to_y_mm[i - 1]);
  for (std::size_t i = 0; i < count; ++i)
    plain &= static_cast<std::int64_t>(e_mm[i] > 0.0) &
             static_cast<std::int64_t>(std::abs(to_x_mm[i]) + std::abs(to_y_mm[i]) +
                                           std::abs(frame.z_mm) + e_mm[i] <
                                       frame.reach_mm);
  if (plain == 0)
    return false;
  run.size += count;
  return true;
}

}  // namespace platetally::interpreter
