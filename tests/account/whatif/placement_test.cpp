// Places on the bed, copies beside a plate, and the tiles under it.
#include "account/whatif/placement.hpp"

#include <gtest/gtest.h>

#include <bit>
#include <cmath>
#include <random>

namespace platetally::whatif {
namespace {

interpreter::Move lay(double x0, double y0, double x1, double y1) {
  interpreter::Move move{};
  move.from_mm = {x0, y0, 0.2};
  move.to_mm = {x1, y1, 0.2};
  move.e_mm = 1.0;
  return move;
}

void lay_block(ledgers::Footprint& footprint, double x, double y, double width, double depth) {
  for (double at = 0.0; at <= depth; at += 1.0)
    footprint.add(lay(x, y + at, x + width, y + at), 1);
}

Machine zoned() {
  Machine machine;
  machine.area = {0, 200, 0, 200, 200};
  machine.bed.rows = 4;
  machine.bed.columns = 4;
  machine.bed.width_mm = 200;
  machine.bed.depth_mm = 200;
  machine.bed.zone_policy = ZonePolicy::footprint;
  machine.bed.neighbour_count = 0;
  return machine;
}

TEST(Placement, ASmallPartOverFourZonesGoesIntoOne) {
  const Machine machine = zoned();
  ledgers::Footprint footprint(machine.area);
  lay_block(footprint, 90, 90, 20, 20);  // across the middle
  const Placement best = best_placement(footprint, machine);
  EXPECT_EQ(best.zones_now, 4.0);
  EXPECT_EQ(best.zones_then, 1.0);
  EXPECT_LE(std::hypot(best.shift_x_mm, best.shift_y_mm), 18.0);
}

TEST(Placement, ACornerHeatsFewestWhereNeighboursAreKeptWarm) {
  Machine machine = zoned();
  machine.bed.neighbour_count = 8;
  machine.bed.neighbour_fraction = 0.5;
  ledgers::Footprint footprint(machine.area);
  lay_block(footprint, 110, 60, 20, 20);  // inside one zone, with eight neighbours
  const Placement best = best_placement(footprint, machine);
  EXPECT_EQ(best.zones_now, 1.0 + 8 * 0.5);
  EXPECT_EQ(best.zones_then, 1.0 + 3 * 0.5);
}

TEST(Placement, AgreesWithTryingThemAll) {
  std::mt19937 random(3);
  Machine machine = zoned();
  machine.bed.neighbour_count = 4;
  for (int round = 0; round < 20; ++round) {
    ledgers::Footprint footprint(machine.area);
    const auto width = static_cast<double>(5 + random() % 90);
    const auto depth = static_cast<double>(5 + random() % 90);
    const auto x = static_cast<double>(random() % 100);
    const auto y = static_cast<double>(random() % 100);
    lay_block(footprint, x, y, width, depth);
    const Placement best = best_placement(footprint, machine);
    // A block of whole cells, moved cell by cell, zones counted from its corners.
    constexpr double kCell = ledgers::Footprint::kCellMm;
    const double left = std::floor(x / kCell) * kCell;
    const double right = (std::floor((x + width) / kCell) + 1) * kCell;
    const double front = std::floor(y / kCell) * kCell;
    const double back = (std::floor((y + depth) / kCell) + 1) * kCell;
    double fewest = 1e9;
    for (double dx = -left; right + dx <= 200.0 + 1e-9; dx += kCell)
      for (double dy = -front; back + dy <= 200.0 + 1e-9; dy += kCell) {
        const auto first_x = static_cast<int>(std::floor((left + dx) / 50.0 + 1e-9));
        const auto last_x = static_cast<int>(std::ceil((right + dx) / 50.0 - 1e-9)) - 1;
        const auto first_y = static_cast<int>(std::floor((front + dy) / 50.0 + 1e-9));
        const auto last_y = static_cast<int>(std::ceil((back + dy) / 50.0 - 1e-9)) - 1;
        const int wide = last_x - first_x + 1;
        const int deep = last_y - first_y + 1;
        const int beside = (first_x > 0) * deep + (last_x < 3) * deep;
        const int before = (first_y > 0) * wide + (last_y < 3) * wide;
        fewest = std::min(fewest, wide * deep + machine.bed.neighbour_fraction * (beside + before));
      }
    EXPECT_NEAR(best.zones_then, fewest, 1e-9) << round;
  }
}

TEST(Placement, OneZoneOrNothingLaidStaysWhereItIs) {
  Machine machine = zoned();
  ledgers::Footprint footprint(machine.area);
  EXPECT_EQ(best_placement(footprint, machine).shift_x_mm, 0.0);
  machine.bed.zone_policy = ZonePolicy::whole_bed;
  lay_block(footprint, 90, 90, 20, 20);
  EXPECT_EQ(best_placement(footprint, machine).zones_now, 0.0);
}

TEST(Placement, PrefersAPlaceThatLeavesNoDoubt) {
  // 30 mm wide: of all places within a zone of 50 mm, those count whose cells end within it.
  const Machine machine = zoned();
  ledgers::Footprint footprint(machine.area);
  lay_block(footprint, 91, 91, 30, 30);
  const Placement best = best_placement(footprint, machine);
  ASSERT_EQ(best.zones_then, 1.0);
  const ledgers::Footprint there = moved(footprint, best.shift_x_mm, best.shift_y_mm);
  EXPECT_EQ(std::popcount(tiles_by_layer(there, machine.bed, 2)[1]), 1);
}

std::size_t count_laid(const ledgers::Footprint& footprint) {
  std::size_t cells = 0;
  for (std::size_t row = 0; row < footprint.rows(); ++row)
    for (std::size_t column = 0; column < footprint.columns(); ++column)
      cells += footprint.laid(column, row) ? 1U : 0U;
  return cells;
}

TEST(Copies, LieBesideAndClear) {
  const Machine machine = zoned();
  ledgers::Footprint footprint(machine.area);
  lay_block(footprint, 10, 10, 20, 20);
  const auto copies = repeated(footprint, 3, machine);
  ASSERT_TRUE(copies.has_value());
  ASSERT_EQ(copies->shifts_mm.size(), 2U);
  EXPECT_EQ(count_laid(copies->footprint), 3 * count_laid(footprint));  // none on another
  for (const auto& [x_mm, y_mm] : copies->shifts_mm) {
    EXPECT_TRUE(x_mm == 0.0 || y_mm == 0.0);
    EXPECT_GE(std::max(std::abs(x_mm), std::abs(y_mm)), 20.0 + 5.0);
  }
  EXPECT_FALSE(repeated(footprint, 100, machine).has_value());
}

TEST(Copies, PurgeAndWasteAreas) {
  Machine machine = zoned();
  ledgers::Footprint footprint(machine.area);
  lay_block(footprint, 10, 10, 20, 20);
  lay_block(footprint, 60, 10, 20, 20);
  footprint.call_purge(60, 80, 10, 30);
  const auto copies = repeated(footprint, 2, machine);
  ASSERT_TRUE(copies.has_value());
  // The tower is not printed twice, and not printed on.
  EXPECT_EQ(count_laid(copies->footprint), count_laid(footprint) * 3 / 2);
  EXPECT_EQ(count_laid(without_purge(footprint)), count_laid(footprint) / 2);
  machine.waste_areas = {{"everything else", 0, 200, 35, 200}, {"", 85, 200, 0, 200}};
  EXPECT_FALSE(repeated(footprint, 2, machine).has_value());
}

TEST(Tiles, FollowTheLastLayerOnThem) {
  const Machine machine = zoned();
  ledgers::Footprint footprint(machine.area);
  footprint.add(lay(10, 10, 40, 10), 1);
  footprint.add(lay(10, 10, 40, 10), 5);
  footprint.add(lay(60, 60, 90, 60), 2);
  const std::vector<std::uint64_t> tiles = tiles_by_layer(footprint, machine.bed, 6);
  EXPECT_EQ(tiles[1], 0U);
  EXPECT_EQ(tiles[2], std::uint64_t{1} << 5);  // row 1, column 1 of 4 x 4
  EXPECT_EQ(tiles[5], std::uint64_t{1});
}

}  // namespace
}  // namespace platetally::whatif
