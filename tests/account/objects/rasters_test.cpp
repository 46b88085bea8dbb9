// Cells that are kept only where something lies, against a plain map; and the one layer that a
// picture is of, against a search over all of them.
#include <gtest/gtest.h>

#include <map>
#include <set>
#include <vector>

#include "account/objects/cell_tiles.hpp"
#include "account/objects/layer_raster.hpp"
#include "support/chance.hpp"

namespace platetally::objects {
namespace {

TEST(CellTiles, HoldWhatAPlainMapHolds) {
  test::Random random(3);
  CellTiles cells(1.0, 100.0, 100.0);
  std::map<std::pair<int, int>, std::uint16_t> plain;
  for (int i = 0; i < 5000; ++i) {
    const int column = 2000 + random.whole(-90, 90);
    const int row = 2000 + random.whole(-90, 90);
    if (random.one_in(2)) {
      const auto label = static_cast<std::uint16_t>(random.whole(1, 9));
      cells.make(column, row)->label = label;
      plain[{column, row}] = label;
      continue;
    }
    const Cell* const found = cells.find(column, row);
    const auto wanted = plain.find({column, row});
    EXPECT_EQ(found == nullptr ? 0 : found->label, wanted == plain.end() ? 0 : wanted->second);
    const Cell* const same = std::as_const(cells).find(column, row);
    EXPECT_EQ(found, same);
  }
  std::size_t visited = 0;
  cells.each([&](int column, int row, const Cell& cell) {
    if (cell.label == 0)
      return;
    ++visited;
    EXPECT_EQ(cell.label, plain.at({column, row}));
  });
  EXPECT_EQ(visited, plain.size());
  cells.change_all([](Cell& cell) { cell.label = cell.label == 0 ? 0 : 7; });
  cells.each([&](int, int, const Cell& cell) { EXPECT_TRUE(cell.label == 0 || cell.label == 7); });
  cells.clear();
  cells.each([&](int, int, const Cell&) { ADD_FAILURE() << "nothing lies anywhere"; });
  EXPECT_EQ(cells.find(2000, 2000), nullptr);
}

TEST(CellTiles, MillimetresAndCellsAreTheSamePlaces) {
  const CellTiles cells(0.4, 110.0, -30.0);
  EXPECT_DOUBLE_EQ(cells.column_at(110.0), 0.5 * CellTiles::kAcross);
  EXPECT_DOUBLE_EQ(cells.row_at(-30.0), 0.5 * CellTiles::kAcross);
  for (const int cell : {0, 17, 4095}) {
    EXPECT_NEAR(cells.column_at(cells.x_mm(cell)), cell, 1e-9);
    EXPECT_NEAR(cells.row_at(cells.y_mm(cell)), cell, 1e-9);
  }
  EXPECT_TRUE(CellTiles::holds(0.0, 0.0));
  EXPECT_TRUE(CellTiles::holds(CellTiles::kAcross - 0.001, 0.0));
  EXPECT_FALSE(CellTiles::holds(CellTiles::kAcross, 0.0));
  EXPECT_FALSE(CellTiles::holds(0.0, -0.001));
}

TEST(CellTiles, KeepSoManyTilesAndNoMore) {
  CellTiles cells(1.0, 0.0, 0.0);
  std::size_t made = 0;
  for (int tile_row = 0; tile_row < 40; ++tile_row)
    for (int tile_column = 0; tile_column < 40; ++tile_column)
      made += cells.make(tile_column * CellTiles::kTileCells, tile_row * CellTiles::kTileCells) !=
                      nullptr
                  ? 1
                  : 0;
  EXPECT_EQ(made, CellTiles::kMostTiles);
  EXPECT_NE(cells.make(3, 3), nullptr) << "in a tile that is there";
  EXPECT_EQ(cells.make(39 * CellTiles::kTileCells, 39 * CellTiles::kTileCells), nullptr);
}

BuildArea area() {
  BuildArea area;
  area.x_min_mm = area.y_min_mm = 0.0;
  area.x_max_mm = area.y_max_mm = 200.0;
  return area;
}

TEST(LayerRaster, WantsTheLowestLayerThatReachesTheHeight) {
  LayerRaster raster(area(), 0.5);
  EXPECT_TRUE(raster.empty());
  EXPECT_FALSE(raster.wants(1, 0.2));
  EXPECT_FALSE(raster.wants(2, 0.4));
  EXPECT_TRUE(raster.wants(3, 0.6));
  EXPECT_TRUE(raster.wants(3, 0.6));
  EXPECT_FALSE(raster.wants(4, 0.8));
  EXPECT_TRUE(raster.wants(3, 0.6)) << "the plate comes back to it";
  EXPECT_FALSE(raster.empty());
  EXPECT_EQ(raster.z_mm(), 0.6);
}

TEST(LayerRaster, ALayerThatEndsAtTheHeightIsTheOne) {
  LayerRaster raster(area(), 0.4);
  EXPECT_FALSE(raster.wants(1, 0.2));
  EXPECT_TRUE(raster.wants(2, 0.2 + 0.2 - 1e-9)) << "rounding apart";
}

// Objects one after the other: heights come in any order, and the best so far is kept.
TEST(LayerRaster, WhatFitsBetterTakesThePlaceOfWhatWasKept) {
  for (unsigned seed = 0; seed < 40; ++seed) {
    test::Random random(seed);
    const double at_mm = random.real(0.1, 3.0);
    LayerRaster raster(area(), at_mm);
    double wanted_mm = -1.0;
    for (std::uint32_t layer = 1; layer <= 30; ++layer) {
      const double z_mm = 0.2 * random.whole(1, 20) + 0.001 * layer;
      const bool is_better = z_mm >= at_mm && (wanted_mm < 0.0 || z_mm < wanted_mm);
      if (is_better)
        wanted_mm = z_mm;
      EXPECT_EQ(raster.wants(layer, z_mm), is_better);
      if (is_better) {
        raster.begin(50.0, 50.0);
        raster.go(60.0 + layer, 50.0, 5, 0);
      }
    }
    EXPECT_EQ(raster.empty(), wanted_mm < 0.0);
    if (wanted_mm >= 0.0) {
      EXPECT_EQ(raster.z_mm(), wanted_mm);
    }
  }
}

TEST(LayerRaster, AStrokeLeavesNoCellOutOnItsWay) {
  test::Random random(9);
  for (int i = 0; i < 50; ++i) {
    LayerRaster raster(area(), 0.1);
    ASSERT_TRUE(raster.wants(1, 0.2));
    const double from_x = random.real(20.0, 180.0), from_y = random.real(20.0, 180.0);
    const double to_x = random.real(20.0, 180.0), to_y = random.real(20.0, 180.0);
    raster.begin(from_x, from_y);
    raster.go(to_x, to_y, 5, 3);
    std::set<std::pair<int, int>> laid;
    raster.cells().each([&](int column, int row, const Cell& cell) {
      if (cell.label == 0)
        return;
      EXPECT_EQ(cell.label, 5);
      EXPECT_EQ(cell.tool, 3);
      laid.insert({column, row});
    });
    // Both ends, and a way of neighbours between them.
    const auto cell_at = [&](double x_mm, double y_mm) {
      return std::pair(static_cast<int>(raster.cells().column_at(x_mm)),
                       static_cast<int>(raster.cells().row_at(y_mm)));
    };
    EXPECT_TRUE(laid.contains(cell_at(from_x, from_y)));
    EXPECT_TRUE(laid.contains(cell_at(to_x, to_y)));
    std::set<std::pair<int, int>> reached{cell_at(from_x, from_y)};
    std::vector<std::pair<int, int>> open(reached.begin(), reached.end());
    while (!open.empty()) {
      const auto [column, row] = open.back();
      open.pop_back();
      for (int dx = -1; dx <= 1; ++dx)
        for (int dy = -1; dy <= 1; ++dy) {
          const std::pair<int, int> next{column + dx, row + dy};
          if (laid.contains(next) && reached.insert(next).second)
            open.push_back(next);
        }
    }
    EXPECT_EQ(reached.size(), laid.size());
    // None of them is further from the line than a cell and a half.
    const double length_mm = std::hypot(to_x - from_x, to_y - from_y);
    for (const auto& [column, row] : laid) {
      const double x_mm = raster.cells().x_mm(column) + 0.5 * LayerRaster::kCellMm;
      const double y_mm = raster.cells().y_mm(row) + 0.5 * LayerRaster::kCellMm;
      const double off_mm =
          std::abs((to_x - from_x) * (from_y - y_mm) - (from_x - x_mm) * (to_y - from_y)) /
          length_mm;
      EXPECT_LE(off_mm, 0.75 * LayerRaster::kCellMm);
    }
    EXPECT_FALSE(raster.overflows());
  }
}

TEST(LayerRaster, BeyondTheRasterItSaysSo) {
  LayerRaster raster(area(), 0.1);
  ASSERT_TRUE(raster.wants(1, 0.2));
  raster.begin(100.0, 100.0);
  raster.go(5000.0, 100.0, 5, 0);
  EXPECT_TRUE(raster.overflows());
}

}  // namespace
}  // namespace platetally::objects
