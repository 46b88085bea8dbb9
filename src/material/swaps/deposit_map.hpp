// Where on the bed material was laid, and whether the same place was laid by other tools before: a
// raster of cells that exist only where something is laid.
//
// Cells that touch are one island: a part, a tower, a line. What stands apart on the bed is apart
// here, because a cell is about as wide as a bead.
#pragma once

#include <array>
#include <cstdint>
#include <memory>
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
  std::uint32_t same = 0;     ///< by the same tool
  std::uint32_t changed = 0;  ///< by another tool
  /// Of those, by a tool that came as the same one in its layer: the place is the order's.
  std::uint32_t changed_in_order = 0;
  /// By landings on what a tool had laid that went on into its layer without a swap.
  std::uint32_t same_on_carried = 0;
  std::uint32_t changed_on_carried = 0;
  void add(const Relaid& other) {
    same += other.same;
    changed += other.changed;
    changed_in_order += other.changed_in_order;
    same_on_carried += other.same_on_carried;
    changed_on_carried += other.changed_on_carried;
  }
};

struct Island {
  Box box;
  std::uint32_t cells = 0;
  Relaid relaid;
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
  std::vector<std::int32_t> tile_of_;                            ///< see DepositMap
  std::vector<std::array<std::int32_t, kTile * kTile>> labels_;  ///< island of each cell
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
  struct Cell {
    std::uint16_t layer = 0;  ///< ordinal + 1, in 16 bits; 0: nothing was laid
    std::uint8_t tool = 0;
    std::uint8_t rank = kNoRank;
    std::uint8_t same = 0;
    std::uint8_t changed = 0;
    bool above_foot = false;
  };
  using Tile = std::array<Cell, kTile * kTile>;

  static std::size_t index_in_tile(std::int32_t column, std::int32_t row) {
    return static_cast<std::size_t>((row % kTile) * kTile + column % kTile);
  }
  /// -1: nothing was laid near it.
  std::int32_t tile_at(std::int32_t column, std::int32_t row) const {
    return tile_of_[static_cast<std::size_t>(row / kTile) * kTilesAcross +
                    static_cast<std::size_t>(column / kTile)];
  }
  void touch(std::int32_t column, std::int32_t row, const Layer& layer, Relaid& relaid);

  double cell_mm_;
  double cells_per_mm_;
  std::vector<std::int32_t> tile_of_;  ///< number of the tile, -1: none yet
  std::vector<Tile> tiles_;
  std::int32_t last_column_ = -1;
  std::int32_t last_row_ = -1;
};

}  // namespace platetally::swaps
