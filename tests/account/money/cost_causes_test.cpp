// Causes of costs that depend on what happens during the print: pauses, and hours that turn out
// longer.
#include <gtest/gtest.h>

#include "platetally/account.hpp"
#include "platetally/payback.hpp"
#include "platetally/prices.hpp"

namespace platetally {
namespace {

TEST(PlateCost, EveryPauseTakesAPerson) {
  Account account;
  account.totals.pauses = 6;
  Prices prices;
  prices.labour_per_plate = 1.5;
  prices.labour_per_intervention = 2.0;
  EXPECT_NEAR(cost_of_plate(account, prices).labour, 1.5 + 6 * 2.0, 1e-12);
}

// 520 runs a year. On the first machine an hour late of 9 h makes what an hour costs dearer by 2/9,
// not the filament. Price difference 1200: paid back in 1200 / (520 x saving).
TEST(Payback, WhatRunsByTheHourFollowsTheHours) {
  PaybackInput input;
  input.machines = {"first", "second"};
  input.price = {1000.0, 2200.0};
  input.uptime = 1.0;
  PaybackPlate plate;
  plate.name = "lantern";
  plate.weekly = 10.0;
  PlateRun& first = plate.runs[0];
  first.hours = {8.0, 9.0, 11.0};
  first.filament_cost = 4.0;
  first.energy_cost = 0.9;
  first.hourly_cost = 1.8;
  PlateRun& second = plate.runs[1];
  second.hours = {2.0, 2.0, 2.0};
  second.filament_cost = 1.0;
  input.plates = {plate};
  const PaybackReport report = plan_payback(input);
  const auto cause = [&](const std::string& name) {
    for (const PaybackCause& one : report.causes)
      if (one.input == name)
        return one;
    return PaybackCause{};
  };
  const PaybackCause hours = cause("hours on first");
  EXPECT_NEAR(hours.at_low.value_or(0.0), 1200.0 / (520.0 * (3.0 + 2.7 * 8.0 / 9.0)), 1e-9);
  EXPECT_NEAR(hours.at_high.value_or(0.0), 1200.0 / (520.0 * (3.0 + 2.7 * 11.0 / 9.0)), 1e-9);
  EXPECT_EQ(cause("hours on second").at_low, cause("hours on second").at_high);
}

}  // namespace
}  // namespace platetally
