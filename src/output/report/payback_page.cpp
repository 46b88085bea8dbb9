// A year of plates on two machines as a page: does it pay back, and when.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "output/report/chart.hpp"
#include "output/report/page.hpp"
#include "output/report/page_parts.hpp"
#include "output/report/page_table.hpp"
#include "output/report/strings.hpp"
#include "platetally/payback.hpp"

namespace platetally {

namespace {

using report::Figure;
using report::Hue;
using report::Row;

constexpr int kPointsPerYear = 12;
constexpr double kMonths = 12.0;  // of a year
constexpr double kMonthsBelow_years = 2.0;

std::string years(const std::optional<double>& value) {
  if (!value)
    return "never";
  return *value < kMonthsBelow_years ? fmt::format("{:.0f} months", kMonths * *value)
                                     : fmt::format("{:.1f} years", *value);
}

std::string money(const PaybackReport& report, double amount) {
  const std::string& currency = report.input.currency;
  return fmt::format("{:.0f}{}{}", amount, currency.empty() ? "" : " ", currency);
}

report::PageVerdict verdict_of(const PaybackReport& report) {
  const auto& names = report.input.machines;
  report::PageVerdict verdict;
  for (std::size_t i = 0; i < names.size(); ++i)
    if (const auto& plates = report.input.cannot_print[i]; !plates.empty()) {
      verdict.grade = Grade::cannot;
      verdict.words = "Nothing pays as it is";
      verdict.reasons.push_back(fmt::format("{} cannot print {} of the plates ({})", names[i],
                                            plates.size(), plates.front()));
    }
  if (verdict.grade == Grade::cannot)
    return verdict;
  if (report.extra_price <= 0.0 && report.saving_a_year >= 0.0) {
    verdict.words = fmt::format("{} costs no more to buy and less to run", names[1]);
  } else if (!report.simple_years) {
    verdict.grade = Grade::cannot;
    verdict.words = fmt::format("{} never pays its price difference", names[1]);
  } else {
    const bool in_time = *report.simple_years <= report.input.years;
    verdict.grade = in_time && report.net_present_value >= 0.0 ? Grade::ready : Grade::look;
    verdict.words = fmt::format("{} pays after {}", names[1], years(report.simple_years));
  }
  verdict.reasons.push_back(fmt::format("{} more to buy, {} less to run in a year",
                                        money(report, report.extra_price),
                                        money(report, report.saving_a_year)));
  if (report.never_share > 0.0)
    verdict.reasons.push_back(fmt::format("in {:.0f} of 100 samples of the spreads it never pays",
                                          100.0 * report.never_share));
  return verdict;
}

std::vector<Figure> figures_of(const PaybackReport& report) {
  const auto& names = report.input.machines;
  std::vector<Figure> figures;
  Figure payback{"Pays after", years(report.simple_years), "", {}, {}, {}, ""};
  const auto& quantiles = report.quantile_years;
  if (report.simple_years && quantiles[0] && quantiles[2])
    payback.band = report::FigureBand{
        *quantiles[0], *report.simple_years, *quantiles[2],
        fmt::format("{} to {} in 90 of 100 samples", years(quantiles[0]), years(quantiles[2]))};
  payback.remark = fmt::format("discounted at {:.0f} % a year: {}", 100.0 * report.input.rate,
                               years(report.discounted_years));
  figures.push_back(std::move(payback));
  figures.push_back({fmt::format("Worth today, over {:.0f} years", report.input.years),
                     money(report, report.net_present_value),
                     "",
                     {},
                     {},
                     {},
                     report.net_present_value >= 0.0 ? "more than its extra price"
                                                     : "still short of its extra price"});
  const auto beside = [&](std::string name, auto get, auto text) {
    Figure figure{std::move(name),
                  text(get(report.year[1])),
                  fmt::format("with {}", names[1]),
                  {},
                  {},
                  {},
                  ""};
    for (std::size_t i = 0; i < names.size(); ++i)
      figure.beside.push_back(
          {names[i], get(report.year[i]), text(get(report.year[i])), report::hue_of_index(i)});
    return figure;
  };
  using Year = const YearOnMachine&;
  figures.push_back(beside(
      "Running cost a year", [](Year year) { return year.running_cost; },
      [&](double value) { return money(report, value); }));
  figures.push_back(beside(
      "Wasted a year", [](Year year) { return year.waste_kg; },
      [](double value) { return report::with_unit(value, "kg"); }));
  return figures;
}

/// What each machine has cost since it was bought. The band of the second is that of its payback:
/// a line from its price through the years that 5 and 95 of 100 samples take.
report::Chart cumulative(const PaybackReport& report) {
  report::Chart chart;
  chart.id = "cumulative";
  chart.label = "what both machines have cost, by years";
  chart.axis = report::ChartAxis::years;
  const double span = report.input.years;
  const int points = std::max(1, static_cast<int>(std::lround(span * kPointsPerYear)));
  report::ChartSeries first{report.input.machines[0], Hue::first, {}, report::SeriesShape::slope};
  report::ChartSeries second{report.input.machines[1], Hue::second, {}, report::SeriesShape::slope};
  report::ChartSeries band{"90 of 100 samples", Hue::second, {}, report::SeriesShape::band};
  const auto saving = [&](const std::optional<double>& after) {
    return after && *after > 0.0 ? report.extra_price / *after : 0.0;
  };
  const double most = saving(report.quantile_years[0]);
  const double least = saving(report.quantile_years[2]);
  for (int i = 0; i <= points; ++i) {
    const double at = span * i / points;
    chart.edges.push_back(at);
    const double one = report.year[0].price + at * report.year[0].running_cost;
    first.values.push_back(one);
    second.values.push_back(report.year[1].price + at * report.year[1].running_cost);
    band.values.push_back(one + report.extra_price - least * at);
    band.low.push_back(std::max(0.0, one + report.extra_price - most * at));
  }
  report::ChartPanel panel{"cost so far", report.input.currency, {}, {}, 210};
  if (report.extra_price > 0.0 && report.quantile_years[0])
    panel.series.push_back(std::move(band));
  panel.series.push_back(std::move(first));
  panel.series.push_back(std::move(second));
  chart.panels.push_back(std::move(panel));
  if (report.simple_years && *report.simple_years > 0.0 && *report.simple_years < span)
    chart.marks.push_back(
        {*report.simple_years, fmt::format("The upright line: after {} both have cost the same.",
                                           years(report.simple_years))});
  return chart;
}

report::PageTable year_table(const PaybackReport& report) {
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
      "wasted, kg", [](Year y) { return y.waste_kg; }, 1);
  row(
      "energy, kWh", [](Year y) { return y.energy_kwh; }, 0);
  row(
      "running cost", [](Year y) { return y.running_cost; }, 2);
  row(
      "price of the machines", [](Year y) { return y.price; }, 2);
  for (int year = 1; year <= static_cast<int>(report.input.years); ++year)
    rows.push_back(
        {fmt::format("cost by the end of year {}", year),
         fmt::format("{:.2f}", report.year[0].price + year * report.year[0].running_cost),
         fmt::format("{:.2f}", report.year[1].price + year * report.year[1].running_cost)});
  report::PageTable table = report::plain_table(
      {report::words_column("a year"), {report.input.machines[0]}, {report.input.machines[1]}},
      rows);
  table.caption = "a year on both machines";
  return table;
}

/// What moves the answer most, as levers: the payback with one input at its ends.
std::vector<report::Lever> causes_of(const PaybackReport& report) {
  std::vector<report::Lever> levers;
  for (const PaybackCause& cause : report.causes) {
    report::Lever lever;
    lever.advice = cause.input;
    lever.facts = {fmt::format("low: {}", years(cause.at_low)),
                   fmt::format("high: {}", years(cause.at_high))};
    levers.push_back(std::move(lever));
  }
  return levers;
}

}  // namespace

std::string to_html(const PaybackReport& report, const PageStamp& stamp) {
  const auto& names = report.input.machines;
  report::Page page({fmt::format("{} instead of {}", names[1], names[0]),
                     "Does it pay back",
                     {fmt::format("{} kinds of plates a week", report.input.plates.size()),
                      fmt::format("over {:.0f} years", report.input.years)},
                     stamp});
  page.verdict(verdict_of(report));
  page.figures(figures_of(report));
  page.begin_row(Row::wide_slim);
  page.begin_card("What both have cost", "price and running cost, by years");
  page.chart(cumulative(report));
  page.end_card();
  page.begin_card("What matters most", "payback with one input at its low and high end", "levers");
  page.levers(causes_of(report), "No input changes the payback within its spread.", 4);
  page.end_card();
  page.end_row();
  const bool has_notes = !report.input.notes.empty();
  page.begin_row(has_notes ? Row::wide_slim : Row::one);
  page.begin_card("A year on both machines");
  page.table(year_table(report));
  page.end_card();
  if (has_notes) {
    page.begin_card("Note");
    page.list(report.input.notes);
    page.end_card();
  }
  page.end_row();
  return page.take();
}

}  // namespace platetally
