// Built as motion/planning/move_block.cpp is; what words come to is in word_values.hpp.
#include "reading/interpreter/stroke_batch.hpp"

#include <algorithm>
#include <cmath>
#include <cstdint>

#include "base/simd.hpp"
#include "reading/interpreter/word_values.hpp"

namespace platetally::interpreter {

namespace {

inline __attribute__((always_inline)) void write_filament(const StrokeFrame& frame,
                                                          const double* __restrict e,
                                                          std::size_t count,
                                                          double* __restrict e_mm) {
  if (frame.e_relative) {
    for (std::size_t i = 0; i < count; ++i)
      e_mm[i] = fed_mm(e[i], frame.e_unit, frame.e_scale);
    return;
  }
  e_mm[0] = fed_since_mm(e[0], frame.e_unit, frame.e_scale, frame.from_e);
  for (std::size_t i = 1; i < count; ++i)
    e_mm[i] = fed_since_mm(e[i], frame.e_unit, frame.e_scale, e[i - 1] * frame.e_unit);
}

/// False: one of them is no feed, or none that is believed.
inline __attribute__((always_inline)) bool write_feeds(const StrokeFrame& frame,
                                                       const double* __restrict f,
                                                       std::size_t count,
                                                       double* __restrict feed_mm_s) {
  std::int64_t sound = 1;
  for (std::size_t i = 0; i < count; ++i) {
    feed_mm_s[i] = feed_rate_mm_s(f[i], frame.unit_mm) * frame.feed_factor;
    sound &=
        static_cast<std::int64_t>(f[i] > 0.0) & static_cast<std::int64_t>(f[i] <= frame.reach_mm);
  }
  return sound != 0;
}

inline __attribute__((always_inline)) bool is_level(const StrokeFrame& frame,
                                                    const double* __restrict z, std::size_t count) {
  std::int64_t level = 1;
  for (std::size_t i = 0; i < count; ++i)
    level &= static_cast<std::int64_t>(place_mm(z[i], frame.unit_mm, frame.offset_mm[2]) ==
                                       frame.from_mm[2]);
  return level != 0;
}

}  // namespace

PLATETALLY_WIDE bool write_strokes(const StrokeFrame& given, const StrokeWords& words,
                                   std::size_t count, const RowRoom& room) {
  const StrokeFrame frame = given;  // which nothing that is written can change
  const double* __restrict const x = words.x;
  const double* __restrict const y = words.y;
  double* __restrict const to_x_mm = room.to_x_mm;
  double* __restrict const to_y_mm = room.to_y_mm;
  double* __restrict const e_mm = room.e_mm;
  for (std::size_t i = 0; i < count; ++i) {
    to_x_mm[i] = place_mm(x[i], frame.unit_mm, frame.offset_mm[0]);
    to_y_mm[i] = place_mm(y[i], frame.unit_mm, frame.offset_mm[1]);
  }
  std::fill_n(room.to_z_mm, count, frame.from_mm[2]);
  std::fill_n(room.feed_mm_s, count, frame.feed_mm_s);
  write_filament(frame, words.e, count, e_mm);
  if ((words.f != nullptr && !write_feeds(frame, words.f, count, room.feed_mm_s)) ||
      (words.z != nullptr && !is_level(frame, words.z, count)))
    return false;
  const auto goes = [](double x_mm, double y_mm) {
    return static_cast<std::int64_t>(x_mm * x_mm + y_mm * y_mm >=
                                     kLeastLength_mm * kLeastLength_mm);
  };
  std::int64_t plain = goes(to_x_mm[0] - frame.from_mm[0], to_y_mm[0] - frame.from_mm[1]);
  for (std::size_t i = 1; i < count; ++i)
    plain &= goes(to_x_mm[i] - to_x_mm[i - 1], to_y_mm[i] - to_y_mm[i - 1]);
  for (std::size_t i = 0; i < count; ++i)
    plain &= static_cast<std::int64_t>(e_mm[i] > 0.0) &
             static_cast<std::int64_t>(std::abs(to_x_mm[i]) + std::abs(to_y_mm[i]) +
                                           std::abs(frame.from_mm[2]) + e_mm[i] <
                                       frame.reach_mm);
  return plain != 0;
}

}  // namespace platetally::interpreter
