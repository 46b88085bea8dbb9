// Outlines of areas of cells: closed rings along their edges.
#pragma once

#include <array>
#include <compare>
#include <cstdint>
#include <functional>
#include <vector>

#include "account/objects/cell_tiles.hpp"
#include "platetally/account.hpp"

namespace platetally::objects {

using Point = std::array<double, 2>;
using Ring = std::vector<Point>;

/// Columns and rows of cells, by row, then column, each once.
using CellSet = std::vector<std::array<int, 2>>;

/// Rings around the cells, in cells: what is inside lies to the left; only corners, no point on a
/// straight edge. The areas of all rings (clockwise ones below 0) add up to the number of cells.
/// Cells that touch at a corner only are of two rings.
std::vector<Ring> rings_around(const CellSet& cells);

/// Without the steps that slanting edges have: no point left out is further than `most` from what
/// stays. A ring that would be left with fewer than three points stays as it is.
Ring simplified(const Ring& ring, double most);

/// What a cell counts to.
struct AreaKey {
  bool is_laid = false;
  AreaUse use = AreaUse::part;
  int tool = 0;
  std::uint32_t object = 0;
};

/// The areas and outlines of a picture, in mm.
PlatePicture draw_areas(const CellTiles& cells,
                        const std::function<AreaKey(int column, int row, const Cell&)>& key_of);

}  // namespace platetally::objects
