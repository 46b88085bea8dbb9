// Past errors: kept, read as a book, and what they do to the bands of an account.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <ostream>
#include <random>

#include "platetally/account.hpp"
#include "platetally/reconcile.hpp"
#include "support/workshop.hpp"

namespace platetally {
namespace {

class Accuracy : public testing::Test {
 protected:
  /// Measured and predicted of one plate, whose content is its name.
  void keep(const std::string& plate, const std::string& key, double predicted, double measured,
            std::int64_t now_s = 10) {
    ReconcileReport report;
    report.values = {{key, "", predicted, measured}};
    keep_reconciliation(history_, shop_.put(plate, plate), report, machine_, {}, "test", now_s);
  }
  AccuracyBook book() const { return read_accuracy(history_, machine_.name); }

  test::Workshop shop_;
  std::string history_ = shop_.put("tallies.sqlite", "");
  Machine machine_ = test::machine_named("switcher-4");
};

TEST_F(Accuracy, OfAHistoryThatIsNotThereIsNone) {
  try {
    read_accuracy("/no/such/history.sqlite", "switcher-4");
    FAIL() << "there is no such history";
  } catch (const std::runtime_error& error) {
    EXPECT_STREQ(error.what(), "/no/such/history.sqlite: there is no such history");
  }
}

TEST_F(Accuracy, APlateThatIsGoneCannotBeKept) {
  try {
    keep_reconciliation(history_, "/no/such/plate.gcode", {}, machine_, {}, "test", 1);
    FAIL() << "there is no such plate";
  } catch (const std::runtime_error& error) {
    EXPECT_STREQ(error.what(), "/no/such/plate.gcode: cannot be read");
  }
}

TEST_F(Accuracy, OnePlateHasAMeanAndNoSpread) {
  keep("tags.gcode", "time_s", 200.0, 190.0);
  const AccuracyBook found = book();
  ASSERT_EQ(found.size(), 1U);
  EXPECT_EQ(found[0].key, "time_s");
  EXPECT_EQ(found[0].plates, 1U);
  EXPECT_NEAR(found[0].mean, -0.05, 1e-12);
  EXPECT_EQ(found[0].spread, 0.0);
}

TEST_F(Accuracy, MeanAndSpreadAreThoseOfTheSample) {
  std::mt19937 random(5);
  std::normal_distribution<double> off(0.03, 0.1);
  double sum = 0.0, squares = 0.0;
  constexpr int kPlates = 12;
  for (int i = 0; i < kPlates; ++i) {
    const double error = off(random);
    sum += error;
    squares += error * error;
    keep("plate" + std::to_string(i) + ".gcode", "energy_wh", 50.0, 50.0 * (1.0 + error));
  }
  const AccuracyEntry found = book().at(0);
  EXPECT_EQ(found.plates, static_cast<std::size_t>(kPlates));
  EXPECT_NEAR(found.mean, sum / kPlates, 1e-12);
  EXPECT_NEAR(found.spread, std::sqrt((squares - sum * sum / kPlates) / (kPlates - 1)), 1e-12);
}

TEST_F(Accuracy, TheLatestOfAPlateCountsAndEachKeyByItself) {
  keep("tags.gcode", "time_s", 100.0, 150.0, 10);
  keep("tags.gcode", "time_s", 100.0, 110.0, 20);
  keep("tags.gcode", "purge_g", 4.0, 5.0, 20);
  keep("tray.gcode", "time_s", 100.0, 130.0, 15);
  const AccuracyBook found = book();
  ASSERT_EQ(found.size(), 2U);
  EXPECT_EQ(found[0].key, "purge_g");
  EXPECT_NEAR(found[0].mean, 0.25, 1e-12);
  EXPECT_EQ(found[1].plates, 2U);
  EXPECT_NEAR(found[1].mean, 0.2, 1e-12);
}

TEST_F(Accuracy, WhatWasNotPredictedSaysNothing) {
  keep("tags.gcode", "purge_g", 0.0, 5.0);
  keep("tray.gcode", "purge_g", std::numeric_limits<double>::quiet_NaN(), 5.0);
  EXPECT_TRUE(book().empty());
  keep("lantern.gcode", "purge_g", 4.0, 5.0);
  EXPECT_EQ(book().at(0).plates, 1U);
}

TEST_F(Accuracy, OtherMachinesHaveTheirOwnBook) {
  keep("tags.gcode", "time_s", 100.0, 110.0);
  machine_ = test::machine_named("changer-5");
  keep("tags.gcode", "time_s", 100.0, 80.0);
  EXPECT_NEAR(book().at(0).mean, -0.2, 1e-12);
  EXPECT_NEAR(read_accuracy(history_, "switcher-4").at(0).mean, 0.1, 1e-12);
  std::size_t unknown = 99;
  EXPECT_TRUE(read_accuracy(history_, "single-1", &unknown).empty());
  EXPECT_EQ(unknown, 0U);
}

/// An account whose every band is 90 to 120.
Account banded() {
  Account account;
  Totals& totals = account.totals;
  totals.time = totals.time_of_print = {90.0, 100.0, 120.0};
  totals.energy_low_wh = totals.purge_low_g = 90.0;
  totals.energy_wh = totals.purge_g = 100.0;
  totals.energy_high_wh = totals.purge_high_g = 120.0;
  totals.time_band = {{"motion", 10.0, 20.0}};
  return account;
}

struct Past {
  const char* name;
  double mean, spread, low, high;
  friend void PrintTo(const Past& one, std::ostream* out) { *out << one.name; }
};

class Widened : public testing::TestWithParam<Past> {};

/// low and high: by hand, 100 times two spreads less or more the mean, never inwards.
TEST_P(Widened, EveryBandGoesByMeanAndTwoSpreads) {
  const Past& past = GetParam();
  Account account = banded();
  AccuracyBook book;
  for (const char* key : {"energy_wh", "purge_g", "time_of_print_s", "time_s"})
    book.push_back({key, 2, past.mean, past.spread});
  widen_by_past(account, book);
  const Totals& totals = account.totals;
  const std::pair<double, double> bands[] = {{totals.energy_low_wh, totals.energy_high_wh},
                                             {totals.purge_low_g, totals.purge_high_g},
                                             {totals.time_of_print.low, totals.time_of_print.high},
                                             {totals.time.low, totals.time.high}};
  for (const auto& [low, high] : bands) {
    EXPECT_NEAR(low, past.low, 1e-9);
    EXPECT_NEAR(high, past.high, 1e-9);
  }
  EXPECT_EQ(totals.time.expected, 100.0);
  EXPECT_EQ(totals.energy_wh, 100.0);
}

INSTANTIATE_TEST_SUITE_P(Book, Widened,
                         testing::Values(Past{"right_on_the_whole", 0.0, 0.1, 70.0, 140.0},
                                         Past{"always_too_short", 0.1, 0.0, 90.0, 130.0},
                                         Past{"always_too_long", -0.1, 0.0, 80.0, 120.0},
                                         Past{"somewhat_too_short", 0.05, 0.1, 75.0, 145.0},
                                         Past{"always_right", 0.0, 0.0, 90.0, 120.0},
                                         Past{"all_over_the_place", 0.0, 2.0, 0.0, 520.0}),
                         [](const auto& past) { return std::string(past.param.name); });

TEST(PastErrors, AreACauseOfTheBandOfTimeInTheirPlace) {
  Account account = banded();
  widen_by_past(account, {{"time_s", 4, 0.0, 0.05}});
  const auto& band = account.totals.time_band;
  ASSERT_EQ(band.size(), 2U);
  EXPECT_EQ(band[0].cause, "motion") << "the widest first";
  EXPECT_EQ(band[1].cause, "past-errors");
  EXPECT_NEAR(band[1].below_s, 10.0, 1e-9);
  EXPECT_NEAR(band[1].above_s, 10.0, 1e-9);
  Account wide = banded();
  widen_by_past(wide, {{"time_s", 4, 0.0, 0.5}});
  EXPECT_EQ(wide.totals.time_band[0].cause, "past-errors");
}

TEST(PastErrors, OfOnePlateOrOfOtherKeysLeaveTheBandsAlone) {
  for (const AccuracyBook& book :
       {AccuracyBook{}, AccuracyBook{{"time_s", 1, 0.4, 0.2}},
        AccuracyBook{{"part_g", 9, 0.4, 0.2}}, AccuracyBook{{"time_s", 2, 0.0, 0.0}}}) {
    Account account = banded();
    widen_by_past(account, book);
    EXPECT_EQ(account.totals.time, banded().totals.time);
    EXPECT_EQ(account.totals.energy_high_wh, 120.0);
    EXPECT_EQ(account.totals.time_band.size(), 1U);
  }
}

TEST(PastErrors, AnAccountKnowsTheBookItWasWidenedBy) {
  const auto hash_of = [](const AccuracyBook& book) {
    Account account = banded();
    widen_by_past(account, book);
    EXPECT_EQ(account.made_from.options.size(), 1U);
    EXPECT_EQ(account.made_from.options.at(0).first, "book");
    return account.made_from.options.at(0).second;
  };
  const AccuracyBook book = {{"time_s", 2, 0.1, 0.2}};
  EXPECT_EQ(hash_of(book), hash_of(book));
  for (const AccuracyEntry& other :
       {AccuracyEntry{"time_s", 3, 0.1, 0.2}, AccuracyEntry{"time_s", 2, 0.1001, 0.2},
        AccuracyEntry{"time_s", 2, 0.1, 0.2001}, AccuracyEntry{"energy_wh", 2, 0.1, 0.2}})
    EXPECT_NE(hash_of({other}), hash_of(book));
}

}  // namespace
}  // namespace platetally
