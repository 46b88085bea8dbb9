#include "timeline/bed_grid.hpp"

#include <gtest/gtest.h>

#include <numbers>

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
  const BedGrid grid(four_by_four());
  EXPECT_EQ(grid.tile_at(1, 1), 0);
  EXPECT_EQ(grid.tile_at(359, 1), 3);
  EXPECT_EQ(grid.tile_at(1, 359), 12);
  EXPECT_EQ(grid.tile_at(90, 89.9), 1);
  EXPECT_EQ(grid.tile_at(-0.1, 10), -1);
  EXPECT_EQ(grid.tile_at(10, 360), -1);
}

TEST(BedGrid, ALongMoveTouchesTheTilesBetween) {
  const BedGrid grid(four_by_four());
  const auto across = test::move({10, 10, 0}, {350, 10, 0}, 1, 1).record.move;
  EXPECT_EQ(grid.tiles_under(across), tile(0, 0) | tile(0, 1) | tile(0, 2) | tile(0, 3));
  const auto diagonal = test::move({45, 45, 0}, {315, 315, 0}, 1, 1).record.move;
  EXPECT_EQ(grid.tiles_under(diagonal), tile(0, 0) | tile(1, 1) | tile(2, 2) | tile(3, 3));
}

TEST(BedGrid, AFullCircleTouchesTheTilesRoundItsCentreOnly) {
  const BedGrid grid(four_by_four());
  auto circle = test::move({135 + 100, 135, 0}, {135 + 100, 135, 0}, 1, 1).record.move;
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
  const BedGrid grid(four_by_four());
  auto arc = test::move({10, 10, 0}, {20, 10, 0}, 1, 1).record.move;
  arc.plane = interpreter::Plane::zx;
  arc.centre_mm = {0, 15};
  arc.sweep_rad = std::numbers::pi;
  EXPECT_EQ(grid.tiles_under(arc), tile(0, 0));
}

}  // namespace
}  // namespace platetally::timeline
