// Laws of variants, on random plates made by hand: what a variant leaves is what a plate has that
// was made so from the start.
#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <map>
#include <random>

#include "account/ledgers/purge_short.hpp"
#include "account/whatif/thin_out.hpp"
#include "platetally/analyze.hpp"
#include "support/kept_plate.hpp"

namespace platetally::whatif {
namespace {

using test::HandMade;
using Orders = std::vector<std::vector<int>>;

const double kGPerMm = base::g_from_mm3(base::filament_area_mm2(1.75), 1.24);

Account played(const KeptPlate& plate, const Variant& variant) {
  const Played result = play(plate, variant);
  EXPECT_TRUE(result.ok()) << result.impossible;
  return result.account;
}

Orders shuffled(Orders orders, std::mt19937& random) {
  for (std::vector<int>& order : orders)
    std::shuffle(order.begin(), order.end(), random);
  return orders;
}

using Pairs = std::map<std::pair<int, int>, std::uint64_t>;

Pairs counted(const Orders& orders) {
  Pairs pairs;
  int last = -1;
  for (const std::vector<int>& order : orders)
    for (const int tool : order) {
      if (last >= 0 && tool != last)
        ++pairs[{last, tool}];
      last = tool;
    }
  return pairs;
}

Pairs pairs_of(const Account& account) {
  Pairs pairs;
  for (const SwapPairAccount& pair : account.swap_pairs)
    if (pair.count > 0)
      pairs[{pair.from, pair.to}] = pair.count;
  return pairs;
}

TEST(VariantLaws, InAnotherOrderThePlateIsTheOneThatWasMadeInIt) {
  std::mt19937 random(31);
  for (int round = 0; round < 40; ++round) {
    SCOPED_TRACE(round);
    const Orders orders = test::any_orders(random, 2 + random() % 7);
    const Orders wanted = shuffled(orders, random);
    const KeptPlate plate = HandMade(orders).make();
    const Account made = HandMade(wanted).make().account;
    Variant variant;
    variant.orders = wanted;
    const Account account = played(plate, variant);
    EXPECT_EQ(pairs_of(account), counted(wanted));
    EXPECT_EQ(account.totals.swaps, made.totals.swaps);
    EXPECT_NEAR(account.totals.part_g, made.totals.part_g, 1e-9);
    EXPECT_NEAR(account.totals.purge_g, made.totals.purge_g, 1e-9);
    EXPECT_NEAR(account.totals.time_by.print_s, made.totals.time_by.print_s, 1e-9);
    for (std::size_t tool = 0; tool < account.tools.size(); ++tool) {
      EXPECT_NEAR(account.tools[tool].part_g, made.tools[tool].part_g, 1e-9);
      EXPECT_NEAR(account.tools[tool].purge_g, made.tools[tool].purge_g, 1e-9);
    }
    for (std::size_t layer = 1; layer < account.layers.size(); ++layer) {
      EXPECT_EQ(account.layers[layer].order, wanted[layer - 1]);
      EXPECT_EQ(account.layers[layer].swaps, made.layers[layer].swaps);
      EXPECT_NEAR(account.layers[layer].part_g, made.layers[layer].part_g, 1e-9);
    }
    // Both make landings of half a second, which are not told apart where a plate has none.
    const double landings_s = HandMade::kLandingS * static_cast<double>(made.totals.swaps + 30);
    EXPECT_NEAR(account.totals.time.expected - account.totals.time_by.heat_wait_s,
                made.totals.time.expected - made.totals.time_by.heat_wait_s, landings_s);
  }
}

TEST(VariantLaws, InItsOwnOrderNothingChanges) {
  std::mt19937 random(32);
  for (int round = 0; round < 20; ++round) {
    SCOPED_TRACE(round);
    HandMade made(test::any_orders(random, 3 + random() % 6));
    made.on_tower = round % 2 == 0;
    made.filler_mm = made.on_tower ? 2.0 : 0.0;
    const KeptPlate plate = made.make();
    Variant variant;
    variant.orders = made.layers;
    const Account account = played(plate, variant);
    EXPECT_NEAR(account.totals.time.expected, plate.account.totals.time.expected, 1e-9);
    EXPECT_NEAR(account.totals.time.low, plate.account.totals.time.low, 1e-9);
    EXPECT_NEAR(account.totals.time.high, plate.account.totals.time.high, 1e-9);
    EXPECT_NEAR(account.totals.energy_wh, plate.account.totals.energy_wh, 1e-9);
    EXPECT_NEAR(account.totals.purge_g, plate.account.totals.purge_g, 1e-9);
    EXPECT_EQ(pairs_of(account), pairs_of(plate.account));
  }
}

struct NoChange {
  const char* name;
  void (*make)(Variant&, const Machine&);
};

class ChangesNothing : public testing::TestWithParam<NoChange> {};

TEST_P(ChangesNothing, OfTheAccount) {
  HandMade made({{0, 1, 2}, {2, 0}, {1, 2}});
  made.on_tower = true;
  made.filler_mm = 1.5;
  const KeptPlate plate = made.make();
  Variant variant;
  GetParam().make(variant, plate.machine);
  const Account account = played(plate, variant);
  const Totals& now = account.totals;
  const Totals& was = plate.account.totals;
  EXPECT_NEAR(now.time.expected, was.time.expected, 1e-9);
  EXPECT_NEAR(now.time.low, was.time.low, 1e-9);
  EXPECT_NEAR(now.time.high, was.time.high, 1e-9);
  EXPECT_NEAR(now.energy_wh, was.energy_wh, 1e-9);
  EXPECT_NEAR(now.part_g, was.part_g, 1e-9);
  EXPECT_NEAR(now.purge_g, was.purge_g, 1e-9);
  EXPECT_NEAR(now.time_by.heat_wait_s, was.time_by.heat_wait_s, 1e-9);
  EXPECT_EQ(now.swaps, was.swaps);
  EXPECT_EQ(pairs_of(account), pairs_of(plate.account));
  ASSERT_EQ(account.layers.size(), plate.account.layers.size());
  for (std::size_t i = 0; i < account.layers.size(); ++i) {
    EXPECT_NEAR(account.layers[i].time_by.sum_s(), plate.account.layers[i].time_by.sum_s(), 1e-9);
    EXPECT_NEAR(account.layers[i].purge_g, plate.account.layers[i].purge_g, 1e-9);
    EXPECT_NEAR(account.layers[i].energy_by.sum_wh(), plate.account.layers[i].energy_by.sum_wh(),
                1e-9);
  }
}

INSTANTIATE_TEST_SUITE_P(
    Variant, ChangesNothing,
    testing::Values(
        NoChange{"as_it_is", [](Variant&, const Machine&) {}},
        NoChange{"its_own_room", [](Variant& v, const Machine& m) { v.room_c = m.room_c; }},
        NoChange{"no_standby", [](Variant& v, const Machine&) { v.standby_c = 0.0; }},
        NoChange{"once", [](Variant& v, const Machine&) { v.repeat = 1; }},
        NoChange{"all_layers", [](Variant& v, const Machine&) { v.layers_share = 1.0; }},
        NoChange{"its_own_orders",
                 [](Variant& v, const Machine&) {
                   v.orders = {{0, 1, 2}, {2, 0}, {1, 2}};
                 }},
        NoChange{"moved_by_nothing", [](Variant& v, const Machine&) { v.shift_x_mm = -0.0; }}),
    [](const auto& change) { return std::string(change.param.name); });

TEST(VariantLaws, AToolThatIsNotUsedLeavesNothingButItsHeadCold) {
  const KeptPlate plate = HandMade({{0, 1, 2}, {2, 0}, {1, 2}}).make();
  ASSERT_GT(plate.account.tools[3].energy_wh, 0.0) << "heated, and never taken";
  Variant merged, taken_out;
  merged.merge = {{3, 0}};
  taken_out.without = {3};
  for (const Variant& variant : {merged, taken_out}) {
    const Account account = played(plate, variant);
    EXPECT_EQ(account.tools[3].energy_wh, 0.0);
    EXPECT_LT(account.totals.energy_wh, plate.account.totals.energy_wh);
    EXPECT_NEAR(account.tools[1].energy_wh, plate.account.tools[1].energy_wh, 1e-9);
    EXPECT_NEAR(account.totals.time.expected, plate.account.totals.time.expected, 1e-9);
    EXPECT_NEAR(account.totals.purge_g, plate.account.totals.purge_g, 1e-9);
    EXPECT_EQ(pairs_of(account), pairs_of(plate.account));
  }
}

TEST(VariantLaws, PlayingLeavesThePlateAsItWas) {
  std::mt19937 random(33);
  HandMade made(test::any_orders(random, 6));
  made.on_tower = true;
  const KeptPlate plate = made.make();
  Variant variant;
  variant.orders = shuffled(made.layers, random);
  variant.room_c = 30.0;
  variant.standby_c = 120.0;
  const Account once = played(plate, variant);
  const Account other = played(plate, {});
  const Account again = played(plate, variant);
  EXPECT_EQ(again.totals.energy_wh, once.totals.energy_wh) << "to the last bit";
  EXPECT_EQ(again.totals.time, once.totals.time);
  EXPECT_EQ(other.totals.energy_wh, plate.account.totals.energy_wh);
}

TEST(VariantLaws, MergesOfDifferentToolsCommute) {
  std::mt19937 random(34);
  for (int round = 0; round < 20; ++round) {
    Orders orders;
    for (std::size_t i = 0; i < 2 + random() % 5; ++i) {
      std::vector<int> order{0, 1, 2, 3};
      std::shuffle(order.begin(), order.end(), random);
      orders.push_back(order);
    }
    const KeptPlate plate = HandMade(orders).make();
    Variant one, other;
    one.merge = {{2, 0}, {3, 1}};
    other.merge = {{3, 1}, {2, 0}};
    const Account a = played(plate, one), b = played(plate, other);
    EXPECT_EQ(pairs_of(a), pairs_of(b));
    EXPECT_NEAR(a.totals.time.expected, b.totals.time.expected, 1e-9);
    EXPECT_NEAR(a.totals.energy_wh, b.totals.energy_wh, 1e-9);
    EXPECT_NEAR(a.totals.purge_g, b.totals.purge_g, 1e-9);
    // Each layer's tools, the merged ones where the first of the two stood.
    Orders merged;
    for (const std::vector<int>& order : orders) {
      merged.emplace_back();
      for (const int tool : order)
        if (std::ranges::find(merged.back(), tool % 2) == merged.back().end())
          merged.back().push_back(tool % 2);
    }
    EXPECT_EQ(pairs_of(a), counted(merged));
    EXPECT_NEAR(a.totals.part_g, plate.account.totals.part_g, 1e-9) << "all of it is printed";
    EXPECT_NEAR(a.tools[0].part_g + a.tools[1].part_g, a.totals.part_g, 1e-9);
  }
}

TEST(VariantLaws, CopiesPrintAsManyTimesAndSwapOnce) {
  std::mt19937 random(35);
  for (int times = 2; times <= 6; ++times) {
    const Orders orders = test::any_orders(random, 5);
    const KeptPlate plate = HandMade(orders).make();
    Variant variant;
    variant.repeat = times;
    const Played result = play(plate, variant);
    ASSERT_TRUE(result.ok()) << result.impossible;
    EXPECT_EQ(result.copies_at_mm.size(), static_cast<std::size_t>(times - 1));
    EXPECT_EQ(pairs_of(result.account), counted(orders));
    EXPECT_NEAR(result.account.totals.part_g, times * plate.account.totals.part_g, 1e-9);
    EXPECT_NEAR(result.account.totals.purge_g, plate.account.totals.purge_g, 1e-9);
    EXPECT_NEAR(result.account.totals.time_by.print_s, times * plate.account.totals.time_by.print_s,
                1e-9);
    EXPECT_GT(result.account.totals.energy_wh, plate.account.totals.energy_wh);
    EXPECT_LT(result.account.totals.energy_wh, times * plate.account.totals.energy_wh)
        << "warming up happens once";
  }
}

TEST(VariantLaws, ThickerLayersLayTheSameAndSwapLess) {
  const KeptPlate plate = HandMade(Orders(21, {0, 1, 2})).make();
  std::uint64_t before = plate.account.totals.swaps;
  for (const double share : {0.9, 0.75, 0.5, 0.4, 0.25, 0.1}) {
    Variant variant;
    variant.layers_share = share;
    const Account account = played(plate, variant);
    EXPECT_NEAR(account.totals.part_g, plate.account.totals.part_g, 1e-9) << share;
    EXPECT_LE(account.totals.swaps, before) << share;
    // The first layer stays whole, and that share of the twenty above it.
    const double layers = 1.0 + share * 20.0;
    EXPECT_NEAR(static_cast<double>(account.totals.swaps), 3.0 * layers - 1.0, 3.0) << share;
    before = account.totals.swaps;
  }
}

TEST(VariantLaws, PurgeAsNeededAndEnoughTogetherIsTheNeed) {
  std::mt19937 random(36);
  for (int round = 0; round < 20; ++round) {
    SCOPED_TRACE(round);
    KeptPlate plate = HandMade(test::any_orders(random, 8), 1).make();
    double needed_g = 0.0, less_g = 0.0, more_g = 0.0;
    for (SwapPairAccount& pair : plate.account.swap_pairs) {
      const double each_g =
          HandMade::kPurgeMm * kGPerMm * (0.2 + 0.1 * static_cast<double>(random() % 20));
      const auto count = static_cast<double>(pair.count);
      pair.needed_g = count * each_g;
      needed_g += count * each_g;
      less_g += count * std::min(each_g, HandMade::kPurgeMm * kGPerMm);
      more_g += count * std::max(each_g, HandMade::kPurgeMm * kGPerMm);
    }
    Variant variant;
    variant.purge_as_needed = true;
    EXPECT_NEAR(played(plate, variant).totals.purge_g, less_g, 1e-9);
    variant.purge_enough = true;
    EXPECT_NEAR(played(plate, variant).totals.purge_g, needed_g, 1e-9);
    variant.purge_as_needed = false;
    EXPECT_NEAR(played(plate, variant).totals.purge_g, more_g, 1e-9);
  }
}

TEST(VariantLaws, AWarmerRoomNeverTakesMore) {
  const KeptPlate plate = HandMade({{0, 1}, {0, 1}, {0, 1}}).make();
  double before_wh = 1e9, before_s = 1e9;
  for (const double room_c : {0.0, 10.0, 20.0, 30.0, 40.0}) {
    Variant variant;
    variant.room_c = room_c;
    const Account account = played(plate, variant);
    EXPECT_LT(account.totals.energy_wh, before_wh) << room_c;
    EXPECT_LE(account.totals.time_by.heat_wait_s, before_s + 1e-9) << room_c;
    before_wh = account.totals.energy_wh;
    before_s = account.totals.time_by.heat_wait_s;
  }
}

TEST(Shortage, OfAPlateIsGoneWhereItsNeedIsNotKnown) {
  KeptPlate plate = HandMade(Orders(4, {0, 1}), 1).make();
  plate.account.tools[0].colour = "black";
  plate.account.tools[1].colour = "white";
  ledgers::hold_against_need(plate.turns, plate.machine, plate.materials, plate.account);
  ASSERT_EQ(plate.account.totals.swaps_short, 7.0);
  ASSERT_GT(*plate.account.totals.purge_short_g, 0.0);
  plate.account.tools[1].colour = "no colour";
  ledgers::hold_against_need(plate.turns, plate.machine, plate.materials, plate.account);
  EXPECT_EQ(plate.account.totals.swaps_short, std::nullopt);
  EXPECT_EQ(plate.account.totals.purge_short_g, std::nullopt);
  for (const SwapPairAccount& pair : plate.account.swap_pairs) {
    EXPECT_EQ(pair.swaps_short, 0U);
    EXPECT_EQ(pair.short_g, 0.0);
    EXPECT_EQ(pair.left_de00, std::nullopt);
    EXPECT_EQ(pair.needed_each_high_g, std::nullopt);
    EXPECT_NEAR(pair.purge_each_low_g, HandMade::kPurgeMm * kGPerMm, 1e-9) << "which stays known";
  }
}

TEST(Shortage, IsTheNeedLessWhatIsPurgedSwapBySwap) {
  KeptPlate plate = HandMade(Orders(5, {0, 1}), 1).make();
  const double area_mm2 = base::filament_area_mm2(1.75);
  plate.machine.swap_pairs = {{.from = 0, .to = 1, .seconds = {}, .needed_mm3 = 100.0},
                              {.from = 1, .to = 0, .seconds = {}, .needed_mm3 = 5.0}};
  plate.machine.need.margin = 2.0;
  // What leaves the accepted colour is 50 mm3: of the swaps to 1, all but the last are short of it.
  std::vector<double> purged_mm3;
  for (ledgers::Turn& turn : plate.turns)
    if (turn.from == 0 && turn.tool == 1) {
      purged_mm3.push_back(10.0 + 10.1 * static_cast<double>(purged_mm3.size()));
      turn.purge_mm = purged_mm3.back() / area_mm2;
    }
  ledgers::hold_against_need(plate.turns, plate.machine, plate.materials, plate.account);
  double short_mm3 = 0.0;
  std::uint64_t short_swaps = 0;
  for (const double mm3 : purged_mm3)
    if (mm3 < 50.0) {
      short_mm3 += 100.0 - mm3;
      ++short_swaps;
    }
  EXPECT_EQ(short_swaps, 4U);
  for (const SwapPairAccount& pair : plate.account.swap_pairs) {
    const bool is_to_one = pair.to == 1;
    EXPECT_EQ(pair.swaps_short, is_to_one ? short_swaps : 0U);
    EXPECT_NEAR(pair.short_g, is_to_one ? base::g_from_mm3(short_mm3, 1.24) : 0.0, 1e-9);
    EXPECT_NEAR(*pair.needed_each_high_g, 2.0 * *pair.needed_each_low_g, 1e-12);
  }
}

TEST(ThinOut, KeepsTheShareOfAnyLayers) {
  std::mt19937 random(37);
  for (int round = 0; round < 200; ++round) {
    const std::size_t layers = 1 + random() % 60;
    const double share = 0.01 * static_cast<double>(1 + random() % 100);
    std::vector<double> layer_s(layers);
    for (double& seconds : layer_s)
      seconds = 1.0 + static_cast<double>(random() % 100);
    const std::vector<bool> stay = layers_that_stay(layer_s, share);
    ASSERT_EQ(stay.size(), layers);
    EXPECT_TRUE(stay[0]);
    const auto kept = static_cast<double>(std::count(stay.begin() + 1, stay.end(), true));
    // Evenly spread: never a whole layer more or less than the share, in any run from the front.
    EXPECT_NEAR(kept, share * static_cast<double>(layers - 1), 1.0) << layers << ' ' << share;
    double so_far = 0.0;
    for (std::size_t i = 1; i < layers; ++i) {
      so_far += stay[i] ? 1.0 : 0.0;
      EXPECT_NEAR(so_far, share * static_cast<double>(i), 1.0 + 1e-9);
    }
    if (share == 1.0) {
      EXPECT_EQ(std::count(stay.begin(), stay.end(), true), static_cast<long>(layers));
    }
  }
}

}  // namespace
}  // namespace platetally::whatif
