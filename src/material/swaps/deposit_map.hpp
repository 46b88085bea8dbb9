// Where on the bed material was laid, and whether the same place was laid by other tools before: a
// raster of cells that exist only where something is laid.
//
// Cells that touch are one island: a part, a tower, a line. What stands apart on the bed is apart
// here, because a cell is about as wide as a bead.
#pragma once

#include <cstddef>
#include <cstdint>
#include <vector>

#include "material/swaps/box.hpp"

namespace platetally::swaps {

/// Who lays, for the cells of a stroke.
struct Layer {
  std::uint32_t ordinal = 0;
  std::int16_t tool = 0;
  std::uint8_t rank = 0;  ///< which landing of the layer it is, from 0; kNoRank: none
};
inline constexpr std::uint8_t kNoRank = 255;

/// Cells that were laid before, in another layer, seen by those who lay on them again.
struct Relaid {
  std::uint16_t same = 0;     ///< by the same tool
  std::uint16_t changed = 0;  ///< by another tool
  /// Of those, by a tool that came as the same one in its layer: the place is the order's.
  std::uint16_t changed_in_order = 0;
  /// By landings on what a tool had laid that went on into its layer without a swap.
  std::uint16_t same_on_carried = 0;
  std::uint16_t changed_on_carried = 0;
};

struct Island {
  Box box;
  std::uint32_t cells = 0;
};

/// Islands of all that was laid, and which one a place belongs to.
class Islands {
 public:
  static constexpr std::int32_t kNone = -1;
  const std::vector<Island>& all() const { return islands_; }
  /// The island at or next to a place; kNone where nothing was laid.
  std::int32_t at(float x_mm, float y_mm) const;

 private:
  friend class DepositMap;
  friend class Flood;
  static constexpr int kTile = 32;
  std::vector<Island> islands_;
  std::vector<std::int32_t> tile_of_;  ///< see DepositMap
  std::vector<std::int32_t> labels_;   ///< island of each cell
  double cell_mm_ = 1.0;
};

class DepositMap {
 public:
  /// `cell_mm`: about as wide as a bead.
  explicit DepositMap(double cell_mm);

  /// A straight stroke; what lies more than 1.5 m from the origin is left out.
  void draw(double from_x_mm, double from_y_mm, double to_x_mm, double to_y_mm, const Layer& layer,
            Relaid& relaid);

  /// Without `with_foot` brims, which lie in the first layer alone, join nothing that stands apart.
  Islands islands(bool with_foot) const;

  void forget();

 private:
  friend class Flood;
  static constexpr int kTile = Islands::kTile;  // cells
  static constexpr int kTilesAcross = 256;
  /// Who laid last on a cell: 16 bits of the layer's ordinal, never 0; 7 of the tool; whether it
  /// was ever laid above the first layer; 8 of the rank. 0: nothing was laid.
  using Cell = std::uint32_t;
  static constexpr Cell kAboveFoot = 1U << 23U;
  static constexpr std::size_t kCells = static_cast<std::size_t>(kTile) * kTile;  // of a tile

  static std::size_t index_in_tile(std::int32_t column, std::int32_t row) {
    return static_cast<std::size_t>((row % kTile) * kTile + column % kTile);
  }
  /// -1: nothing was laid near it.
  std::int32_t tile_at(std::int32_t column, std::int32_t row) const {
    return tile_of_[static_cast<std::size_t>(row / kTile) * kTilesAcross +
                    static_cast<std::size_t>(column / kTile)];
  }
  static Cell cell_of(const Layer& layer);
  /// The cell's place in cells_, kNoCell where there is no room for its tile.
  std::size_t find_cell(std::uint32_t column, std::uint32_t row);
  static void relay(Cell& cell, Cell now, Relaid& relaid);

  double cell_mm_;
  double cells_per_mm_;
  std::vector<std::int32_t> tile_of_;  ///< number of the tile, -1: none yet
  std::vector<Cell> cells_;            ///< tile by tile, row by row
};

}  // namespace platetally::swaps
