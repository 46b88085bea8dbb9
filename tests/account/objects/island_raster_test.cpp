// Which strokes are of one island.
#include "account/objects/island_raster.hpp"

#include <gtest/gtest.h>

#include "account/objects/area.hpp"

namespace platetally::objects {
namespace {

Label lay(IslandRaster& raster, double from_x, double from_y, double to_x, double to_y,
          double z = 0.2) {
  raster.begin(from_x, from_y, z, 0);
  raster.go(to_x, to_y);
  return raster.current();
}

TEST(Islands, StrokesTwoMillimetresApartAreTwoAndTouchingOnesAreOne) {
  for (double x = 20.0; x < 21.0; x += 0.1) {
    IslandRaster raster(area());
    const Label left = lay(raster, x, 20, x, 40);
    EXPECT_NE(raster.root(lay(raster, x + 2.01, 20, x + 2.01, 40)), raster.root(left)) << x;
    EXPECT_EQ(raster.root(lay(raster, x + 0.9, 20, x + 0.9, 40)), raster.root(left)) << x;
  }
}

TEST(Islands, StrokesTouchWhicheverOfThemComesFirst) {
  for (const double second_y : {19.5, 21.5}) {
    IslandRaster raster(area());
    const Label first = lay(raster, 20, 20.5, 40, 20.5);
    EXPECT_EQ(raster.root(lay(raster, 20, second_y, 40, second_y)), raster.root(first)) << second_y;
  }
}

TEST(Islands, ALongStrokeCoversEveryCellOnItsWay) {
  IslandRaster raster(area());
  const Label slant = lay(raster, 10, 10, 90, 63);
  EXPECT_EQ(raster.root(lay(raster, 50.0, 36.5, 50.0, 36.6)), raster.root(slant));
}

TEST(Islands, ThatALaterLayerJoinsHaveBeenOneFromTheStart) {
  IslandRaster raster(area());
  const Label left = lay(raster, 20, 20, 20, 40);
  const Label right = lay(raster, 60, 20, 60, 40);
  EXPECT_NE(raster.root(left), raster.root(right));
  lay(raster, 20, 20, 20, 40, 0.4);
  lay(raster, 60, 20, 60, 40, 0.4);
  lay(raster, 20, 30, 60, 30, 0.6);
  EXPECT_EQ(raster.root(left), raster.root(right));
}

TEST(Islands, ThatGrewTogetherHaveTheBoxOfBoth) {
  IslandRaster raster(area());
  const Label left = lay(raster, 20, 20, 20, 40);
  raster.island(left).box.include(20, 20);
  lay(raster, 60, 20, 60, 40);  // has none yet
  lay(raster, 20, 30, 60, 30);
  const swaps::Box& box = raster.island(raster.root(left)).box;
  EXPECT_EQ(box.x_max_mm, 20.0F);
  EXPECT_EQ(box.x_min_mm, 20.0F);
}

TEST(Islands, ARoofHighAboveALowPartIsAnother) {
  IslandRaster raster(area());
  const Label low = lay(raster, 20, 20, 40, 20, 0.2);
  const Label roof = lay(raster, 20, 20, 40, 20, 12.0);
  EXPECT_NE(raster.root(low), raster.root(roof));
  EXPECT_EQ(raster.root(lay(raster, 20, 20, 40, 20, 12.2)), raster.root(roof));
}

TEST(Islands, NamedOnesStayTwoAndTakeWhatHasNoName) {
  IslandRaster raster(area());
  raster.name(0);
  const Label fern = lay(raster, 20, 20, 40, 20);
  raster.name(1);
  const Label moss = lay(raster, 20, 20.5, 40, 20.5);
  EXPECT_NE(raster.root(fern), raster.root(moss));
  raster.name(-1);
  const Label brim = lay(raster, 39, 21.5, 45, 21.5);
  EXPECT_EQ(raster.root(brim), raster.root(moss));
  EXPECT_NE(raster.root(fern), raster.root(moss));
  raster.name(0);
  EXPECT_EQ(raster.root(lay(raster, 100, 100, 110, 100)), raster.root(fern));
}

TEST(Islands, NamedOnesStayTwoWhereAStrokeWithoutANameJoinsThem) {
  IslandRaster raster(area());
  raster.name(0);
  const Label fern = lay(raster, 20, 20, 40, 20);
  raster.name(1);
  const Label moss = lay(raster, 20, 30, 40, 30);
  raster.name(-1);
  lay(raster, 25, 20, 25, 30);
  lay(raster, 35, 30, 35, 20);
  EXPECT_NE(raster.root(fern), raster.root(moss));
}

TEST(Islands, FarAwayIsTheRest) {
  IslandRaster raster(area());
  EXPECT_EQ(lay(raster, 9000, 9000, 9001, 9000), kRest);
  EXPECT_TRUE(raster.overflows());
}

TEST(Islands, RenumberingKeepsWhatBelongsTogether) {
  IslandRaster raster(area());
  // A comb of many lone points, which a line joins row by row.
  std::size_t begun = 0;
  for (int round = 0; begun < IslandRaster::kMostIslands; ++round)
    for (int row = 0; row < 60 && begun < IslandRaster::kMostIslands; ++row) {
      const double z = 0.2 + 3.0 * round;
      for (int column = 0; column < 60; ++column, ++begun)
        lay(raster, 10.5 + 3 * column, 10.5 + 3 * row, 10.5 + 3 * column, 10.5 + 3 * row, z);
      lay(raster, 10.5, 10.5 + 3 * row, 187.5, 10.5 + 3 * row, z);
    }
  const Label before = raster.root(raster.at(10.5, 10.5));
  ASSERT_NE(before, raster.root(raster.at(10.5, 13.5)));
  const std::vector<Label> renumbered = raster.renumber();
  ASSERT_FALSE(renumbered.empty());
  EXPECT_LT(raster.labels(), 2000U);
  EXPECT_EQ(raster.at(10.5, 10.5), renumbered[before]);
  EXPECT_EQ(raster.root(raster.at(10.5, 10.5)), raster.root(raster.at(187.5, 10.5)));
  EXPECT_NE(raster.root(raster.at(10.5, 10.5)), raster.root(raster.at(10.5, 13.5)));
  EXPECT_TRUE(raster.renumber().empty());
}

}  // namespace
}  // namespace platetally::objects
