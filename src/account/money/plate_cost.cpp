// What a plate costs. Formulae: docs/methods-money.md.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/units.hpp"
#include "platetally/account.hpp"
#include "platetally/advice.hpp"
#include "platetally/prices.hpp"

namespace platetally {

namespace {

constexpr double kFailsHalfway = 0.5;  // assumed
constexpr double kMostFailure = 0.99;

/// Mean price of a kilowatt-hour from `from_h` (of the clock) on, at even power.
double price_over(const Prices& prices, double from_h, double hours) {
  if (hours <= 0.0)
    return prices.energy_per_kwh_by_hour[static_cast<std::size_t>(from_h) % 24];
  // A clock hour after the other; whole days cost their mean.
  double sum = 0.0;
  double left_h = std::min(hours, 24.0 * 365.0);
  const double all_h = left_h;
  double at_h = from_h;
  while (left_h > 1e-12) {
    const double step_h = std::min(left_h, std::floor(at_h) + 1.0 - at_h);
    sum += step_h * prices.energy_per_kwh_by_hour[static_cast<std::size_t>(at_h) % 24];
    at_h += step_h;
    left_h -= step_h;
  }
  return sum / all_h;
}

/// Mean price of the plate's kilowatt-hours, each at the hour in which it is drawn; at even power
/// where it is not known when that is.
double mean_energy_price(const Prices& prices, const Account& account) {
  if (prices.energy_per_kwh_by_hour.size() != 24)
    return prices.energy_per_kwh.value_or(0.0);
  double drawn_wh = 0.0, sum = 0.0;
  for (const PowerSample& sample : account.power) {
    const double wh = sample.energy.sum_wh();
    drawn_wh += wh;
    sum += wh * price_over(prices, prices.start_hour + base::h_from_s(sample.start_s),
                           base::h_from_s(sample.duration_s));
  }
  return drawn_wh > 0.0
             ? sum / drawn_wh
             : price_over(prices, prices.start_hour, base::h_from_s(account.totals.time.expected));
}

double per_kg(const Prices& prices, std::size_t tool) {
  const bool own = tool < prices.tool_per_kg.size() && prices.tool_per_kg[tool].has_value();
  const double price = own ? *prices.tool_per_kg[tool] : prices.filament_per_kg.value_or(0.0);
  return price / (1.0 - prices.spool_remainder_share);
}

bool prices_every_tool(const Account& account, const Prices& prices) {
  if (prices.filament_per_kg)
    return true;
  for (const ToolAccount& tool : account.tools) {
    const auto index = static_cast<std::size_t>(tool.tool);
    const bool used = tool.part_g + tool.purge_g + tool.start_up_g > 0.0;
    if (used && (index >= prices.tool_per_kg.size() || !prices.tool_per_kg[index]))
      return false;
  }
  return true;
}

}  // namespace

PlateCost cost_of_plate(const Account& account, const Prices& prices, int copies) {
  const Totals& totals = account.totals;
  const double hours = base::h_from_s(totals.time.expected);
  PlateCost cost;
  cost.currency = prices.currency;
  double purged_g = 0.0;
  for (const ToolAccount& tool : account.tools) {
    const double per_g = per_kg(prices, static_cast<std::size_t>(tool.tool)) / base::kGPerKg;
    cost.part_filament += tool.part_g * per_g;
    cost.purge_filament += (tool.purge_g + tool.start_up_g) * per_g;
    purged_g += tool.purge_g + tool.start_up_g;
    const double kg = base::kg_from_g(tool.part_g + tool.purge_g + tool.start_up_g);
    cost.drying += kg * prices.drying_per_kg;
    cost.wear += kg * prices.wear_per_kg;
  }
  cost.per_purge_g =
      purged_g > 0.0 ? cost.purge_filament / purged_g : per_kg(prices, 0) / base::kGPerKg;
  cost.energy_per_kwh = mean_energy_price(prices, account);
  cost.energy = base::kwh_from_wh(totals.energy_wh) * cost.energy_per_kwh;
  cost.per_hour =
      prices.maintenance_per_h +
      (prices.machine_price.value_or(0.0) - prices.machine_salvage) / prices.machine_life_h;
  if (!prices.machine_price)
    cost.per_hour = prices.maintenance_per_h;
  cost.machine = hours * cost.per_hour;
  cost.labour =
      prices.labour_per_plate +
      static_cast<double>(totals.pauses + totals.manual_changes) * prices.labour_per_intervention;
  const double survives =
      std::pow(1.0 - prices.failure_per_swap, static_cast<double>(totals.swaps)) *
      std::exp(-prices.failure_per_h * hours);
  cost.failure_probability = std::min(1.0 - survives, kMostFailure);
  const double failed = cost.failure_probability / (1.0 - cost.failure_probability);
  cost.failures = failed * (kFailsHalfway * (cost.part_filament + cost.purge_filament +
                                             cost.drying + cost.wear + cost.energy + cost.machine) +
                            prices.labour_per_intervention);
  cost.per_good_part = cost.total() / std::max(copies, 1);
  if (prices.carbon_g_per_kwh)
    cost.carbon_g = base::kwh_from_wh(totals.energy_wh) * *prices.carbon_g_per_kwh;
  if (!prices_every_tool(account, prices))
    cost.not_counted.emplace_back("filament of some tools");
  if (!prices.energy_per_kwh && prices.energy_per_kwh_by_hour.empty())
    cost.not_counted.emplace_back("energy");
  if (!prices.machine_price)
    cost.not_counted.emplace_back("the machine's price");
  return cost;
}

void add_spools(Account& account, const Prices& prices) {
  if (prices.reserve_share != 0.0)
    account.made_from.set("reserve_share", fmt::format("{}", prices.reserve_share));
  for (ToolAccount& tool : account.tools) {
    tool.to_have_g = (1.0 + prices.reserve_share) * (tool.part_g + tool.purge_g + tool.start_up_g);
    if (prices.spool_g)
      tool.spools =
          std::ceil(*tool.to_have_g / (*prices.spool_g * (1.0 - prices.spool_remainder_share)));
  }
}

namespace {

/// Filament, drying and wear by its own grams, energy by its watt-hours, machine and labour by its
/// time; failures by all of these. All objects together cost what the plate does.
void share_cost(Account& account, const Prices& prices) {
  const PlateCost& cost = *account.cost;
  const double failing = cost.total() - cost.failures;
  const double time_s = account.totals.time.expected;
  const double alike = 1.0 / static_cast<double>(std::max<std::size_t>(1, account.objects.size()));
  for (ObjectAccount& object : account.objects) {
    double own = base::kwh_from_wh(object.energy_wh) * cost.energy_per_kwh;
    for (std::size_t tool = 0; tool < object.part_by_tool_g.size(); ++tool) {
      const double g = object.part_by_tool_g[tool] + object.waste_by_tool_g[tool];
      own += g * per_kg(prices, tool) / base::kGPerKg;
      own += base::kg_from_g(g) * (prices.drying_per_kg + prices.wear_per_kg);
    }
    const double share_of_time = time_s > 0.0 ? object.time_by.sum_s() / time_s : alike;
    own += share_of_time * (cost.machine + cost.labour);
    object.cost = own + cost.failures * (failing > 0.0 ? own / failing : alike);
  }
}

/// Both plates through the same prices. A finding without a played plate is worth what its grams,
/// hours and watt-hours cost.
double money_saved(const Finding& finding, const PlateCost& as_is, const Prices& prices) {
  if (finding.advised != nullptr)
    return as_is.total() - cost_of_plate(*finding.advised, prices).total() / finding.plates;
  return finding.saves_purge_g * as_is.per_purge_g +
         base::h_from_s(finding.saves_time_s) * as_is.per_hour +
         base::kwh_from_wh(finding.saves_energy_wh) * as_is.energy_per_kwh;
}

}  // namespace

double cost_per_s(const PlateCost& cost, double mean_power_w) {
  return (cost.per_hour + base::kwh_from_wh(mean_power_w) * cost.energy_per_kwh) /
         base::kSecondsPerHour;
}

void add_prices(Account& account, const Prices& prices, int copies) {
  add_spools(account, prices);
  account.made_from.set("prices", prices_hash(prices));
  if (copies != 1)
    account.made_from.set("copies", fmt::format("{}", copies));
  account.cost = cost_of_plate(account, prices, copies);
  share_cost(account, prices);
  for (Finding& finding : account.findings)
    finding.saves_money = money_saved(finding, *account.cost, prices);
  rank_findings(account, Aim::money);
}

}  // namespace platetally
