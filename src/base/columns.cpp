// Built as motion/planning/move_block.cpp is.
#include "base/columns.hpp"

#include <algorithm>
#include <cstring>

#include "base/simd.hpp"

namespace platetally::base {

namespace {

constexpr std::size_t kLanes = 4;
using Lanes [[gnu::vector_size(kLanes * sizeof(double))]] = double;

}  // namespace

PLATETALLY_WIDE Extent extent_of(const double* column, std::size_t count) {
  Extent extent{column[0], column[0]};
  std::size_t i = 0;
  if (count >= kLanes) {
    Lanes least;
    std::memcpy(&least, column, sizeof least);
    Lanes most = least;
    for (i = kLanes; i + kLanes <= count; i += kLanes) {
      Lanes values;
      std::memcpy(&values, column + i, sizeof values);
      least = values < least ? values : least;
      most = values > most ? values : most;
    }
    for (std::size_t lane = 0; lane < kLanes; ++lane)
      extent = {std::min(extent.least, least[lane]), std::max(extent.most, most[lane])};
  }
  for (; i < count; ++i)
    extent = {std::min(extent.least, column[i]), std::max(extent.most, column[i])};
  return extent;
}

}  // namespace platetally::base
