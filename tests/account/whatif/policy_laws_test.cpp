// Plates by another machine's purge, random ones, against sums over their swaps; and merges one
// after the other.
#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <random>

#include "account/whatif/replan.hpp"
#include "material/swaps/pair_need.hpp"
#include "platetally/analyze.hpp"
#include "support/kept_plate.hpp"

namespace platetally::whatif {
namespace {

using test::HandMade;
using Orders = std::vector<std::vector<int>>;

/// Changes, layer by layer.
std::vector<std::vector<std::pair<int, int>>> changes_of(const Orders& orders) {
  std::vector<std::vector<std::pair<int, int>>> changes;
  int last = -1;
  for (const std::vector<int>& order : orders) {
    changes.emplace_back();
    for (const int tool : order) {
      if (last >= 0 && last != tool)
        changes.back().emplace_back(last, tool);
      last = tool;
    }
  }
  return changes;
}

double mm3_of(double grams) {
  return grams / base::g_from_mm3(1.0, 1.24);
}

TEST(ReplanLaws, OnOneHeadEveryChangePurgesItsNeed) {
  std::mt19937 random(121);
  for (int round = 0; round < 30; ++round) {
    SCOPED_TRACE(round);
    HandMade made(test::any_orders(random, 2 + random() % 7), 1);
    made.on_tower = round % 2 == 0;
    made.filler_mm = made.on_tower ? 1.5 : 0.0;
    const char* const colours[] = {"black", "white", "green", "red"};
    for (std::size_t tool = 0; tool < 4; ++tool)
      made.machine.tools[tool].colour = colours[tool];
    const KeptPlate plate = made.make();
    const auto needs_mm3 = swaps::pair_needs_mm3(made.machine, {});
    double needed_mm3 = 0.0;
    std::size_t changes = 0;
    for (const auto& layer : changes_of(made.layers))
      for (const auto& [from, to] : layer) {
        needed_mm3 += *needs_mm3[static_cast<std::size_t>(4 * from + to)];
        ++changes;
      }
    std::vector<std::string> assumed;
    const Account account = replan(plate, {}, assumed);
    EXPECT_NEAR(mm3_of(account.totals.purge_g), needed_mm3, 1e-6 * (1.0 + needed_mm3));
    EXPECT_EQ(account.totals.swaps, changes);
    EXPECT_NEAR(account.totals.part_g, plate.account.totals.part_g, 1e-9);
    EXPECT_NEAR(account.totals.purge_by.tower_g, 0.0, 1e-9) << "pushed out at rest";
    EXPECT_NEAR(account.totals.time_by.sum_s(), account.totals.time.expected, 1e-6);
    EXPECT_NEAR(account.totals.energy_by.sum_wh(), account.totals.energy_wh, 1e-9);
    EXPECT_EQ(std::ranges::count(assumed, "every filament change purges what its pair needs"), 1);
  }
}

/// On heads of their own: so much on a tower for each change, and a quarter of it for each that a
/// layer has fewer than the fullest, up to the last change.
double on_tower_mm3(const Orders& orders, double each_mm3) {
  const auto changes = changes_of(orders);
  std::size_t most = 0, last = 0;
  for (std::size_t layer = 0; layer < changes.size(); ++layer) {
    most = std::max(most, changes[layer].size());
    last = changes[layer].empty() ? last : layer + 1;
  }
  double mm3 = 0.0;
  for (std::size_t layer = 0; layer < last; ++layer)
    mm3 += each_mm3 * (static_cast<double>(changes[layer].size()) +
                       0.25 * static_cast<double>(most - changes[layer].size()));
  return mm3;
}

TEST(ReplanLaws, OnHeadsOfTheirOwnATowerStandsToTheLastChange) {
  std::mt19937 random(122);
  for (int round = 0; round < 30; ++round) {
    SCOPED_TRACE(round);
    HandMade made(test::any_orders(random, 2 + random() % 7));
    made.machine.swap.tower_each_mm3 = 50.0;
    const KeptPlate plate = made.make();
    std::vector<std::string> assumed;
    const Account account = replan(plate, {}, assumed);
    const double expected_mm3 = on_tower_mm3(made.layers, 50.0);
    EXPECT_NEAR(mm3_of(account.totals.purge_g), expected_mm3, 1e-6 * (1.0 + expected_mm3));
    EXPECT_NEAR(account.totals.purge_by.at_rest_g, 0.0, 1e-9);
    EXPECT_NEAR(account.totals.part_g, plate.account.totals.part_g, 1e-9);
  }
}

TEST(ReplanLaws, ToolsThatThePlateDoesNotUseChangeNothing) {
  // A fourth tool shares a head with the third, and would purge 600 mm3 if it came.
  std::mt19937 random(123);
  for (int round = 0; round < 10; ++round) {
    HandMade made(test::any_orders(random, 5));
    made.machine.swap.tower_each_mm3 = 50.0;
    made.machine.swap.purge_each_mm3 = 600.0;
    made.machine.tools[3].head = made.machine.tools[2].head;
    const KeptPlate plate = made.make();
    std::vector<std::string> assumed;
    const double expected_mm3 = on_tower_mm3(made.layers, 50.0);
    EXPECT_NEAR(mm3_of(replan(plate, {}, assumed).totals.purge_g), expected_mm3,
                1e-6 * (1.0 + expected_mm3));
  }
}

TEST(ReplanLaws, WhatTheFilePurgedDoesNotMatter) {
  std::mt19937 random(124);
  const Orders orders = test::any_orders(random, 6);
  const auto purge_g = [&orders](bool on_tower, double filler_mm) {
    HandMade made(orders, 1);
    made.on_tower = on_tower;
    made.filler_mm = filler_mm;
    std::vector<std::string> assumed;
    return replan(made.make(), {}, assumed).totals.purge_g;
  };
  const double expected_g = purge_g(false, 0.0);
  EXPECT_GT(expected_g, 0.0);
  EXPECT_NEAR(purge_g(true, 0.0), expected_g, 1e-9);
  EXPECT_NEAR(purge_g(true, 4.0), expected_g, 1e-9);
}

TEST(ReplanLaws, AVariantIsPlayedBesides) {
  HandMade made({{0, 1, 2}, {0, 1, 2}, {0, 1, 2}}, 1);
  made.machine.swap.purge_each_mm3 = 100.0;
  const KeptPlate plate = made.make();
  Variant variant;
  variant.orders = {{0, 1, 2}, {2, 1, 0}, {0, 1, 2}};
  std::vector<std::string> assumed;
  EXPECT_NEAR(mm3_of(replan(plate, variant, assumed).totals.purge_g), 6 * 100.0, 1e-6);
  variant.without = {1};
  EXPECT_THROW(replan(plate, variant, assumed), UnreadablePlate);
}

TEST(Merges, AreMadeOneAfterTheOther) {
  const KeptPlate plate = HandMade({{0, 1, 2}, {2, 1, 0}}).make();
  Variant chain;
  chain.merge = {{2, 1}, {1, 0}};
  const Played all = play(plate, chain);
  ASSERT_TRUE(all.ok()) << all.impossible;
  EXPECT_EQ(all.account.totals.swaps, 0U) << "2 is 1, and 1 is 0: so is what 2 was";
  EXPECT_NEAR(all.account.tools[0].part_g, plate.account.totals.part_g, 1e-9);
  chain.merge = {{1, 0}, {2, 1}};
  const Played two = play(plate, chain);
  ASSERT_TRUE(two.ok()) << two.impossible;
  EXPECT_NEAR(two.account.tools[1].part_g, plate.account.tools[2].part_g, 1e-9)
      << "what 2 was stays with 1";
}

}  // namespace
}  // namespace platetally::whatif
