// Variants of a plate made by hand, against sums that can be done in the head.
#include <gtest/gtest.h>

#include <algorithm>

#include "account/ledgers/purge_short.hpp"
#include "support/kept_plate.hpp"

namespace platetally::whatif {
namespace {

using test::HandMade;

constexpr double kSwapS = 7.0;
const double kGPerMm = base::g_from_mm3(base::filament_area_mm2(1.75), 1.24);

/// Seconds without heat waits.
double motion_s(const Account& account) {
  return account.totals.time.expected - account.totals.time_by.heat_wait_s;
}

Account played(const KeptPlate& plate, const Variant& variant) {
  const Played result = play(plate, variant);
  EXPECT_TRUE(result.ok()) << result.impossible;
  const Totals& totals = result.account.totals;
  // What holds of every account holds of this one.
  EXPECT_NEAR(totals.time_by.sum_s(), totals.time.expected, 1e-6);
  EXPECT_NEAR(totals.energy_by.sum_wh(), totals.energy_wh, 1e-9);
  double pairs = 0.0, pair_g = 0.0, tool_part_g = 0.0, tool_purge_g = 0.0;
  for (const SwapPairAccount& pair : result.account.swap_pairs) {
    pairs += static_cast<double>(pair.count);
    pair_g += pair.purge_g;
  }
  for (const ToolAccount& tool : result.account.tools) {
    tool_part_g += tool.part_g;
    tool_purge_g += tool.purge_g;
  }
  EXPECT_EQ(pairs, static_cast<double>(totals.swaps));
  EXPECT_NEAR(pair_g, totals.purge_g, 1e-9);
  EXPECT_NEAR(tool_part_g, totals.part_g, 1e-9);
  EXPECT_NEAR(tool_purge_g, totals.purge_g, 1e-9);
  EXPECT_NEAR(totals.purge_by.at_rest_g + totals.purge_by.tower_g, totals.purge_g, 1e-9);
  return result.account;
}

TEST(Play, NothingChangedIsTheSameAccount) {
  const KeptPlate plate = HandMade({{0, 1, 2}, {0, 1, 2}, {0, 1, 2}}).make();
  const Account as_is = played(plate, {});
  EXPECT_EQ(as_is.totals.energy_wh, plate.account.totals.energy_wh);
  Variant same;
  same.orders = {{0, 1, 2}, {0, 1, 2}, {0, 1, 2}};
  const Account again = played(plate, same);
  EXPECT_NEAR(again.totals.time.expected, plate.account.totals.time.expected, 1e-9);
  EXPECT_NEAR(again.totals.time.low, plate.account.totals.time.low, 1e-9);
  EXPECT_NEAR(again.totals.energy_wh, plate.account.totals.energy_wh, 1e-9);
  for (std::size_t i = 0; i < again.layers.size(); ++i) {
    EXPECT_NEAR(again.layers[i].time_by.sum_s(), plate.account.layers[i].time_by.sum_s(), 1e-9);
    EXPECT_NEAR(again.layers[i].purge_g, plate.account.layers[i].purge_g, 1e-12);
    EXPECT_EQ(again.layers[i].order, plate.account.layers[i].order);
  }
}

TEST(Play, AnotherOrderSwapsLess) {
  const KeptPlate plate = HandMade({{0, 1, 2}, {0, 1, 2}, {0, 1, 2}}).make();
  ASSERT_EQ(plate.account.totals.swaps, 8U);
  Variant variant;
  variant.orders = {{0, 1, 2}, {2, 1, 0}, {0, 1, 2}};
  const Account account = played(plate, variant);
  EXPECT_EQ(account.totals.swaps, 6U);
  // Two swaps fewer, each with its purge, and half of the way to the chute and back.
  const double saved_s = 2.0 * (kSwapS + HandMade::kPurgeS + 0.5 * HandMade::kLandingS);
  EXPECT_NEAR(motion_s(plate.account) - motion_s(account), saved_s, 1e-9);
  EXPECT_NEAR(plate.account.totals.purge_g - account.totals.purge_g,
              2.0 * HandMade::kPurgeMm * kGPerMm, 1e-12);
  EXPECT_NEAR(account.totals.part_g, plate.account.totals.part_g, 1e-12);
  // The band follows the number of swaps: 7 - 5 and 9 - 7 s each.
  EXPECT_NEAR(account.totals.time.expected - account.totals.time.low, 6 * 2.0, 1e-9);
  EXPECT_EQ(account.layers[2].order, (std::vector<int>{2, 1, 0}));
  EXPECT_LT(account.totals.energy_wh, plate.account.totals.energy_wh);
}

TEST(Play, APlateMayBeginWithAnotherTool) {
  const KeptPlate plate = HandMade({{0, 1}, {0, 1}}).make();
  Variant variant;
  variant.orders = {{1, 0}, {0, 1}};
  const Account account = played(plate, variant);
  EXPECT_EQ(account.totals.swaps, 2U);  // 1 0 | 0 1 instead of 0 1 | 0 1
}

TEST(Play, CopiesShareTheSwaps) {
  const KeptPlate plate = HandMade({{0, 1}, {0, 1}, {0, 1}}).make();
  Variant variant;
  variant.repeat = 3;
  const Account account = played(plate, variant);
  EXPECT_EQ(account.totals.swaps, plate.account.totals.swaps);
  EXPECT_NEAR(account.totals.purge_g, plate.account.totals.purge_g, 1e-12);
  EXPECT_NEAR(account.totals.part_g, 3.0 * plate.account.totals.part_g, 1e-12);
  // Six turns print and travel twice more; landing behind five swaps happens once.
  const double more_s =
      2.0 * (6.0 * (HandMade::kPrintS + HandMade::kTravelS) - 5.0 * HandMade::kLandingS);
  EXPECT_NEAR(motion_s(account) - motion_s(plate.account), more_s, 1e-9);
}

TEST(Play, CopiesThatDoNotFitAreRefused) {
  HandMade made({{0, 1}, {0, 1}});
  made.machine.area = {0, 160, 0, 160, 200};
  const KeptPlate plate = made.make();
  Variant variant;
  variant.repeat = 12;
  EXPECT_NE(play(plate, variant).impossible.find("no room for 12"), std::string::npos);
  variant.repeat = 2;
  EXPECT_TRUE(play(plate, variant).ok());
}

TEST(Play, ObjectsOneAfterTheOtherShareNothing) {
  HandMade made({{0, 1}, {0, 1}, {0, 1}, {0, 1}});
  KeptPlate plate = made.make();
  for (ledgers::Turn& turn : plate.turns)  // layers 1 2 1 2
    turn.layer = turn.layer > 2 ? turn.layer - 2 : turn.layer;
  Variant variant;
  variant.repeat = 2;
  EXPECT_NE(play(plate, variant).impossible.find("one after the other"), std::string::npos);
}

TEST(Play, ATowerGoesWithItsWay) {
  HandMade made({{0, 1}, {0, 1}, {0, 1}});
  made.on_tower = true;
  made.filler_mm = 2.0;
  const KeptPlate plate = made.make();
  // Five swaps; the first layer has one fewer than the others, and is filled up.
  ASSERT_NEAR(plate.account.totals.purge_g, (5 * HandMade::kPurgeMm + 2.0) * kGPerMm, 1e-9);
  Variant variant;
  variant.drop_tower = true;
  const Account account = played(plate, variant);
  EXPECT_NEAR(account.totals.purge_g, 0.0, 1e-12);
  EXPECT_EQ(account.totals.swaps, 5U);
  EXPECT_NEAR(motion_s(plate.account) - motion_s(account),
              5.0 * (HandMade::kPurgeS + HandMade::kLandingS) + 0.5 * 2.0, 1e-9);
}

TEST(Play, ATowerIsFilledWhereFewerSwapsAreLeft) {
  HandMade made({{0, 1, 2}, {0, 1, 2}, {0, 1, 2}, {0, 1, 2}});
  made.on_tower = true;
  made.filler_mm = 2.0;
  const KeptPlate plate = made.make();  // swaps 2 3 3 3: the first layer lacks one
  Variant variant;
  variant.orders = {{0, 1, 2}, {2, 1, 0}, {0, 1, 2}, {2, 0, 1}};  // 2 2 2 2
  const Account even = played(plate, variant);
  EXPECT_EQ(even.totals.swaps, 8U);
  EXPECT_NEAR(even.totals.purge_g, 8.0 * HandMade::kPurgeMm * kGPerMm, 1e-9);
  variant.orders = {{0, 1, 2}, {2, 1, 0}, {1, 0, 2}, {2, 0, 1}};  // 2 2 3 2
  const Account uneven = played(plate, variant);
  EXPECT_EQ(uneven.totals.swaps, 9U);
  EXPECT_NEAR(uneven.totals.purge_g, (9.0 * HandMade::kPurgeMm + 3.0 * 2.0) * kGPerMm, 1e-9);
}

TEST(Play, ThickerLayersAreFewer) {
  std::vector<std::vector<int>> layers(11, {0, 1});
  const KeptPlate plate = HandMade(layers).make();  // 1 + 10 layers, 21 swaps
  Variant variant;
  variant.layers_share = 0.5;
  const Account account = played(plate, variant);
  EXPECT_EQ(account.totals.swaps, 11U);  // 1 + 5 layers
  EXPECT_NEAR(account.totals.part_g, plate.account.totals.part_g, 1e-12);
  const double turn_s = HandMade::kPrintS + HandMade::kTravelS;
  EXPECT_NEAR(motion_s(plate.account) - motion_s(account),
              10.0 * turn_s + 10.0 * (kSwapS + HandMade::kPurgeS), 1e-9);
}

TEST(Play, MergedToolsNeedNoSwapBetweenThem) {
  const KeptPlate plate = HandMade({{0, 1, 2}, {0, 1, 2}}).make();
  Variant variant;
  variant.merge = {{2, 0}};
  const Account account = played(plate, variant);
  EXPECT_EQ(account.totals.swaps, 3U);  // 0 0 1 | 0 0 1, as 0 1 | 0 1
  EXPECT_NEAR(account.tools[2].part_g, 0.0, 1e-12);
  EXPECT_NEAR(account.tools[0].part_g, 4.0 * HandMade::kPartMm * kGPerMm, 1e-12);
  EXPECT_LT(account.tools[2].energy_wh, 1e-9);  // its head stays cold
}

TEST(Play, ToolsWithoutPartAreTakenOut) {
  HandMade made({{0, 3, 1}, {0, 3, 1}});
  KeptPlate plate = made.make();
  for (ledgers::Turn& turn : plate.turns)
    if (turn.tool == 3) {
      turn.print_s = 0.0;
      turn.fed_mm = turn.melted_mm = turn.purge_mm;
    }
  Variant variant;
  variant.without = {3};
  const Played result = play(plate, variant);
  ASSERT_TRUE(result.ok()) << result.impossible;
  EXPECT_EQ(result.account.totals.swaps, 3U);
  variant.without = {1};
  EXPECT_NE(play(plate, variant).impossible.find("tool 1 lays part"), std::string::npos);
}

TEST(Play, NeedBoundsWhatIsPurged) {
  HandMade made({{0, 1}, {0, 1}}, 1);
  KeptPlate plate = made.make();
  const double purged_g = HandMade::kPurgeMm * kGPerMm;
  for (SwapPairAccount& pair : plate.account.swap_pairs)
    pair.needed_g = static_cast<double>(pair.count) * purged_g * (pair.to == 1 ? 0.5 : 3.0);
  Variant variant;
  variant.purge_as_needed = true;  // to 1 twice, to 0 once
  EXPECT_NEAR(played(plate, variant).totals.purge_g, (2 * 0.5 + 1.0) * purged_g, 1e-9);
  variant = {};
  variant.purge_enough = true;
  EXPECT_NEAR(played(plate, variant).totals.purge_g, (2 * 1.0 + 3.0) * purged_g, 1e-9);
}

TEST(Play, WhatIsShortIsOfTheVariant) {
  KeptPlate plate = HandMade(std::vector<std::vector<int>>(6, {0, 1}), 1).make();
  plate.account.tools[0].colour = "black";
  plate.account.tools[1].colour = "white";
  ledgers::hold_against_need(plate.turns, plate.machine, plate.materials, plate.account);
  ASSERT_EQ(plate.account.totals.swaps_short, 11.0);
  Variant fewer;
  fewer.orders = {{0, 1}, {1, 0}, {0, 1}, {1, 0}, {0, 1}, {1, 0}};
  const Account ordered = played(plate, fewer);
  ASSERT_EQ(ordered.totals.swaps, 6U);
  EXPECT_EQ(ordered.totals.swaps_short, 6.0);
  EXPECT_LT(*ordered.totals.purge_short_g, *plate.account.totals.purge_short_g);
  for (SwapPairAccount& pair : plate.account.swap_pairs)
    pair.needed_g = static_cast<double>(pair.count) * *pair.needed_each_high_g;
  Variant enough;
  enough.purge_enough = true;
  const Account purged = played(plate, enough);
  EXPECT_EQ(purged.totals.swaps_short, 0.0);
  EXPECT_NEAR(*purged.totals.purge_short_g, 0.0, 1e-12);
  for (const SwapPairAccount& pair : purged.swap_pairs)
    EXPECT_LT(*pair.left_de00, 2.0 + 1e-9);  // what is accepted
}

TEST(Play, StandbyAndRoomChangeTheHeatOnly) {
  const KeptPlate plate = HandMade({{0, 1}, {0, 1}}).make();
  Variant variant;
  variant.room_c = 35.0;
  EXPECT_LT(played(plate, variant).totals.energy_wh, plate.account.totals.energy_wh);
  variant = {};
  variant.standby_c = 100.0;
  const Account account = played(plate, variant);
  EXPECT_NEAR(motion_s(account), motion_s(plate.account), 1e-9);
  EXPECT_GT(account.totals.time_by.heat_wait_s, plate.account.totals.time_by.heat_wait_s + 30.0);
}

TEST(Play, HeadsAreHeatedWithTheirLayer) {
  HandMade made({{0}, {0}, {0}, {0}, {0}, {0}, {0, 1}, {0}, {0}});
  const KeptPlate plate = made.make();
  Variant variant;
  variant.heat = {{1, 6}, {2, 0}, {3, 0}};
  const Account account = played(plate, variant);
  EXPECT_EQ(account.tools[2].energy_wh, 0.0);  // lays nothing: cold
  EXPECT_GT(account.tools[1].energy_wh, 0.0);
  EXPECT_LT(account.tools[1].energy_wh, 0.8 * plate.account.tools[1].energy_wh);
  // Two layers of 22 s are not enough to warm up: the rest is waited for.
  EXPECT_GT(account.layers[7].time_by.heat_wait_s, 5.0);
}

TEST(Play, OnlyWhatCanBeIsAsked) {
  const KeptPlate plate = HandMade({{0, 1}, {0, 1}}).make();
  Variant variant;
  variant.merge = {{1, 9}};
  EXPECT_THROW(play(plate, variant), std::invalid_argument);
  variant = {};
  variant.repeat = 0;
  EXPECT_THROW(play(plate, variant), std::invalid_argument);
  variant = {};
  variant.layers_share = 0.0;
  EXPECT_THROW(play(plate, variant), std::invalid_argument);
  KeptPlate without_turns = plate;
  without_turns.turns.clear();
  variant = {};
  variant.repeat = 2;
  EXPECT_FALSE(play(without_turns, variant).ok());
}

}  // namespace
}  // namespace platetally::whatif
