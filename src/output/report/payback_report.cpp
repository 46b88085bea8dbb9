// A year on two machines, for people and as JSON.
#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "output/report/strings.hpp"
#include "platetally/payback.hpp"
#include "platetally/report.hpp"

namespace platetally {

namespace {

std::string years(const std::optional<double>& value) {
  return value ? fmt::format("{:.2f} years", *value) : "never";
}

std::string verdict(const PaybackReport& report) {
  const auto& name = report.input.machines;
  std::string out;
  for (std::size_t i = 0; i < 2; ++i)
    if (const auto& plates = report.input.cannot_print[i]; !plates.empty())
      out +=
          fmt::format("{} cannot print {} of the plates as they are ({}); nothing pays.\n",
                      report::printable(name[i]), plates.size(), report::printable(plates.front()));
  if (!out.empty())
    return out;
  const std::string& currency = report.input.currency;
  const auto money = [&currency](double amount) {
    return fmt::format("{:.2f}{}{}", amount, currency.empty() ? "" : " ",
                       report::printable(currency));
  };
  if (report.extra_price <= 0.0 && report.saving_a_year >= 0.0)
    return fmt::format("{} costs no more to buy and less to run.\n", report::printable(name[1]));
  if (!report.simple_years)
    return fmt::format("{} never pays back its price difference of {}: it saves {} a year.\n",
                       report::printable(name[1]), money(report.extra_price),
                       money(report.saving_a_year));
  const std::string worth =
      report.net_present_value >= 0.0
          ? fmt::format("is worth {} today", money(report.net_present_value))
          : fmt::format("is still {} short of its price", money(-report.net_present_value));
  return fmt::format(
      "{} pays back its price difference of {} after {} (discounted: {}), by saving {} a year.\n"
      "Over {:.0f} years it {}.\n",
      report::printable(name[1]), money(report.extra_price), years(report.simple_years),
      years(report.discounted_years), money(report.saving_a_year), report.input.years, worth);
}

std::string notes_of(const PaybackReport& report) {
  std::string out;
  for (const std::string& note : report.input.notes)
    out += fmt::format("\n{}\n", report::printable(note));
  return out;
}

}  // namespace

std::string to_text(const PaybackReport& report) {
  std::string out = verdict(report) + fmt::format("\nA year of plates\n  {:<22} {:>14} {:>14}\n",
                                                  "", report::printable(report.input.machines[0]),
                                                  report::printable(report.input.machines[1]));
  const auto line = [&](const char* title, auto get, int decimals) {
    out += fmt::format("  {:<22} {:>14.{}f} {:>14.{}f}\n", title, get(report.year[0]), decimals,
                       get(report.year[1]), decimals);
  };
  using Year = const YearOnMachine&;
  line(
      "hours needed", [](Year y) { return y.hours_needed; }, 0);
  line(
      "hours of one machine", [](Year y) { return y.hours_available; }, 0);
  line(
      "machines needed", [](Year y) { return static_cast<double>(y.machines); }, 0);
  line(
      "wasted kg", [](Year y) { return y.waste_kg; }, 1);
  line(
      "energy kWh", [](Year y) { return y.energy_kwh; }, 0);
  line(
      "running cost", [](Year y) { return y.running_cost; }, 2);
  line(
      "price of the machines", [](Year y) { return y.price; }, 2);
  out += "\n  cumulative cost at the end of year\n";
  for (int year = 1; year <= static_cast<int>(report.input.years); ++year)
    out += fmt::format("  {:<22} {:>14.2f} {:>14.2f}\n", year,
                       report.year[0].price + year * report.year[0].running_cost,
                       report.year[1].price + year * report.year[1].running_cost);
  if (report.causes.empty())
    return out + notes_of(report);
  out += fmt::format(
      "\nWith the spreads given: {} to {}, median {} (5, 95 and 50 of 100); {:.0f} % never.\n",
      years(report.quantile_years[0]), years(report.quantile_years[2]),
      years(report.quantile_years[1]), 100.0 * report.never_share);
  out += "\nWhat matters most: payback with one input at its low and high end\n";
  for (const PaybackCause& cause : report.causes)
    out += fmt::format("  {:<24} {:>14} {:>14}\n", report::printable(cause.input),
                       years(cause.at_low), years(cause.at_high));
  return out + notes_of(report);
}

std::string to_json(const PaybackReport& report) {
  using Json = nlohmann::ordered_json;
  const auto maybe = [](const std::optional<double>& value) {
    return value ? Json(*value) : Json(nullptr);
  };
  Json out;
  out["schema"] = "platetally.payback/1";
  out["made_from"] = nlohmann::ordered_json::parse(to_json(report.input.made_from));
  out["currency"] = report::valid_utf8(report.input.currency);
  out["machines"] = Json::array();
  for (std::size_t i = 0; i < 2; ++i) {
    const YearOnMachine& year = report.year[i];
    out["machines"].push_back({{"name", report::valid_utf8(report.input.machines[i])},
                               {"hours_needed", year.hours_needed},
                               {"hours_available", year.hours_available},
                               {"machines", year.machines},
                               {"waste_kg", year.waste_kg},
                               {"energy_kwh", year.energy_kwh},
                               {"running_cost", year.running_cost},
                               {"price", year.price}});
    Json plates = Json::array();
    for (const std::string& plate : report.input.cannot_print[i])
      plates.push_back(report::valid_utf8(plate));
    out["machines"].back()["cannot_print"] = std::move(plates);
  }
  out["extra_price"] = report.extra_price;
  out["saving_a_year"] = report.saving_a_year;
  out["simple_years"] = maybe(report.simple_years);
  out["discounted_years"] = maybe(report.discounted_years);
  out["net_present_value"] = report.net_present_value;
  out["quantile_years"] = {{"p5", maybe(report.quantile_years[0])},
                           {"p50", maybe(report.quantile_years[1])},
                           {"p95", maybe(report.quantile_years[2])}};
  out["never_share"] = report.never_share;
  out["causes"] = Json::array();
  for (const PaybackCause& cause : report.causes)
    out["causes"].push_back({{"input", report::valid_utf8(cause.input)},
                             {"years_at_low", maybe(cause.at_low)},
                             {"years_at_high", maybe(cause.at_high)}});
  out["notes"] = Json::array();
  for (const std::string& note : report.input.notes)
    out["notes"].push_back(report::valid_utf8(note));
  return out.dump(1) + "\n";
}

}  // namespace platetally
