// Which tiles of the bed lie under a move.
#pragma once

#include <cstdint>

#include "platetally/machine.hpp"
#include "reading/interpreter/record.hpp"

namespace platetally::timeline {

/// Rows x columns equal tiles; bit row * columns + column stands for a tile. Material laid beyond
/// the heated plate lies over no tile.
class BedGrid {
 public:
  explicit BedGrid(const Bed& bed);

  /// Tiles that the path of a laying move touches. Straight paths and arcs are sampled at a quarter
  /// of a tile, so a corner of a tile that is cut by less than that may be missed.
  std::uint64_t tiles_under(const interpreter::Move& move) {
    // Nearly every stroke begins and ends above the tile that the one before ended on.
    if (!move.is_arc() && inside_.holds(move.from_mm[0], move.from_mm[1]) &&
        inside_.holds(move.to_mm[0], move.to_mm[1])) [[likely]]
      return inside_.bit;
    remember(move.to_mm[0], move.to_mm[1]);
    return sampled_tiles(move);
  }

  /// The tile under a point, or -1 beyond the plate.
  int tile_at(double x_mm, double y_mm) const;

  /// A tile without its rim, where rounding decides; empty at first.
  struct Inside {
    double x_min_mm = 0.0, x_max_mm = -1.0, y_min_mm = 0.0, y_max_mm = -1.0;
    std::uint64_t bit = 0;
    bool holds(double x_mm, double y_mm) const {
      return x_mm >= x_min_mm && x_mm <= x_max_mm && y_mm >= y_min_mm && y_mm <= y_max_mm;
    }
  };
  /// The tile that was looked at last.
  const Inside& last_tile() const { return inside_; }

 private:
  std::uint64_t bit_at(double x_mm, double y_mm) const;
  std::uint64_t sampled_tiles(const interpreter::Move& move) const;
  void remember(double x_mm, double y_mm);

  Inside inside_;

  double x_min_mm_;
  double y_min_mm_;
  double columns_per_mm_;
  double rows_per_mm_;
  int columns_;
  int rows_;
  double sample_mm_;
};

}  // namespace platetally::timeline
