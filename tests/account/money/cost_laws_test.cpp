// Laws of what a plate costs, on plates and prices by chance: causes add up, money is a unit like
// any other, no price that rises makes a plate cheaper, objects share all of it.
#include <gtest/gtest.h>

#include <cmath>

#include "platetally/account.hpp"
#include "platetally/prices.hpp"
#include "support/chance.hpp"

namespace platetally {
namespace {

Account any_plate(test::Random& random) {
  Account account;
  for (int number = 0; number < random.whole(1, 5); ++number) {
    ToolAccount tool;
    tool.tool = number;
    tool.part_g = random.real(0.0, 60.0);
    tool.purge_g = random.real(0.0, 20.0);
    tool.start_up_g = random.real(0.0, 1.0);
    account.tools.push_back(tool);
  }
  account.totals.time = Range::exactly(random.real(600.0, 200000.0));
  account.totals.energy_wh = random.real(10.0, 3000.0);
  account.totals.swaps = random.below(400);
  account.totals.pauses = random.below(4);
  account.totals.manual_changes = random.below(4);
  return account;
}

Prices any_prices(test::Random& random) {
  Prices prices;
  prices.currency = "EUR";
  if (!random.one_in(4))
    prices.filament_per_kg = random.real(5.0, 60.0);
  for (int tool = 0; tool < random.whole(0, 4); ++tool)
    prices.tool_per_kg.push_back(random.one_in(2) ? std::optional(random.real(5.0, 90.0))
                                                  : std::nullopt);
  prices.spool_remainder_share = random.real(0.0, 0.3);
  if (random.one_in(2))
    prices.energy_per_kwh = random.real(0.05, 0.6);
  if (random.one_in(2))
    prices.machine_price = random.real(500.0, 3000.0);
  prices.machine_salvage = prices.machine_price ? random.real(0.0, 400.0) : 0.0;
  prices.machine_life_h = random.real(500.0, 9000.0);
  prices.maintenance_per_h = random.real(0.0, 0.3);
  prices.labour_per_plate = random.real(0.0, 5.0);
  prices.labour_per_intervention = random.real(0.0, 5.0);
  prices.failure_per_swap = random.real(0.0, 0.001);
  prices.failure_per_h = random.real(0.0, 0.01);
  prices.drying_per_kg = random.real(0.0, 2.0);
  prices.wear_per_kg = random.real(0.0, 2.0);
  return prices;
}

class AnyCost : public testing::TestWithParam<unsigned> {
 protected:
  AnyCost() : random_(GetParam()), plate_(any_plate(random_)), prices_(any_prices(random_)) {}
  double total(const Prices& prices) const { return cost_of_plate(plate_, prices).total(); }
  test::Random random_;
  const Account plate_;
  const Prices prices_;
};

TEST_P(AnyCost, CausesAddUpAndAreNeverBelowNothing) {
  const PlateCost cost = cost_of_plate(plate_, prices_, 3);
  const double causes[] = {cost.part_filament, cost.purge_filament, cost.energy, cost.machine,
                           cost.labour,        cost.failures,       cost.drying, cost.wear};
  double sum = 0.0;
  for (const double cause : causes) {
    EXPECT_GE(cause, 0.0);
    sum += cause;
  }
  EXPECT_NEAR(cost.total(), sum, 1e-9);
  EXPECT_NEAR(3.0 * cost.per_good_part, cost.total(), 1e-9);
  EXPECT_GE(cost.failure_probability, 0.0);
  EXPECT_LT(cost.failure_probability, 1.0);
}

TEST_P(AnyCost, AnotherCurrencyScalesAllOfIt) {
  Prices other = prices_;
  const double rate = 7.25;
  for (std::optional<double>* price :
       {&other.filament_per_kg, &other.energy_per_kwh, &other.machine_price})
    if (*price)
      **price *= rate;
  for (std::optional<double>& price : other.tool_per_kg)
    if (price)
      *price *= rate;
  for (double* price : {&other.machine_salvage, &other.maintenance_per_h, &other.labour_per_plate,
                        &other.labour_per_intervention, &other.drying_per_kg, &other.wear_per_kg})
    *price *= rate;
  EXPECT_NEAR(total(other), rate * total(prices_), 1e-9 * rate * total(prices_));
}

TEST_P(AnyCost, NoPriceThatRisesMakesThePlateCheaper) {
  const double before = total(prices_);
  const auto rises = [&](const char* what, auto change) {
    Prices dearer = prices_;
    change(dearer);
    EXPECT_GE(total(dearer), before * (1.0 - 1e-12)) << what;
  };
  rises("filament", [](Prices& p) { p.filament_per_kg = p.filament_per_kg.value_or(0.0) + 1.0; });
  rises("energy", [](Prices& p) { p.energy_per_kwh = p.energy_per_kwh.value_or(0.0) + 1.0; });
  rises("remainder", [](Prices& p) { p.spool_remainder_share += 0.1; });
  rises("maintenance", [](Prices& p) { p.maintenance_per_h += 0.1; });
  rises("labour", [](Prices& p) { p.labour_per_plate += 1.0; });
  rises("intervention", [](Prices& p) { p.labour_per_intervention += 1.0; });
  rises("failures of swaps", [](Prices& p) { p.failure_per_swap += 0.001; });
  rises("failures of hours", [](Prices& p) { p.failure_per_h += 0.01; });
  rises("drying", [](Prices& p) { p.drying_per_kg += 1.0; });
  rises("wear", [](Prices& p) { p.wear_per_kg += 1.0; });
  rises("a longer life", [](Prices& p) { p.machine_life_h *= 0.5; });
}

// The formula once more, attempt by attempt: failures before the first success, each halfway.
TEST_P(AnyCost, FailuresAreThoseOfAttemptsUntilOneIsGood) {
  const PlateCost cost = cost_of_plate(plate_, prices_);
  const double hours = plate_.totals.time.expected / 3600.0;
  double survives = std::exp(-prices_.failure_per_h * hours);
  for (std::uint64_t swap = 0; swap < plate_.totals.swaps; ++swap)
    survives *= 1.0 - prices_.failure_per_swap;
  EXPECT_NEAR(cost.failure_probability, 1.0 - survives, 1e-9);
  double expected_failures = 0.0, reaches = 1.0;
  for (int attempt = 0; attempt < 10000 && reaches > 1e-15; ++attempt) {
    reaches *= 1.0 - survives;
    expected_failures += reaches;
  }
  const double each = 0.5 * (cost.part_filament + cost.purge_filament + cost.drying + cost.wear +
                             cost.energy + cost.machine) +
                      prices_.labour_per_intervention;
  EXPECT_NEAR(cost.failures, expected_failures * each, 1e-6 * (1.0 + cost.failures));
}

TEST_P(AnyCost, ObjectsThatShareThePlateShareItsCost) {
  Account account = plate_;
  const std::size_t count = 1 + random_.below(5);
  std::vector<double> shares;
  double sum = 0.0;
  for (std::size_t i = 0; i < count; ++i) {
    shares.push_back(random_.real(0.1, 1.0));
    sum += shares.back();
  }
  for (const double share : shares) {
    ObjectAccount object;
    object.energy_wh = account.totals.energy_wh * share / sum;
    object.time_by.print_s = account.totals.time.expected * share / sum;
    for (const ToolAccount& tool : account.tools) {
      object.part_by_tool_g.push_back(tool.part_g * share / sum);
      object.waste_by_tool_g.push_back((tool.purge_g + tool.start_up_g) * share / sum);
    }
    account.objects.push_back(object);
  }
  add_prices(account, prices_, 2);
  double objects = 0.0;
  for (std::size_t i = 0; i < count; ++i) {
    objects += *account.objects[i].cost;
    EXPECT_NEAR(*account.objects[i].cost, account.cost->total() * shares[i] / sum,
                1e-9 * (1.0 + account.cost->total()))
        << "all of its shares are one";
  }
  EXPECT_NEAR(objects, account.cost->total(), 1e-9 * (1.0 + objects));
}

TEST_P(AnyCost, WhatHasNoPriceIsSaidAndCostsNothing) {
  const PlateCost cost = cost_of_plate(plate_, prices_);
  const auto says = [&](const char* what) {
    return std::ranges::find(cost.not_counted, what) != cost.not_counted.end();
  };
  EXPECT_EQ(says("energy"), !prices_.energy_per_kwh.has_value());
  EXPECT_EQ(says("the machine's price"), !prices_.machine_price.has_value());
  if (!prices_.energy_per_kwh) {
    EXPECT_EQ(cost.energy, 0.0);
  }
  bool all_priced = true;
  for (const ToolAccount& tool : plate_.tools) {
    const auto index = static_cast<std::size_t>(tool.tool);
    all_priced = all_priced && (prices_.filament_per_kg ||
                                (index < prices_.tool_per_kg.size() && prices_.tool_per_kg[index]));
  }
  EXPECT_EQ(says("filament of some tools"), !all_priced);
}

TEST_P(AnyCost, WithoutPricesAtAllThereIsNoCost) {
  const PlateCost cost = cost_of_plate(plate_, Prices());
  EXPECT_EQ(cost.total(), 0.0);
  EXPECT_EQ(cost.not_counted.size(), 3U);
}

TEST_P(AnyCost, SpoolsHoldWhatIsToHave) {
  Account account = plate_;
  Prices prices = prices_;
  prices.reserve_share = random_.real(0.0, 0.5);
  prices.spool_g = random_.real(2.0, 20.0);  // small ones, so that several are needed
  add_spools(account, prices);
  for (const ToolAccount& tool : account.tools) {
    const double laid_g = tool.part_g + tool.purge_g + tool.start_up_g;
    EXPECT_NEAR(*tool.to_have_g, laid_g * (1.0 + prices.reserve_share), 1e-9);
    const double of_a_spool_g = *prices.spool_g * (1.0 - prices.spool_remainder_share);
    EXPECT_EQ(*tool.spools, std::floor(*tool.spools)) << "whole ones";
    EXPECT_GE(*tool.spools * of_a_spool_g, *tool.to_have_g * (1.0 - 1e-12));
    EXPECT_LT((*tool.spools - 1.0) * of_a_spool_g, *tool.to_have_g) << "and none too many";
  }
}

INSTANTIATE_TEST_SUITE_P(Seeds, AnyCost, testing::Range(0U, 25U));

TEST(CostOfFindings, WithoutAPlayedPlateAFindingIsWorthWhatItsFiguresCost) {
  Account account;
  ToolAccount tool;
  tool.part_g = 10.0;
  tool.purge_g = 10.0;
  account.tools = {tool};
  account.totals.time = Range::exactly(36000.0);
  account.totals.energy_wh = 1000.0;
  Finding finding;
  finding.saves_time_s = 3600.0;
  finding.saves_purge_g = 5.0;
  finding.saves_energy_wh = 500.0;
  account.findings = {finding};
  Prices prices;
  prices.filament_per_kg = 20.0;
  prices.energy_per_kwh = 0.4;
  prices.maintenance_per_h = 0.5;
  add_prices(account, prices);
  EXPECT_NEAR(*account.findings[0].saves_money, 5.0 * 0.02 + 0.5 + 0.5 * 0.4, 1e-12);
}

}  // namespace
}  // namespace platetally
