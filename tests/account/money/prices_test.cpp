// Prices files, and what a plate costs by hand.
#include "platetally/prices.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <fstream>
#include <iterator>
#include <memory>
#include <nlohmann/json.hpp>
#include <optional>
#include <set>

#include "platetally/account.hpp"
#include "platetally/made_from.hpp"
#include "support/faults.hpp"

namespace platetally {
namespace {

/// 10 g of part and 4 g of purge on tool 0, 2 g of part on tool 1, 10 h, 1 kWh, 100 swaps.
Account plate() {
  Account account;
  ToolAccount first;
  first.tool = 0;
  first.part_g = 10.0;
  first.purge_g = 3.5;
  first.start_up_g = 0.5;
  ToolAccount second;
  second.tool = 1;
  second.part_g = 2.0;
  account.tools = {first, second};
  account.totals.time = Range::exactly(36000.0);
  account.totals.energy_wh = 1000.0;
  account.totals.swaps = 100;
  return account;
}

Prices parsed(const std::string& text) {
  const PricesLoad load = parse_prices(text, "prices.toml");
  EXPECT_TRUE(load.ok()) << (load.ok() ? "" : load.diagnostics.front().message);
  return load.prices;
}

TEST(PlateCost, EveryPartByHand) {
  const Prices prices = parsed(
      "currency = \"EUR\"\n"
      "filament_per_kg = 20\n"
      "energy_per_kwh = 0.3\n"
      "machine_price = 900\nmachine_salvage = 100\nmachine_life_h = 4000\n"
      "maintenance_per_h = 0.05\n"
      "labour_per_plate = 1.5\n"
      "carbon_g_per_kwh = 400\n"
      "[[filament]]\ntool = 1\nper_kg = 30\n");
  const PlateCost cost = cost_of_plate(plate(), prices, 4);
  EXPECT_NEAR(cost.part_filament, 10 * 0.020 + 2 * 0.030, 1e-12);
  EXPECT_NEAR(cost.purge_filament, 4 * 0.020, 1e-12);
  EXPECT_NEAR(cost.energy, 0.3, 1e-12);
  EXPECT_NEAR(cost.machine, 10 * (0.2 + 0.05), 1e-12);  // 0.2 an hour: the check file's example
  EXPECT_NEAR(cost.labour, 1.5, 1e-12);
  EXPECT_EQ(cost.failures, 0.0);
  EXPECT_NEAR(cost.total(), 0.26 + 0.08 + 0.3 + 2.5 + 1.5, 1e-12);
  EXPECT_NEAR(cost.per_good_part, cost.total() / 4.0, 1e-12);
  EXPECT_NEAR(cost.carbon_g.value_or(0.0), 400.0, 1e-9);
  EXPECT_TRUE(cost.not_counted.empty());
}

TEST(PlateCost, DepreciationAndEnergyOfTheCheckFile) {
  std::ifstream file(std::string(PLATETALLY_TESTDATA) + "/checks/energy_money.json");
  const auto checks = nlohmann::json::parse(file);
  for (const auto& row : checks["depreciation"]) {
    Prices prices;
    prices.machine_price = row["price"].get<double>();
    prices.machine_salvage = row["salvage"];
    prices.machine_life_h = row["hours"];
    EXPECT_NEAR(cost_of_plate(plate(), prices).per_hour, row["per_hour"].get<double>(), 1e-12);
  }
  const auto& row = checks["kwh"][0];
  Account account = plate();
  account.totals.energy_wh = row["P_W"].get<double>() * row["h"].get<double>();
  Prices prices;
  prices.energy_per_kwh = row["price_per_kWh"];
  EXPECT_NEAR(cost_of_plate(account, prices).energy, row["cost"].get<double>(), 1e-12);
}

TEST(PlateCost, HoursOfTheDayAreWeighed) {
  Prices prices;
  prices.energy_per_kwh_by_hour.assign(24, 0.1);
  for (std::size_t hour = 18; hour < 22; ++hour)
    prices.energy_per_kwh_by_hour[hour] = 0.5;
  prices.start_hour = 13.5;  // ten hours: 13:30 to 23:30, four of them dear
  EXPECT_NEAR(cost_of_plate(plate(), prices).energy, (4 * 0.5 + 6 * 0.1) / 10.0, 1e-12);
}

TEST(PlateCost, FailuresFollowSwapsAndHours) {
  Prices prices;
  prices.filament_per_kg = 20.0;
  prices.failure_per_swap = 0.001;
  prices.failure_per_h = 0.005;
  prices.labour_per_intervention = 2.0;
  const PlateCost cost = cost_of_plate(plate(), prices);
  const double p = 1.0 - std::pow(0.999, 100) * std::exp(-0.05);
  EXPECT_NEAR(cost.failure_probability, p, 1e-12);
  EXPECT_NEAR(cost.failures, p / (1 - p) * (0.5 * (cost.part_filament + cost.purge_filament) + 2.0),
              1e-12);
}

TEST(PlateCost, WhatHasNoPriceIsSaid) {
  const PlateCost cost = cost_of_plate(plate(), Prices{});
  EXPECT_EQ(cost.total(), 0.0);
  EXPECT_EQ(cost.not_counted.size(), 3U);
}

TEST(PricesFile, FaultsNameKeyLineAndWhatWasExpected) {
  const test::Fault faults[] = {
      {"filament_per_kgs = 20", "key-unknown", 1, "filament_per_kg"},
      {"\nenergy_per_kwh = \"dear\"", "key-type", 2, "a number"},
      {"machine_life_h = 0", "key-range", 1, "1 to"},
      {"energy_per_kwh_by_hour = [1, 2]", "key-type", 1, "24 numbers"},
      {"[[filament]]\ntool = 40\nper_kg = 2", "key-range", 2, "0 to 31"},
      {"currency = 3", "key-type", 1, "a text"},
      {"currency = \"open", "toml-syntax", 1, ""},
  };
  test::expect_faults(faults, parse_prices);
}

TEST(PricesFile, HostileTextIsHarmless) {
  EXPECT_FALSE(parse_prices(std::string(2 << 20, 'x'), "x").ok());
  EXPECT_FALSE(parse_prices("a = " + std::string(100'000, '['), "x").ok());
  EXPECT_FALSE(load_prices("/no/such/prices.toml").ok());
}

TEST(PricesHash, EveryPriceCounts) {
  using Change = void (*)(Prices&);
  const Change changes[] = {[](Prices& p) { p.currency = "crowns"; },
                            [](Prices& p) { p.filament_per_kg = 0.0; },
                            [](Prices& p) { p.tool_per_kg = {20.0}; },
                            [](Prices& p) {
                              p.tool_per_kg = {std::nullopt, 20.0};
                            },
                            [](Prices& p) { p.spool_remainder_share = 0.1; },
                            [](Prices& p) { p.energy_per_kwh = 0.3; },
                            [](Prices& p) { p.energy_per_kwh_by_hour.assign(24, 0.3); },
                            [](Prices& p) { p.start_hour = 9.0; },
                            [](Prices& p) { p.machine_price = 900.0; },
                            [](Prices& p) { p.machine_salvage = 100.0; },
                            [](Prices& p) { p.machine_life_h = 4000.0; },
                            [](Prices& p) { p.maintenance_per_h = 0.1; },
                            [](Prices& p) { p.labour_per_plate = 1.0; },
                            [](Prices& p) { p.labour_per_intervention = 1.0; },
                            [](Prices& p) { p.failure_per_swap = 1e-9; },
                            [](Prices& p) { p.failure_per_h = 1e-9; },
                            [](Prices& p) { p.carbon_g_per_kwh = 300.0; },
                            [](Prices& p) { p.drying_per_kg = 0.5; },
                            [](Prices& p) { p.wear_per_kg = 0.5; },
                            [](Prices& p) { p.spool_g = 750.0; },
                            [](Prices& p) { p.reserve_share = 0.05; },
                            [](Prices& p) {
                              p.attended = AttendedHours{8.0, 18.0};
                            },
                            [](Prices& p) {
                              p.attended = AttendedHours{8.0, 17.0};
                            }};
  std::set<std::string> hashes{prices_hash({})};
  for (const Change change : changes) {
    Prices prices;
    change(prices);
    hashes.insert(prices_hash(prices));
  }
  EXPECT_EQ(hashes.size(), std::size(changes) + 1);
}

/// A finding that makes one plate of two.
Finding two_in_one(const Account& together) {
  Finding finding;
  finding.code = "copies-share-swaps";
  finding.advised = std::make_shared<Account>(together);
  finding.plates = 2;
  return finding;
}

TEST(Money, OfTwoPlatesInOneCountsAllThatAPlateCosts) {
  Account account;
  account.totals.time.expected = 3600.0;
  account.totals.swaps = 10;
  account.totals.manual_changes = 4;
  Account together = account;
  together.totals.time.expected = 2.0 * 3600.0;
  account.findings = {two_in_one(together)};
  const auto saved = [&](const Prices& prices) {
    add_prices(account, prices);
    return *account.findings.front().saves_money;
  };
  Prices labour;
  labour.labour_per_plate = 1.4;
  EXPECT_NEAR(saved(labour), 0.7, 1e-12);
  Prices by_hand;
  by_hand.labour_per_intervention = 0.5;
  EXPECT_NEAR(saved(by_hand), 1.0, 1e-12);  // four changes for two plates
  // Ten swaps for both: p / (1 - p) failures, each with an intervention.
  Prices failing = by_hand;
  failing.failure_per_swap = 0.01;
  const double failures = 1.0 / std::pow(0.99, 10.0) - 1.0;
  EXPECT_NEAR(saved(failing), 1.0 + 0.5 * failures * 0.5, 1e-12);
}

}  // namespace
}  // namespace platetally
