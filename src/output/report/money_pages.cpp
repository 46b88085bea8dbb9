// Machines side by side, and a year on two machines, as pages.
#include <fmt/format.h>

#include "base/units.hpp"
#include "output/report/compare_rows.hpp"
#include "output/report/page.hpp"
#include "output/report/strings.hpp"
#include "platetally/compare.hpp"
#include "platetally/payback.hpp"

namespace platetally {

namespace {

std::string years(const std::optional<double>& value) {
  return value ? fmt::format("{:.2f} years", *value) : "never";
}

std::vector<std::string> break_even_of(const Comparison& comparison) {
  std::vector<std::string> lines;
  for (const BreakEven& even : comparison.break_even) {
    if (even.swap_s)
      lines.push_back(fmt::format("equal time with {} at {} s a swap there", even.machine,
                                  report::significant(*even.swap_s)));
    if (even.energy_per_kwh)
      lines.push_back(
          fmt::format("equal cost with {} at {:.2f} a kWh", even.machine, *even.energy_per_kwh));
    if (even.copies)
      lines.push_back(fmt::format("equal cost with {} at {} copies a plate", even.machine,
                                  report::significant(*even.copies)));
  }
  if (lines.empty())
    lines.emplace_back("nothing within the figures given");
  return lines;
}

}  // namespace

void report::add_comparison(report::Page& page, const Comparison& comparison, bool whole_page) {
  const auto heading = [&](std::string_view title) {
    if (whole_page)
      page.heading(title);
    else
      page.subheading(title);
  };
  std::vector<std::string> head{""};
  std::vector<std::vector<std::string>> rows{
      {"verdict"}, {"hours"},     {"of it swaps"},  {"swaps"},     {"part g"},
      {"purge g"}, {"energy Wh"}, {"mean power W"}, {"bed zones"}, {"cost"}};
  std::vector<std::pair<std::string, double>> hours;
  std::vector<std::pair<std::string, double>> purge;
  for (const ComparedMachine& machine : comparison.machines) {
    const Totals& totals = machine.account.totals;
    head.push_back(machine.name);
    const std::string cells[] = {
        std::string(name_of(machine.account.verdict.grade)),
        fmt::format("{:.2f} ({:.2f} to {:.2f})", base::h_from_s(totals.time.expected),
                    base::h_from_s(totals.time.low), base::h_from_s(totals.time.high)),
        fmt::format("{:.2f}", base::h_from_s(totals.time_by.swap_s)),
        fmt::format("{}", totals.swaps),
        report::rounded(totals.part_g, "g"),
        report::rounded(totals.purge_g, "g"),
        report::rounded(totals.energy_wh, "Wh"),
        report::rounded(totals.mean_power_w, "W"),
        fmt::format("{}", totals.bed_zones_used),
        machine.account.cost ? fmt::format("{:.2f} {}", machine.account.cost->total(),
                                           machine.account.cost->currency)
                             : "no prices given"};
    for (std::size_t i = 0; i < rows.size(); ++i)
      rows[i].push_back(machine.cannot() && i > 0 ? fmt::format("({})", cells[i]) : cells[i]);
    if (machine.cannot())
      continue;
    hours.emplace_back(machine.name, base::h_from_s(totals.time.expected));
    purge.emplace_back(machine.name, totals.purge_g);
  }
  page.table(head, rows, 1);
  heading("Hours");
  page.bars(hours, "h");
  heading("Purge");
  page.bars(purge, "g");
  heading("Break-even");
  page.list(break_even_of(comparison));
  for (const ComparedMachine& machine : comparison.machines) {
    heading(machine.name);
    std::vector<std::string> lines;
    for (const VerdictReason& reason : machine.account.verdict.reasons)
      lines.push_back(fmt::format("{}: {}", name_of(reason.grade), reason.text));
    for (const std::string& misfit : machine.misfits)
      lines.push_back("does not fit: " + misfit);
    for (const std::string& line : machine.measured)
      lines.push_back("measured: " + line);
    for (const std::string& line : machine.assumed)
      lines.push_back("assumed: " + line);
    page.list(lines);
  }
}

std::string to_html(const Comparison& comparison) {
  report::Page page("One plate, several machines", comparison.path);
  report::add_comparison(page, comparison, true);
  return page.take();
}

std::string to_html(const PaybackReport& report) {
  const auto& names = report.input.machines;
  report::Page page("A year of plates", fmt::format("{} against {}", names[1], names[0]));
  page.figures(
      {{years(report.simple_years), "until the second has paid its extra price"},
       {years(report.discounted_years), "the same, discounted"},
       {fmt::format("{:.2f}", report.net_present_value),
        fmt::format("worth today, over {:.0f} years", report.input.years)},
       {fmt::format("{} to {}", years(report.quantile_years[0]), years(report.quantile_years[2])),
        "in 90 of 100 samples of the spreads given"}});
  page.heading("A year");
  std::vector<std::vector<std::string>> rows;
  const auto row = [&](const char* title, auto get, int decimals) {
    rows.push_back({title, fmt::format("{:.{}f}", get(report.year[0]), decimals),
                    fmt::format("{:.{}f}", get(report.year[1]), decimals)});
  };
  using Year = const YearOnMachine&;
  row(
      "hours needed", [](Year y) { return y.hours_needed; }, 0);
  row(
      "hours of one machine", [](Year y) { return y.hours_available; }, 0);
  row(
      "machines needed", [](Year y) { return static_cast<double>(y.machines); }, 0);
  row(
      "wasted kg", [](Year y) { return y.waste_kg; }, 1);
  row(
      "energy kWh", [](Year y) { return y.energy_kwh; }, 0);
  row(
      "running cost", [](Year y) { return y.running_cost; }, 2);
  row(
      "price of the machines", [](Year y) { return y.price; }, 2);
  page.table({"", names[0], names[1]}, rows, 1);
  page.heading("Wasted in a year");
  page.bars({{names[0], report.year[0].waste_kg}, {names[1], report.year[1].waste_kg}}, "kg");
  page.heading("Cumulative cost");
  rows.clear();
  for (int year = 1; year <= static_cast<int>(report.input.years); ++year)
    rows.push_back(
        {fmt::format("end of year {}", year),
         fmt::format("{:.2f}", report.year[0].price + year * report.year[0].running_cost),
         fmt::format("{:.2f}", report.year[1].price + year * report.year[1].running_cost)});
  page.table({"", names[0], names[1]}, rows, 1);
  page.heading("What matters most", "payback with one input at its low and high end");
  rows.clear();
  for (const PaybackCause& cause : report.causes)
    rows.push_back({cause.input, years(cause.at_low), years(cause.at_high)});
  page.table({"input", "low", "high"}, rows, 1);
  if (!report.input.notes.empty()) {
    page.heading("Note");
    page.list(report.input.notes);
  }
  return page.take();
}

}  // namespace platetally
