// Which tiles of the bed lie under a move.
#pragma once

#include <cstdint>

#include "interpreter/record.hpp"
#include "platetally/machine.hpp"

namespace platetally::timeline {

/// Rows x columns equal tiles; bit row * columns + column stands for a tile. Material laid beyond
/// the heated plate lies over no tile.
class BedGrid {
 public:
  explicit BedGrid(const Bed& bed);

  /// Tiles that the path of a laying move touches. Straight paths and arcs are sampled at a quarter
  /// of a tile, so a corner of a tile that is cut by less than that may be missed.
  std::uint64_t tiles_under(const interpreter::Move& move) const;

  /// The tile under a point, or -1 beyond the plate.
  int tile_at(double x_mm, double y_mm) const;

 private:
  std::uint64_t bit_at(double x_mm, double y_mm) const;

  double x_min_mm_;
  double y_min_mm_;
  double columns_per_mm_;
  double rows_per_mm_;
  int columns_;
  int rows_;
  double sample_mm_;
};

}  // namespace platetally::timeline
