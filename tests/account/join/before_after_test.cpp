// Before and after: nothing is lost between heights, swapping the two turns every sign, and what is
// called a difference is one.
#include "platetally/before_after.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <numeric>

#include "platetally/account.hpp"
#include "support/chance.hpp"

namespace platetally {
namespace {

using Amounts = HeightSlice::Amounts;

constexpr double Amounts::*kAmounts[] = {&Amounts::time_s, &Amounts::part_g, &Amounts::purge_g,
                                         &Amounts::energy_wh, &Amounts::swaps};

LayerAccount layer(std::uint64_t index, double z_mm, double print_s, double part_g,
                   double purge_g = 0.0, std::uint64_t swaps = 0) {
  LayerAccount row;
  row.index = index;
  row.z_mm = z_mm;
  row.time_by.print_s = print_s;
  row.part_g = part_g;
  row.purge_g = purge_g;
  row.energy_by.bed_wh = 0.1 * print_s;
  row.swaps = swaps;
  return row;
}

/// Layers of one thickness, each 10 s and 1 g, behind a start of 60 s.
Account stack(std::size_t layers, double thick_mm, double print_s = 10.0) {
  Account account;
  account.layers.push_back(layer(0, 0.0, 60.0, 0.0));
  for (std::size_t i = 1; i <= layers; ++i)
    account.layers.push_back(layer(i, thick_mm * static_cast<double>(i), print_s, 1.0));
  return account;
}

Account any_account(test::Random& random) {
  Account account;
  double z_mm = 0.0;
  const int layers = random.whole(0, 40);
  const double thick_mm = random.real(0.05, 0.4);
  for (int i = 0; i <= layers; ++i) {
    account.layers.push_back(layer(static_cast<std::uint64_t>(i), z_mm, random.amount(),
                                   random.amount(), random.amount(), random.below(5)));
    account.layers.back().start_up_g = i == 0 ? random.amount() : 0.0;
    z_mm += thick_mm * (random.one_in(6) ? 0.5 : 1.0);
  }
  Totals& totals = account.totals;
  totals.time = {random.real(90.0, 100.0), random.real(100.0, 110.0), random.real(110.0, 120.0)};
  totals.purge_g = random.amount();
  totals.purge_low_g = 0.5 * totals.purge_g;
  totals.purge_high_g = 2.0 * totals.purge_g;
  totals.swaps = random.below(90);
  return account;
}

double total_of(const Account& account, double Amounts::*amount) {
  double sum = 0.0;
  for (const LayerAccount& row : account.layers)
    sum += amount == &Amounts::time_s      ? row.time_by.sum_s()
           : amount == &Amounts::part_g    ? row.part_g
           : amount == &Amounts::purge_g   ? row.purge_g + row.start_up_g
           : amount == &Amounts::energy_wh ? row.energy_by.sum_wh()
                                           : static_cast<double>(row.swaps);
  return sum;
}

class AnyTwo : public testing::TestWithParam<unsigned> {
 protected:
  AnyTwo() : random_(GetParam()), before_(any_account(random_)), after_(any_account(random_)) {}
  test::Random random_;
  const Account before_, after_;
};

TEST_P(AnyTwo, SlicesHoldAllThatTheLayersHold) {
  const BeforeAfter change = before_and_after(before_, after_);
  for (double Amounts::*amount : kAmounts) {
    double before = 0.0, after = 0.0;
    for (const HeightSlice& slice : change.slices) {
      before += slice.before.*amount;
      after += slice.after.*amount;
    }
    EXPECT_NEAR(before, total_of(before_, amount), 1e-9 * (1.0 + before));
    EXPECT_NEAR(after, total_of(after_, amount), 1e-9 * (1.0 + after));
  }
  for (const HeightSlice& slice : change.slices)
    EXPECT_NEAR(slice.before.time_by.sum_s(), slice.before.time_s, 1e-6);
}

TEST_P(AnyTwo, SlicesLieOnEachOtherFromTheBed) {
  const BeforeAfter change = before_and_after(before_, after_);
  ASSERT_FALSE(change.slices.empty());
  EXPECT_EQ(change.slices[0].from_mm, 0.0);
  EXPECT_EQ(change.slices[0].to_mm, 0.0);
  for (std::size_t i = 1; i < change.slices.size(); ++i) {
    EXPECT_EQ(change.slices[i].from_mm, change.slices[i - 1].to_mm);
    EXPECT_GT(change.slices[i].to_mm, change.slices[i].from_mm);
  }
  const double top_mm = std::max(before_.layers.back().z_mm, after_.layers.back().z_mm);
  EXPECT_DOUBLE_EQ(change.slices.back().to_mm, top_mm);
}

TEST_P(AnyTwo, SwappingThemTurnsEverySign) {
  const BeforeAfter there = before_and_after(before_, after_);
  const BeforeAfter back = before_and_after(after_, before_);
  ASSERT_EQ(there.figures.size(), back.figures.size());
  for (std::size_t i = 0; i < there.figures.size(); ++i) {
    EXPECT_EQ(there.figures[i].key, back.figures[i].key);
    EXPECT_EQ(there.figures[i].change.expected, -back.figures[i].change.expected);
    EXPECT_EQ(there.figures[i].change.low, -back.figures[i].change.high);
    EXPECT_EQ(there.figures[i].alike, back.figures[i].alike) << there.figures[i].key;
  }
  EXPECT_EQ(there.largest.size(), back.largest.size());
}

TEST_P(AnyTwo, WithItselfNothingDiffers) {
  const BeforeAfter change = before_and_after(before_, before_);
  EXPECT_TRUE(change.largest.empty());
  for (const FigureChange& figure : change.figures) {
    EXPECT_TRUE(figure.alike) << figure.key;
    EXPECT_EQ(figure.change, Range::exactly(0.0)) << figure.key;
  }
}

TEST_P(AnyTwo, TheLargestChangesAreTheirSlicesChanges) {
  const BeforeAfter change = before_and_after(before_, after_);
  EXPECT_LE(change.largest.size(), 20U);
  if (before_.layers.size() > 5 && after_.layers.size() > 5) {
    EXPECT_FALSE(change.largest.empty());
  }
  for (std::size_t i = 0; i < change.largest.size(); ++i) {
    const LargeChange& large = change.largest[i];
    double before = 0.0, after = 0.0, before_all = 0.0, after_all = 0.0;
    double Amounts::*amount = large.what == "time_s"      ? &Amounts::time_s
                              : large.what == "part_g"    ? &Amounts::part_g
                              : large.what == "purge_g"   ? &Amounts::purge_g
                              : large.what == "energy_wh" ? &Amounts::energy_wh
                                                          : &Amounts::swaps;
    for (std::size_t k = 0; k < change.slices.size(); ++k) {
      const HeightSlice& slice = change.slices[k];
      before_all += slice.before.*amount;
      after_all += slice.after.*amount;
      const bool is_in = k >= large.slice && slice.to_mm <= large.to_mm;
      before += is_in ? slice.before.*amount : 0.0;
      after += is_in ? slice.after.*amount : 0.0;
    }
    EXPECT_EQ(large.from_mm, change.slices[large.slice].from_mm);
    EXPECT_NEAR(large.before, before, 1e-9 * (1.0 + before_all)) << large.what;
    EXPECT_NEAR(large.after, after, 1e-9 * (1.0 + after_all)) << large.what;
    EXPECT_NEAR(large.share, std::abs(after - before) / std::max(before_all, after_all), 1e-9);
    if (i > 0) {
      EXPECT_GE(change.largest[i - 1].share, large.share);
    }
  }
}

INSTANTIATE_TEST_SUITE_P(Seeds, AnyTwo, testing::Range(0U, 30U));

TEST(BeforeAfter, ThickLayersAreSharedOutAmongThinOnes) {
  // 10 layers of 0.3 mm against 15 of 0.2 mm: slices are the thicker ones.
  const BeforeAfter change = before_and_after(stack(10, 0.3), stack(15, 0.2));
  ASSERT_EQ(change.slices.size(), 11U);
  for (std::size_t i = 1; i < change.slices.size(); ++i) {
    EXPECT_NEAR(change.slices[i].before.part_g, 1.0, 1e-9);
    EXPECT_NEAR(change.slices[i].after.part_g, 1.5, 1e-9) << i;
    EXPECT_NEAR(change.slices[i].after.time_s, 15.0, 1e-9) << i;
  }
  EXPECT_EQ(change.slices[0].before.time_s, 60.0);
}

TEST(BeforeAfter, WhatOneIsHigherComesBehind) {
  const BeforeAfter change = before_and_after(stack(3, 0.3), stack(6, 0.2));
  // 0.3, 0.6, 0.9, and above it what the other has: 1.0 and 1.2.
  ASSERT_EQ(change.slices.size(), 6U);
  EXPECT_NEAR(change.slices[5].to_mm, 1.2, 1e-12);
  EXPECT_EQ(change.slices[5].before.part_g, 0.0);
  EXPECT_NEAR(change.slices[5].after.part_g, 1.0, 1e-9);
  EXPECT_NEAR(change.slices[4].after.part_g, 0.5, 1e-9);
}

TEST(BeforeAfter, AnEmptyPlateHasTheSliceBeforeTheFirstLayer) {
  const BeforeAfter change = before_and_after(Account(), stack(0, 0.2));
  ASSERT_EQ(change.slices.size(), 1U);
  EXPECT_EQ(change.slices[0].after.time_s, 60.0);
}

TEST(BeforeAfter, NeighboursThatChangeAlikeAreOneSpan) {
  Account after = stack(30, 0.2);
  for (std::size_t i = 10; i < 20; ++i)
    after.layers[i].time_by.print_s = 15.0;
  const BeforeAfter change = before_and_after(stack(30, 0.2), after);
  std::vector<LargeChange> of_time;
  for (const LargeChange& large : change.largest)
    if (large.what == "time_s")
      of_time.push_back(large);
  ASSERT_EQ(of_time.size(), 1U);
  EXPECT_EQ(of_time[0].slice, 10U);
  EXPECT_NEAR(of_time[0].from_mm, 1.8, 1e-9);
  EXPECT_NEAR(of_time[0].to_mm, 3.8, 1e-9);
  EXPECT_NEAR(of_time[0].after - of_time[0].before, 50.0, 1e-9);
  EXPECT_NEAR(of_time[0].share, 50.0 / 410.0, 1e-9) << "of the larger of both";
}

// What grows from layer to layer, and what turns its sign, is no span of equals.
TEST(BeforeAfter, ASpanEndsWhereTheChangeTurnsOrGrows) {
  const auto spans = [](const std::vector<double>& changes_s) {
    Account after = stack(changes_s.size() + 2, 0.2);
    for (std::size_t i = 0; i < changes_s.size(); ++i)
      after.layers[i + 3].time_by.print_s += changes_s[i];
    std::size_t count = 0;
    for (const LargeChange& large :
         before_and_after(stack(changes_s.size() + 2, 0.2), after).largest)
      count += large.what == "time_s" ? 1 : 0;
    return count;
  };
  EXPECT_EQ(spans({5, 5, 5, 5}), 1U);
  EXPECT_EQ(spans({5, 5, -5, -5}), 2U);
  EXPECT_EQ(spans({4, 4, 5}), 1U) << "a quarter more is about alike";
  EXPECT_EQ(spans({4, 4, 5.1}), 2U);
  EXPECT_EQ(spans({5, 4, 4}), 1U);
  EXPECT_EQ(spans({5, 3.9}), 2U);
  EXPECT_EQ(spans({5, 0, 5}), 2U) << "with nothing between";
}

struct AlikeCase {
  const char* name;
  Range before, after;
  bool alike;
};

class Alike : public testing::TestWithParam<AlikeCase> {};

TEST_P(Alike, IsWhatIsShownAlikeOrMayBeEither) {
  Account before, after;
  before.totals.time = GetParam().before;
  after.totals.time = GetParam().after;
  const FigureChange time = before_and_after(before, after).figures.at(0);
  EXPECT_EQ(time.key, "time_s");
  EXPECT_EQ(time.alike, GetParam().alike);
  EXPECT_EQ(time.change.expected, GetParam().after.expected - GetParam().before.expected);
  EXPECT_LE(time.change.low, time.change.expected);
  EXPECT_GE(time.change.high, time.change.expected);
}

INSTANTIATE_TEST_SUITE_P(
    Cases, Alike,
    testing::Values(AlikeCase{"Equal", {90, 100, 110}, {90, 100, 110}, true},
                    AlikeCase{"HalfAPercent", {100, 100, 100}, {99.5, 99.5, 99.5}, true},
                    AlikeCase{"MoreThanHalfAPercent", {100, 100, 100}, {99.4, 99.4, 99.4}, false},
                    AlikeCase{"AllEndsLower", {90, 100, 110}, {80, 90, 100}, false},
                    AlikeCase{"EndsOfBothSigns", {90, 100, 110}, {85, 105, 120}, true},
                    AlikeCase{"OneEndAtZero", {90, 100, 110}, {90, 105, 120}, false},
                    AlikeCase{"BothNothing", {0, 0, 0}, {0, 0, 0}, true}),
    [](const auto& one) { return one.param.name; });

TEST(BeforeAfter, EveryFigureIsItsOwn) {
  Account before, after;
  Totals& b = after.totals;
  b.time_by = {1, 2, 3, 4, 5};
  b.energy_by = {6, 7, 8, 9, 10, 11, 12};
  b.swaps = 13;
  b.part_g = 14;
  b.purge_low_g = b.purge_g = b.purge_high_g = 15;
  b.start_up_g = 16;
  b.energy_low_wh = b.energy_wh = b.energy_high_wh = 17;
  b.time = {18, 18, 18};
  const std::vector<std::pair<std::string, double>> wanted{{"time_s", 18},
                                                           {"time_by.print", 1},
                                                           {"time_by.travel", 2},
                                                           {"time_by.swap", 3},
                                                           {"time_by.heat_wait", 4},
                                                           {"time_by.other", 5},
                                                           {"swaps", 13},
                                                           {"part_g", 14},
                                                           {"purge_g", 15},
                                                           {"start_up_g", 16},
                                                           {"energy_wh", 17},
                                                           {"energy_by.bed", 6},
                                                           {"energy_by.hot_ends", 7},
                                                           {"energy_by.enclosure", 8},
                                                           {"energy_by.motors", 9},
                                                           {"energy_by.fans", 10},
                                                           {"energy_by.electronics", 11},
                                                           {"energy_by.supply_loss", 12}};
  const std::vector<FigureChange> figures = before_and_after(before, after).figures;
  ASSERT_EQ(figures.size(), wanted.size());
  for (std::size_t i = 0; i < figures.size(); ++i) {
    EXPECT_EQ(figures[i].key, wanted[i].first);
    EXPECT_EQ(figures[i].change.expected, wanted[i].second) << wanted[i].first;
  }
}

TEST(BeforeAfter, CostIsComparedWhereBothHaveOne) {
  Account before, after;
  PlateCost energy, labour;
  energy.energy = 1.0;
  labour.currency = "EUR";
  labour.labour = 3.0;
  after.cost = energy;
  EXPECT_NE(before_and_after(before, after).figures.back().key, "cost");
  before.cost = labour;
  const FigureChange cost = before_and_after(before, after).figures.back();
  EXPECT_EQ(cost.key, "cost");
  EXPECT_EQ(cost.unit, "EUR");
  EXPECT_EQ(cost.change.expected, -2.0);
}

}  // namespace
}  // namespace platetally
