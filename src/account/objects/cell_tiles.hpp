// A raster of small cells that keeps only the tiles that something lies in, wherever that is.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <memory>
#include <vector>

namespace platetally::objects {

/// What lies on a cell.
struct Cell {
  std::uint16_t label = 0;  ///< 0: nothing
  std::uint16_t z = 0;      ///< of the last stroke, in kZPerMm
  std::uint8_t tool = 0;    ///< of it
};

class CellTiles {
 public:
  static constexpr int kTileBits = 5;
  static constexpr int kTileCells = 1 << kTileBits;
  static constexpr int kTilesAcross = 128;
  static constexpr int kAcross = kTilesAcross * kTileCells;
  /// A square metre of cells of 1 mm, 6 MiB.
  static constexpr std::size_t kMostTiles = 1024;

  /// `x_mm`, `y_mm`: the middle of the raster.
  CellTiles(double cell_mm, double x_mm, double y_mm)
      : cell_mm_(cell_mm),
        per_mm_(1.0 / cell_mm),
        x0_mm_(x_mm - 0.5 * kAcross * cell_mm),
        y0_mm_(y_mm - 0.5 * kAcross * cell_mm),
        directory_(static_cast<std::size_t>(kTilesAcross) * kTilesAcross, kNoTile) {}

  double cell_mm() const { return cell_mm_; }
  /// In cells from the corner of the raster; outside below 0 or from kAcross on.
  double column_at(double x_mm) const { return (x_mm - x0_mm_) * per_mm_; }
  double row_at(double y_mm) const { return (y_mm - y0_mm_) * per_mm_; }
  double x_mm(int column) const { return x0_mm_ + column * cell_mm_; }
  double y_mm(int row) const { return y0_mm_ + row * cell_mm_; }
  static bool holds(double column, double row) {
    return column >= 0.0 && column < kAcross && row >= 0.0 && row < kAcross;
  }

  /// Null where nothing lies near. Both 0 .. kAcross - 1.
  Cell* find(int column, int row) {
    const std::size_t tile = tile_of(column, row);
    if (tile != last_tile_ && !go_to(tile))
      return nullptr;
    return last_ + cell_of(column, row);
  }
  const Cell* find(int column, int row) const {
    const std::uint16_t number = directory_[tile_of(column, row)];
    return number == kNoTile ? nullptr : tiles_[number]->data() + cell_of(column, row);
  }
  /// Null where no further tile may be kept.
  Cell* make(int column, int row) {
    const std::size_t tile = tile_of(column, row);
    if (tile != last_tile_ && !go_to(tile) && !add(tile))
      return nullptr;
    return last_ + cell_of(column, row);
  }

  /// Calls visit(column, row, cell) for every cell of every tile, from the left front, tile by
  /// tile.
  template <typename Visit>
  void each(const Visit& visit) const {
    for (int tile_row = 0; tile_row < kTilesAcross; ++tile_row)
      for (int tile_column = 0; tile_column < kTilesAcross; ++tile_column) {
        const std::uint16_t number =
            directory_[static_cast<std::size_t>(tile_row * kTilesAcross + tile_column)];
        if (number == kNoTile)
          continue;
        for (int row = 0; row < kTileCells; ++row)
          for (int column = 0; column < kTileCells; ++column)
            visit(tile_column * kTileCells + column, tile_row * kTileCells + row,
                  (*tiles_[number])[static_cast<std::size_t>(row * kTileCells + column)]);
      }
  }
  /// The same cells, to be changed; in no order.
  template <typename Visit>
  void change_all(const Visit& visit) {
    for (const std::unique_ptr<Tile>& tile : tiles_)
      for (Cell& cell : *tile)
        visit(cell);
  }
  /// Nothing lies anywhere.
  void clear() {
    tiles_.clear();
    directory_.assign(directory_.size(), kNoTile);
    last_tile_ = kNowhere;
  }

 private:
  using Tile = std::array<Cell, static_cast<std::size_t>(kTileCells) * kTileCells>;
  static constexpr std::uint16_t kNoTile = 0xFFFF;
  static constexpr std::size_t kNowhere = SIZE_MAX;

  static std::size_t tile_of(int column, int row) {
    return static_cast<std::size_t>((row >> kTileBits) * kTilesAcross + (column >> kTileBits));
  }
  static std::size_t cell_of(int column, int row) {
    return static_cast<std::size_t>((row & (kTileCells - 1)) * kTileCells +
                                    (column & (kTileCells - 1)));
  }
  bool go_to(std::size_t tile) {
    const std::uint16_t number = directory_[tile];
    if (number == kNoTile)
      return false;
    last_tile_ = tile;
    last_ = tiles_[number]->data();
    return true;
  }
  bool add(std::size_t tile) {
    if (tiles_.size() >= kMostTiles)
      return false;
    directory_[tile] = static_cast<std::uint16_t>(tiles_.size());
    tiles_.push_back(std::make_unique<Tile>());
    return go_to(tile);
  }

  double cell_mm_;
  double per_mm_;
  double x0_mm_;
  double y0_mm_;
  std::vector<std::uint16_t> directory_;
  std::vector<std::unique_ptr<Tile>> tiles_;
  std::size_t last_tile_ = kNowhere;
  Cell* last_ = nullptr;
};

}  // namespace platetally::objects
