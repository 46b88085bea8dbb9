// When a plate is done, how long nobody is there, what its energy costs by the hour, and what
// filament to have at hand: every figure worked out by hand.
#include "platetally/clock.hpp"

#include <gtest/gtest.h>

#include "platetally/account.hpp"
#include "platetally/prices.hpp"

namespace platetally {
namespace {

/// Three hours, two to four of them; the first layer begins after six minutes.
Account three_hours() {
  Account account;
  account.totals.time = {7200.0, 10800.0, 14400.0};
  account.layers.resize(2);
  account.layers[1].index = 1;
  account.layers[1].start_s = 360.0;
  return account;
}

TEST(WallTime, IsReadAndWrittenAsTheSameMinute) {
  for (const char* text : {"1970-01-01 00:00", "2026-12-01 18:30", "2028-02-29 23:59"}) {
    const auto time = parse_wall_time(text);
    ASSERT_TRUE(time.has_value()) << text;
    EXPECT_EQ(time->text(), text);
  }
  EXPECT_EQ(parse_wall_time("2026-12-01T18:30:59")->text(), "2026-12-01 18:30");
  EXPECT_EQ(parse_wall_time("1970-01-02T00:00")->minutes, 1440);
}

TEST(WallTime, WhatIsNoTimeIsRefused) {
  for (const char* text :
       {"", "2026-12-01", "2026-13-01T10:00", "2027-02-29T10:00", "2026-12-01T24:00",
        "2026-12-01T10:60", "2026-12-01T1x:00", "2026-12-01T10:00Z", "01.12.2026 18:30"})
    EXPECT_FALSE(parse_wall_time(text).has_value()) << text;
}

TEST(Clock, SaysWhenThingsComeOverMidnight) {
  Account account = three_hours();
  add_clock(account, *parse_wall_time("2026-12-31T22:30"), nullptr);
  ASSERT_TRUE(account.clock.has_value());
  EXPECT_EQ(account.clock->first_layer, "2026-12-31 22:36");
  EXPECT_EQ(account.clock->done_early, "2027-01-01 00:30");
  EXPECT_EQ(account.clock->done, "2027-01-01 01:30");
  EXPECT_EQ(account.clock->done_late, "2027-01-01 02:30");
  EXPECT_FALSE(account.clock->unattended_s.has_value());
}

TEST(Clock, CountsTheHoursInWhichNobodyIsThere) {
  Account account = three_hours();
  Prices prices = parse_prices("attended = \"08:00-18:00\"", "test").prices;
  ASSERT_TRUE(prices.attended.has_value());
  add_clock(account, *parse_wall_time("2026-12-01T16:30"), &prices);  // until 19:30
  EXPECT_NEAR(*account.clock->unattended_s, 1.5 * 3600.0, 1e-9);
  EXPECT_DOUBLE_EQ(prices.start_hour, 16.5);
  prices.attended = {22.0, 6.0};                                      // over midnight
  add_clock(account, *parse_wall_time("2026-12-01T04:00"), &prices);  // until 7:00
  EXPECT_NEAR(*account.clock->unattended_s, 3600.0, 1e-9);
}

// From 16:30 on, attended from 8 to 18: the first stop at 17:30 finds somebody; the second at 18:30
// waits until 8, 13.5 hours; the third, at 19:00 as if it had not, then comes at 8:30 and waits no
// more. The plate, done 19:30, is done 13.5 hours later.
TEST(Clock, StopsOutsideTheAttendedHoursWait) {
  Account account = three_hours();
  account.totals.pauses = 3;
  for (const double hours : {1.0, 2.0, 2.5}) {
    Stop stop;
    stop.what = "pause";
    stop.after = {3600.0 * hours - 600.0, 3600.0 * hours, 3600.0 * hours + 1200.0};
    account.stops.push_back(stop);
  }
  Prices prices = parse_prices("attended = \"08:00-18:00\"", "test").prices;
  add_clock(account, *parse_wall_time("2026-12-01T16:30"), &prices);
  EXPECT_EQ(account.stops[0].at, "2026-12-01 17:30");
  EXPECT_EQ(account.stops[0].at_early, "2026-12-01 17:20");
  EXPECT_EQ(account.stops[0].at_late, "2026-12-01 17:50");
  EXPECT_FALSE(account.stops[0].unattended.value());
  EXPECT_TRUE(account.stops[1].unattended.value());
  EXPECT_TRUE(account.stops[2].unattended.value());
  EXPECT_EQ(account.clock->stops_unattended, 2U);
  EXPECT_EQ(account.clock->done_attended, "2026-12-02 09:00");
  EXPECT_EQ(account.verdict.grade, Grade::look);
  ASSERT_EQ(account.verdict.reasons.size(), 1U);
  EXPECT_EQ(account.verdict.reasons[0].code, "stops-unattended");
}

TEST(Clock, WithoutAttendedHoursAStopHasItsMinuteAndNoMore) {
  Account account = three_hours();
  account.totals.pauses = 1;
  account.stops.resize(1);
  account.stops[0].after = {3600.0, 3600.0, 3600.0};
  add_clock(account, *parse_wall_time("2026-12-01T23:30"), nullptr);
  EXPECT_EQ(account.stops[0].at, "2026-12-02 00:30");
  EXPECT_FALSE(account.stops[0].unattended.has_value());
  EXPECT_FALSE(account.clock->stops_unattended.has_value());
  EXPECT_EQ(account.clock->done_attended, "");
  EXPECT_EQ(account.verdict.grade, Grade::ready);
}

// Of stops beyond the bound it is not known when they come, so not when the plate is done either.
TEST(Clock, WhereNotAllStopsAreListedItIsNotKnownWhenAnAttendedPlateIsDone) {
  Account account = three_hours();
  account.totals.pauses = 2;
  account.stops.resize(1);
  Prices prices = parse_prices("attended = \"08:00-18:00\"", "test").prices;
  add_clock(account, *parse_wall_time("2026-12-01T16:30"), &prices);
  EXPECT_EQ(account.clock->done_attended, "");
}

TEST(Prices, HoursInWhichSomebodyIsThereAreRefusedWhereTheyAreNone) {
  for (const char* text : {"\"8-18\"", "\"08:00\"", "\"08:00-25:00\"", "\"08:61-18:00\"", "8"})
    EXPECT_FALSE(parse_prices(std::string("attended = ") + text, "test").ok()) << text;
}

// Night costs 0.10, from six on it is 0.40. One hour before six draws 300 Wh, two hours behind it
// 100 Wh together: 0.03 + 0.04, a mean of 0.175 a kWh, where even power would make it 0.30.
TEST(PlateCost, EachKilowattHourCostsWhatItsHourCosts) {
  Account account = three_hours();
  account.totals.energy_wh = 400.0;
  Prices prices;
  prices.energy_per_kwh_by_hour.assign(24, 0.40);
  for (std::size_t hour = 0; hour < 6; ++hour)
    prices.energy_per_kwh_by_hour[hour] = 0.10;
  prices.start_hour = 5.0;
  EXPECT_NEAR(cost_of_plate(account, prices).energy_per_kwh, 0.30, 1e-12);
  for (int hour = 0; hour < 3; ++hour) {
    PowerSample sample;
    sample.start_s = 3600.0 * hour;
    sample.duration_s = 3600.0;
    sample.energy.bed_wh = hour == 0 ? 300.0 : 50.0;
    account.power.push_back(sample);
  }
  const PlateCost cost = cost_of_plate(account, prices);
  EXPECT_NEAR(cost.energy_per_kwh, 0.175, 1e-12);
  EXPECT_NEAR(cost.energy, 0.07, 1e-12);
}

// 970 g and 5 % are 1018.5 g: two spools of 1000 g. 20 g are 21 g: one. Drying at 2 and wear at 3
// a kilogram of 990 g.
TEST(Spools, HoldWhatIsPrintedAndTheReserve) {
  Account account = three_hours();
  account.tools.resize(3);
  account.tools[0].part_g = 900.0;
  account.tools[0].purge_g = 60.0;
  account.tools[0].start_up_g = 10.0;
  account.tools[1].part_g = 20.0;
  Prices prices;
  prices.reserve_share = 0.05;
  prices.drying_per_kg = 2.0;
  prices.wear_per_kg = 3.0;
  add_spools(account, prices);
  EXPECT_NEAR(*account.tools[0].to_have_g, 1018.5, 1e-9);
  EXPECT_FALSE(account.tools[0].spools.has_value());
  prices.spool_g = 1000.0;
  add_prices(account, prices);
  EXPECT_EQ(*account.tools[0].spools, 2.0);
  EXPECT_EQ(*account.tools[1].spools, 1.0);
  EXPECT_EQ(*account.tools[2].spools, 0.0);
  EXPECT_NEAR(account.cost->drying, 1.98, 1e-12);
  EXPECT_NEAR(account.cost->wear, 2.97, 1e-12);
  EXPECT_NEAR(account.cost->total(), 4.95, 1e-12);
}

}  // namespace
}  // namespace platetally
