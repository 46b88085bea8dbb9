// A year on two machines. Costs are linear in what is uncertain: how many plates, the prices of
// filament and energy, the waste of each machine, and where in its band each plate's time lies.
// Each is drawn from a triangle around its expectation; the same seed gives the same figures.
#include "platetally/payback.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <random>
#include <stdexcept>
#include <utility>

#include "base/units.hpp"
#include "platetally/cashflow.hpp"

namespace platetally {

namespace {

constexpr double kHoursAYear = 8760.0;
constexpr double kWeeksAYear = 52.0;
constexpr std::size_t kSamples = 2000;
constexpr int kMostMachines = 1000;

/// Where in its spread each uncertain input lies: -1 low end, 0 as expected, 1 high end.
struct Draw {
  double plates = 0.0;
  double filament_price = 0.0;
  double energy_price = 0.0;
  std::array<double, 2> waste{};
  std::array<double, 2> time{};
};

double between(const Range& range, double at) {
  return at < 0.0 ? range.expected + at * (range.expected - range.low)
                  : range.expected + at * (range.high - range.expected);
}

YearOnMachine year_of(const PaybackInput& input, std::size_t machine, const Draw& draw) {
  const PaybackSpread& spread = input.spread;
  YearOnMachine year;
  year.hours_available = kHoursAYear * input.uptime;
  const double volume = 1.0 + draw.plates * spread.plates;
  for (const PaybackPlate& plate : input.plates) {
    const PlateRun& run = plate.runs[machine];
    const double times = plate.weekly * kWeeksAYear * volume;
    const double hours = between(run.hours, draw.time[machine]);
    const double longer = run.hours.expected > 0.0 ? hours / run.hours.expected : 1.0;
    const double waste = 1.0 + draw.waste[machine] * spread.waste;
    year.hours_needed += times * hours;
    year.waste_kg += base::kg_from_g(times * run.waste_g * waste);
    year.energy_kwh += times * run.energy_kwh * longer;
    year.running_cost +=
        times * ((run.filament_cost + run.waste_cost * (waste - 1.0)) *
                     (1.0 + draw.filament_price * spread.filament_price) +
                 run.energy_cost * longer * (1.0 + draw.energy_price * spread.energy_price) +
                 run.hourly_cost * longer + run.other_cost);
  }
  const double needed = std::ceil(year.hours_needed / year.hours_available - 1e-9);
  year.machines = static_cast<int>(std::clamp(needed, 1.0, static_cast<double>(kMostMachines)));
  year.price = input.price[machine] * year.machines;
  return year;
}

/// Flows of choosing the second: the difference in price now, the saving year by year.
std::vector<double> flows_of(const PaybackInput& input, const std::array<YearOnMachine, 2>& year) {
  std::vector<double> flows{year[0].price - year[1].price};
  // Far beyond the years asked for, so that a late payback is found too.
  const auto periods = static_cast<std::size_t>(std::ceil(std::max(input.years, 100.0)));
  flows.resize(1 + periods, year[0].running_cost - year[1].running_cost);
  return flows;
}

std::optional<double> simple_years(const PaybackInput& input, const Draw& draw) {
  const std::array<YearOnMachine, 2> year{year_of(input, 0, draw), year_of(input, 1, draw)};
  return payback_periods(0.0, flows_of(input, year));
}

/// Triangle from -1 to 1 around 0, from whole numbers, so that every library draws the same.
double triangle(std::mt19937_64& random) {
  const auto unit = [&random] {
    return static_cast<double>(random() >> 11) / 9007199254740992.0;  // 2^53
  };
  return unit() - unit();
}

void sample(PaybackReport& report) {
  std::mt19937_64 random(report.input.seed);
  std::vector<double> years;
  for (std::size_t i = 0; i < kSamples; ++i) {
    Draw draw;
    for (double* at : {&draw.plates, &draw.filament_price, &draw.energy_price, &draw.waste[0],
                       &draw.waste[1], &draw.time[0], &draw.time[1]})
      *at = triangle(random);
    if (const auto paid = simple_years(report.input, draw))
      years.push_back(*paid);
  }
  std::ranges::sort(years);
  report.never_share = 1.0 - static_cast<double>(years.size()) / static_cast<double>(kSamples);
  constexpr double kShares[] = {0.05, 0.5, 0.95};
  for (std::size_t i = 0; i < 3; ++i) {
    const auto index = static_cast<std::size_t>(kShares[i] * static_cast<double>(kSamples));
    if (index < years.size())
      report.quantile_years[i] = years[index];
  }
}

void find_causes(PaybackReport& report) {
  const PaybackInput& input = report.input;
  const auto cause = [&](const std::string& name, auto member) {
    Draw low;
    member(low) = -1.0;
    Draw high;
    member(high) = 1.0;
    report.causes.push_back({name, simple_years(input, low), simple_years(input, high)});
  };
  cause("number of plates", [](Draw& d) -> double& { return d.plates; });
  cause("price of filament", [](Draw& d) -> double& { return d.filament_price; });
  cause("price of energy", [](Draw& d) -> double& { return d.energy_price; });
  for (std::size_t machine = 0; machine < 2; ++machine) {
    cause("hours on " + input.machines[machine],
          [machine](Draw& d) -> double& { return d.time[machine]; });
    cause("purged grams on " + input.machines[machine],
          [machine](Draw& d) -> double& { return d.waste[machine]; });
  }
  const auto width = [](const PaybackCause& one) {
    constexpr double kNever = 1e6;
    return std::abs(one.at_high.value_or(kNever) - one.at_low.value_or(kNever));
  };
  std::ranges::stable_sort(report.causes, [&](const PaybackCause& a, const PaybackCause& b) {
    return width(a) > width(b);
  });
}

void require_sense(const PaybackInput& input) {
  if (!(input.uptime > 0.0 && input.uptime <= 1.0))
    throw std::invalid_argument(
        fmt::format("found an uptime of {}; expected more than 0, at most 1", input.uptime));
  if (!(input.years >= 1.0 && input.years <= 50.0))
    throw std::invalid_argument(fmt::format("found {} years; expected 1 to 50", input.years));
  if (!(input.rate >= 0.0 && input.rate <= 1.0))
    throw std::invalid_argument(fmt::format("found a rate of {}; expected 0 to 1", input.rate));
  const PaybackSpread& spread = input.spread;
  for (const auto& [name, share] :
       {std::pair("plates", spread.plates), std::pair("filament_price", spread.filament_price),
        std::pair("energy_price", spread.energy_price), std::pair("waste", spread.waste)})
    if (!(share >= 0.0 && share <= 1.0))
      throw std::invalid_argument(fmt::format(
          "spread: found {} {}; expected 0 to 1, above which a figure would turn negative", name,
          share));
  if (input.plates.empty())
    throw std::invalid_argument("found no plates; expected one or more");
  for (const PaybackPlate& plate : input.plates)
    if (!(plate.weekly >= 0.0 && plate.weekly <= 10000.0))
      throw std::invalid_argument(
          fmt::format("{}: found {} a week; expected 0 to 10000", plate.name, plate.weekly));
}

}  // namespace

double kg_a_year(double grams_a_cycle, double hours_a_cycle, double uptime) {
  return base::kg_from_g(grams_a_cycle) * kHoursAYear * uptime / hours_a_cycle;
}

PaybackReport plan_payback(const PaybackInput& input) {
  require_sense(input);
  PaybackReport report;
  report.input = input;
  report.year = {year_of(input, 0, {}), year_of(input, 1, {})};
  report.extra_price = report.year[1].price - report.year[0].price;
  report.saving_a_year = report.year[0].running_cost - report.year[1].running_cost;
  const std::vector<double> flows = flows_of(input, report.year);
  report.simple_years = payback_periods(0.0, flows);
  report.discounted_years = payback_periods(input.rate, flows);
  report.net_present_value =
      flows.front() + report.saving_a_year * annuity_factor(input.rate, input.years);
  if (!input.cannot_print[0].empty() || !input.cannot_print[1].empty()) {
    // A machine that cannot print the plates is no alternative, whatever it would cost.
    report.simple_years = report.discounted_years = std::nullopt;
    report.never_share = 1.0;
    return report;
  }
  sample(report);
  find_causes(report);
  return report;
}

}  // namespace platetally
