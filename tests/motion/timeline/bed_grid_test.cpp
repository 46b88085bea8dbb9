#include "motion/timeline/bed_grid.hpp"

#include <gtest/gtest.h>

#include <numbers>
#include <random>

#include "support/records.hpp"

namespace platetally::timeline {
namespace {

Bed four_by_four() {
  Bed bed;
  bed.rows = 4;
  bed.columns = 4;
  bed.width_mm = 360;
  bed.depth_mm = 360;
  return bed;
}

std::uint64_t tile(int row, int column) {
  return std::uint64_t{1} << (row * 4 + column);
}

TEST(BedGrid, PointsFallIntoTilesRowByRow) {
  BedGrid grid(four_by_four());
  EXPECT_EQ(grid.tile_at(1, 1), 0);
  EXPECT_EQ(grid.tile_at(359, 1), 3);
  EXPECT_EQ(grid.tile_at(1, 359), 12);
  EXPECT_EQ(grid.tile_at(90, 89.9), 1);
  EXPECT_EQ(grid.tile_at(-0.1, 10), -1);
  EXPECT_EQ(grid.tile_at(10, 360), -1);
}

TEST(BedGrid, ALongMoveTouchesTheTilesBetween) {
  BedGrid grid(four_by_four());
  const auto across = test::move({10, 10, 0}, {350, 10, 0}, 1, 1).move;
  EXPECT_EQ(grid.tiles_under(across), tile(0, 0) | tile(0, 1) | tile(0, 2) | tile(0, 3));
  const auto diagonal = test::move({45, 45, 0}, {315, 315, 0}, 1, 1).move;
  EXPECT_EQ(grid.tiles_under(diagonal), tile(0, 0) | tile(1, 1) | tile(2, 2) | tile(3, 3));
}

TEST(BedGrid, WhatWasMetBeforeChangesNoAnswer) {
  // Strokes along and across the borders of tiles, where a remembered tile might be taken too far.
  BedGrid remembering(four_by_four());
  std::mt19937 random(7);
  std::uniform_int_distribution<int> whole(-2, 74);
  std::uniform_real_distribution<double> off(-2e-6, 2e-6);
  double x_mm = 0.0, y_mm = 0.0;
  for (int i = 0; i < 20000; ++i) {
    const double to_x_mm = 5.0 * whole(random) + off(random);
    const double to_y_mm = i % 3 == 0 ? y_mm : 5.0 * whole(random) + off(random);
    const auto move = test::move({x_mm, y_mm, 0}, {to_x_mm, to_y_mm, 0}, 1, 1).move;
    ASSERT_EQ(remembering.tiles_under(move), BedGrid(four_by_four()).tiles_under(move)) << i;
    x_mm = to_x_mm;
    y_mm = to_y_mm;
  }
}

TEST(BedGrid, AFullCircleTouchesTheTilesRoundItsCentreOnly) {
  BedGrid grid(four_by_four());
  auto circle = test::move({135 + 100, 135, 0}, {135 + 100, 135, 0}, 1, 1).move;
  circle.centre_mm = {135, 135};
  circle.sweep_rad = 2 * std::numbers::pi;
  const std::uint64_t tiles = grid.tiles_under(circle);
  EXPECT_EQ(tiles & tile(1, 1), 0U);  // the radius of 100 mm passes outside the middle tile
  for (const auto touched :
       {tile(0, 1), tile(1, 0), tile(1, 2), tile(2, 1), tile(0, 0), tile(2, 2)})
    EXPECT_NE(tiles & touched, 0U);
  EXPECT_EQ(tiles & (tile(3, 0) | tile(0, 3) | tile(3, 3)), 0U);
}

TEST(BedGrid, AnArcInAnotherPlaneCountsByItsEnds) {
  BedGrid grid(four_by_four());
  auto arc = test::move({10, 10, 0}, {20, 10, 0}, 1, 1).move;
  arc.plane = interpreter::Plane::zx;
  arc.centre_mm = {0, 15};
  arc.sweep_rad = std::numbers::pi;
  EXPECT_EQ(grid.tiles_under(arc), tile(0, 0));
}

}  // namespace
}  // namespace platetally::timeline
