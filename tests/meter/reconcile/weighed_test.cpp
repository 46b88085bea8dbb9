// What was weighed or timed beside a plate, against the same numbers of its account.
#include "meter/reconcile/weighed.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <stdexcept>

#include "platetally/analyze.hpp"
#include "support/workshop.hpp"

namespace platetally::reconciling {
namespace {

class Weighing : public testing::Test {
 protected:
  test::Workshop shop_;
  Machine machine_ = test::machine_named("changer-5");
  std::string plate_ = shop_.put("tags.gcode", test::FramePlate{40.0, 20.0, 3, {0, 1}}.text());
  Account account_ = analyze_file(plate_, machine_);
};

TEST_F(Weighing, EveryNumberOfTheTotalsCanBeWeighedAndNothingElse) {
  EXPECT_NO_THROW(require_keys({{"purge_g", 1.0}, {"totals.time_s", 2.0}, {"swaps", 3.0}}));
  EXPECT_NO_THROW(require_keys({}));
  try {
    require_keys({{"purge_g", 1.0}, {"purge_kg", 1.0}});
    FAIL() << "there is no purge_kg";
  } catch (const std::invalid_argument& error) {
    EXPECT_NE(std::string(error.what()).find("purge_kg"), std::string::npos) << error.what();
    EXPECT_NE(std::string(error.what()).find("purge_g"), std::string::npos) << error.what();
  }
  EXPECT_THROW(require_keys({{"path", 1.0}}), std::invalid_argument) << "that is a text";
}

TEST_F(Weighing, ValuesKeepTheirOrderAndCarryTheUnitOfTheirKey) {
  const auto values =
      weighed_values(account_, {{"part_g", 1.5}, {"totals.energy_wh", 20.0}, {"swaps", 5.0}});
  ASSERT_EQ(values.size(), 3U);
  EXPECT_EQ(values[0].key, "part_g");
  EXPECT_EQ(values[0].unit, "g");
  EXPECT_EQ(values[0].measured, 1.5);
  EXPECT_EQ(values[0].predicted, account_.totals.part_g);
  EXPECT_EQ(values[1].key, "energy_wh");
  EXPECT_EQ(values[1].unit, "Wh");
  EXPECT_EQ(values[1].predicted, account_.totals.energy_wh);
  EXPECT_EQ(values[2].unit, "");
  EXPECT_EQ(values[2].predicted, static_cast<double>(account_.totals.swaps));
}

TEST_F(Weighing, ABandIsThereWhereTheAccountHasOne) {
  const Totals& totals = account_.totals;
  const auto values = weighed_values(account_, {{"time_s", 1.0},
                                                {"time_of_print_s", 1.0},
                                                {"energy_wh", 1.0},
                                                {"purge_g", 1.0},
                                                {"part_g", 1.0},
                                                {"swaps", 1.0}});
  EXPECT_EQ(values[0].low, totals.time.low);
  EXPECT_EQ(values[0].high, totals.time.high);
  EXPECT_EQ(values[1].low, totals.time_of_print.low);
  EXPECT_EQ(values[1].high, totals.time_of_print.high);
  EXPECT_EQ(values[2].low, totals.energy_low_wh);
  EXPECT_EQ(values[2].high, totals.energy_high_wh);
  EXPECT_EQ(values[3].low, totals.purge_low_g);
  EXPECT_EQ(values[3].high, totals.purge_high_g);
  for (const std::size_t without : {std::size_t{4}, std::size_t{5}}) {
    EXPECT_TRUE(std::isnan(values[without].low)) << values[without].key;
    EXPECT_TRUE(std::isnan(values[without].high)) << values[without].key;
  }
}

TEST_F(Weighing, WhatTheAccountDoesNotKnowIsNoNumber) {
  const Account of_unknown_colours = analyze_file(plate_, test::machine_named("switcher-4"));
  ASSERT_FALSE(of_unknown_colours.totals.purge_short_g);
  const auto values = weighed_values(of_unknown_colours, {{"purge_short_g", 4.0}});
  EXPECT_TRUE(std::isnan(values.at(0).predicted));
  EXPECT_EQ(values[0].measured, 4.0);
}

TEST_F(Weighing, WhatWasWeighedIsAmongWhatAReportWasMadeFrom) {
  ReconcileOptions options;
  EXPECT_EQ(made_from(account_, options), account_.made_from);
  options.weighed = {{"purge_g", 0.25}, {"time_s", 600.0}};
  const MadeFrom made = made_from(account_, options);
  EXPECT_EQ(made.options.back().first, "weighed");
  EXPECT_EQ(made.options.back().second, "purge_g=0.25,time_s=600");
  EXPECT_EQ(made.plates, account_.made_from.plates);
}

TEST_F(Weighing, NeedsNoLogButSomething) {
  ReconcileOptions options;
  try {
    reconcile_weighed(plate_, machine_, options);
    FAIL() << "nothing was weighed";
  } catch (const std::invalid_argument& error) {
    EXPECT_STREQ(error.what(), "expected a log, or something that was weighed or timed");
  }
  options.weighed = {{"part_g", 2.0}};
  const ReconcileReport report = reconcile_weighed(plate_, machine_, options);
  EXPECT_EQ(report.path, account_.path);
  EXPECT_EQ(report.machine, "changer-5");
  ASSERT_EQ(report.values.size(), 1U);
  EXPECT_DOUBLE_EQ(report.values[0].predicted, account_.totals.part_g);
  EXPECT_TRUE(report.phases.empty());
  EXPECT_TRUE(report.overlay_s.empty());
  EXPECT_TRUE(report.doubts.empty());
}

TEST_F(Weighing, AKeyWithoutSenseIsRefusedBeforeThePlateIsRead) {
  ReconcileOptions options;
  options.weighed = {{"grams", 2.0}};
  EXPECT_THROW(reconcile_weighed("/no/such/plate.gcode", machine_, options), std::invalid_argument);
  options.weighed = {{"part_g", 2.0}};
  EXPECT_THROW(reconcile_weighed("/no/such/plate.gcode", machine_, options), UnreadablePlate);
}

}  // namespace
}  // namespace platetally::reconciling
