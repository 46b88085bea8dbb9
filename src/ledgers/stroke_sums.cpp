// Four lanes whatever the machine has, so that the sums have the same bits everywhere.
#include "ledgers/stroke_sums.hpp"

#include <algorithm>
#include <cstring>

#include "base/wide.hpp"

namespace platetally::ledgers {

namespace {

constexpr std::size_t kLanes = 4;
typedef double Lanes __attribute__((vector_size(kLanes * sizeof(double))));

inline void load(const double* from, Lanes& lanes) {
  std::memcpy(&lanes, from, sizeof lanes);
}

}  // namespace

PLATETALLY_WIDE StrokeBox box_of(const interpreter::Strokes& strokes, std::size_t first,
                                 std::size_t last) {
  const double* const x_mm = strokes.to_x_mm;
  const double* const y_mm = strokes.to_y_mm;
  StrokeBox box{x_mm[first], x_mm[first], y_mm[first], y_mm[first]};
  std::size_t i = first;
  if (i + kLanes <= last) {
    Lanes x_min, y_min;
    load(x_mm + i, x_min);
    load(y_mm + i, y_min);
    Lanes x_max = x_min, y_max = y_min;
    for (i += kLanes; i + kLanes <= last; i += kLanes) {
      Lanes x, y;
      load(x_mm + i, x);
      load(y_mm + i, y);
      x_min = x < x_min ? x : x_min;
      x_max = x > x_max ? x : x_max;
      y_min = y < y_min ? y : y_min;
      y_max = y > y_max ? y : y_max;
    }
    for (std::size_t lane = 0; lane < kLanes; ++lane)
      box = {std::min(box.x_min_mm, x_min[lane]), std::max(box.x_max_mm, x_max[lane]),
             std::min(box.y_min_mm, y_min[lane]), std::max(box.y_max_mm, y_max[lane])};
  }
  for (; i < last; ++i)
    box = {std::min(box.x_min_mm, x_mm[i]), std::max(box.x_max_mm, x_mm[i]),
           std::min(box.y_min_mm, y_mm[i]), std::max(box.y_max_mm, y_mm[i])};
  return box;
}

PLATETALLY_WIDE double sum_of(const double* column, std::size_t first, std::size_t last) {
  Lanes sums{};
  std::size_t i = first;
  for (; i + kLanes <= last; i += kLanes) {
    Lanes values;
    load(column + i, values);
    sums += values;
  }
  double rest = 0.0;
  for (; i < last; ++i)
    rest += column[i];
  return ((sums[0] + sums[1]) + (sums[2] + sums[3])) + rest;
}

}  // namespace platetally::ledgers
