// Plates beside plates as a page; of two, what is otherwise.
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <functional>

#include "base/counted.hpp"
#include "output/report/chart.hpp"
#include "output/report/labels.hpp"
#include "output/report/page.hpp"
#include "output/report/page_parts.hpp"
#include "output/report/page_table.hpp"
#include "output/report/plate_picture.hpp"
#include "output/report/strings.hpp"
#include "platetally/compare.hpp"

namespace platetally {

namespace {

using report::Figure;
using report::Hue;
using report::Row;
using report::with_unit;

const Account& account_of(const Comparison& plate) {
  return plate.machines.front().account;
}

std::string name_of(const Comparison& plate) {
  const std::string& changes = account_of(plate).what_if.changes;
  return report::short_name(plate.path) + (changes.empty() ? "" : fmt::format(", {}", changes));
}

std::string shown(double value, std::string_view unit) {
  return unit.empty() ? fmt::format("{:.0f}", value) : with_unit(value, unit);
}

std::string with_sign(double value, std::string_view unit) {
  return (value < 0.0 ? "\xE2\x88\x92" : "+") +
         report::held_together(shown(std::abs(value), unit), true);
}

/// Time, purge and energy, as far as they changed beyond the band; where they are fewer than three,
/// others after them.
std::vector<std::string> changes_in_words(const BeforeAfter& change) {
  constexpr std::array<std::string_view, 3> kFirst{"time_s", "purge_g", "energy_wh"};
  std::vector<std::string> words;
  for (const bool is_first : {true, false})
    for (const FigureChange& figure : change.figures)
      if (!figure.alike && !figure.title.starts_with(' ') && words.size() < kFirst.size() &&
          figure.change.expected != 0.0 &&
          is_first == (std::ranges::find(kFirst, figure.key) != kFirst.end()))
        words.push_back(
            fmt::format("{} {}", figure.title, with_sign(figure.change.expected, figure.unit)));
  return words;
}

report::PageVerdict verdict_of(const PlatesCompared& compared) {
  report::PageVerdict verdict;
  // What became more or less is no success and no failure: only a plate that is to be looked at
  // counts.
  verdict.is_plain = true;
  for (const Comparison& plate : compared.plates) {
    const Verdict& own = account_of(plate).verdict;
    verdict.grade = std::max(verdict.grade, own.grade);
    verdict.is_plain = verdict.is_plain && own.grade == Grade::ready;
    if (own.grade != Grade::ready)
      verdict.reasons.push_back(fmt::format(
          "{}: {}", name_of(plate),
          own.reasons.empty() ? report::words_of(own.grade) : own.reasons.front().text));
  }
  if (!compared.before_after) {
    verdict.words = base::counted(compared.plates.size(), "plate") + " beside each other";
    return verdict;
  }
  const std::vector<std::string> changes = changes_in_words(*compared.before_after);
  verdict.words = changes.empty() ? "No difference beyond the band" : "After against before:";
  for (const std::string& change : changes)
    verdict.words += fmt::format("{}{}", &change == changes.data() ? " " : ", ", change);
  return verdict;
}

std::vector<Figure> figures_of(const PlatesCompared& compared) {
  const auto beside = [&](std::string name, std::string_view unit, Hue hue,
                          const std::function<double(const Totals&)>& amount) {
    Figure figure{std::move(name), "", "", {}, {}, {}, ""};
    for (std::size_t i = 0; i < compared.plates.size(); ++i) {
      const double value = amount(account_of(compared.plates[i]).totals);
      figure.beside.push_back(
          {compared.before_after ? (i == 0 ? "before" : "after") : name_of(compared.plates[i]),
           value, shown(value, unit), hue});
    }
    figure.value = figure.beside.back().text;
    figure.aside = compared.before_after ? "after" : "the last";
    return figure;
  };
  return {beside("Time", "s", Hue::time, [](const Totals& one) { return one.time.expected; }),
          beside("Purge", "g", Hue::purge, [](const Totals& one) { return one.purge_g; }),
          beside("Energy at the wall", "Wh", Hue::energy,
                 [](const Totals& one) { return one.energy_wh; }),
          beside("Swaps", "", Hue::swap,
                 [](const Totals& one) { return static_cast<double>(one.swaps); })};
}

std::string words_of_change(const FigureChange& figure) {
  if (figure.alike)
    return shown(figure.before.expected, figure.unit) == shown(figure.after.expected, figure.unit)
               ? "none"
               : "within the band";
  return with_sign(figure.change.expected, figure.unit);
}

report::PageTable changes_of(const BeforeAfter& change) {
  report::PageTable table;
  table.caption = "before and after";
  table.is_close = true;
  table.columns = {report::words_column("figure"), {"before"}, {"after"}, {"change"}};
  for (const FigureChange& figure : change.figures) {
    if (figure.before.expected == 0.0 && figure.after.expected == 0.0)
      continue;
    report::TableRow row;
    row.cells = {{figure.title},
                 {shown(figure.before.expected, figure.unit)},
                 {shown(figure.after.expected, figure.unit)},
                 {words_of_change(figure)}};
    if (!figure.alike && figure.change.low != figure.change.high)
      row.cells.back().note = fmt::format("{} to {}", with_sign(figure.change.low, figure.unit),
                                          with_sign(figure.change.high, figure.unit));
    table.rows.push_back(std::move(row));
  }
  return table;
}

/// One of the quantities that are told by height.
struct Quantity {
  std::string_view key;
  std::string_view name;
  Hue hue;
};
constexpr std::array kQuantities{
    Quantity{"time_s", "time", Hue::time}, Quantity{"swaps", "swaps", Hue::swap},
    Quantity{"part_g", "part", Hue::part}, Quantity{"purge_g", "purge", Hue::purge},
    Quantity{"energy_wh", "energy", Hue::energy}};

const Quantity& quantity_of(const LargeChange& change) {
  return *std::ranges::find(kQuantities, change.what, &Quantity::key);
}

std::string words_of_heights(const LargeChange& change) {
  return change.to_mm <= 0.0 ? std::string("before layer 1")
                             : fmt::format("{:.2f} to {:.2f} mm", change.from_mm, change.to_mm);
}

/// Where the plates differ most: each change of a quantity as a share of its total, so that minutes
/// and grams stand in one order.
report::PageTable heights_of(const BeforeAfter& change) {
  report::PageTable table;
  table.caption = "heights of largest difference";
  table.is_close = true;
  table.columns = {report::words_column("height"),
                   report::words_column("what"),
                   {"before"},
                   {"after"},
                   {"share", "", false, true}};
  for (const LargeChange& large : change.largest) {
    const Quantity& quantity = quantity_of(large);
    const std::string unit(report::unit_of_total(large.what));
    table.rows.push_back(
        {{{words_of_heights(large)},
          {std::string(quantity.name)},
          {shown(large.before, unit)},
          {shown(large.after, unit), std::nullopt, {}, with_sign(large.after - large.before, unit)},
          {report::share(large.share, 1.0), large.share}}});
  }
  return table;
}

using Side = HeightSlice::Amounts HeightSlice::*;
using OfAmounts = std::function<double(const HeightSlice::Amounts&)>;

/// Per millimetre of height, so that areas are what the plate takes however thick its layers are.
report::ChartSeries over_heights(const BeforeAfter& change, std::string name, Hue hue, Side side,
                                 const OfAmounts& amount) {
  report::ChartSeries series{std::move(name), hue, {}};
  for (std::size_t i = 1; i < change.slices.size(); ++i) {
    const HeightSlice& slice = change.slices[i];
    series.values.push_back(amount(slice.*side) / (slice.to_mm - slice.from_mm));
  }
  return series;
}

struct Stacked {
  const char* name;
  Hue hue;
  OfAmounts of;
};

/// Before and after of what adds up, on one scale; a part that neither has is left out of both.
void add_both(const BeforeAfter& change, const char* title, const char* unit,
              const std::vector<Stacked>& parts, report::Chart& chart) {
  report::ChartPanel before{std::string(title) + " before", unit};
  report::ChartPanel after{std::string(title) + " after", unit};
  before.key_title = title;
  before.height_px = after.height_px = 88;
  for (const Stacked& part : parts) {
    report::ChartSeries one =
        over_heights(change, part.name, part.hue, &HeightSlice::before, part.of);
    report::ChartSeries other =
        over_heights(change, part.name, part.hue, &HeightSlice::after, part.of);
    const auto is_something = [](double value) { return value > 0.0; };
    if (std::ranges::none_of(one.values, is_something) &&
        std::ranges::none_of(other.values, is_something))
      continue;
    before.series.push_back(std::move(one));
    after.series.push_back(std::move(other));
  }
  if (before.series.empty())
    return;
  report::put_on_one_scale({&before, &after}, chart.edges);
  chart.panels.push_back(std::move(before));
  chart.panels.push_back(std::move(after));
}

/// A lane for each quantity that differs much somewhere, with a span for each such height.
report::ChartPanel marked_heights(const BeforeAfter& change) {
  report::ChartPanel panel{"differ most", ""};
  for (const Quantity& quantity : kQuantities) {
    report::ChartLane lane{std::string(quantity.name), {}};
    for (const LargeChange& large : change.largest)
      if (large.what == quantity.key && large.to_mm > large.from_mm)
        lane.spans.push_back({large.from_mm, large.to_mm, "", quantity.hue});
    std::ranges::sort(lane.spans, {}, &report::LaneSpan::from);
    if (!lane.spans.empty())
      panel.lanes.push_back(std::move(lane));
  }
  return panel;
}

report::Chart height_chart(const BeforeAfter& change) {
  report::Chart chart;
  chart.id = "heights";
  chart.label = "time and material by height, before and after";
  chart.axis = report::ChartAxis::height;
  for (const HeightSlice& slice : change.slices)
    chart.edges.push_back(slice.to_mm);
  using Amounts = HeightSlice::Amounts;
  add_both(change, "time", "s/mm",
           {{"print", Hue::print, [](const Amounts& one) { return one.time_by.print_s; }},
            {"travel", Hue::travel, [](const Amounts& one) { return one.time_by.travel_s; }},
            {"swaps", Hue::swap, [](const Amounts& one) { return one.time_by.swap_s; }},
            {"heat waits", Hue::wait, [](const Amounts& one) { return one.time_by.heat_wait_s; }},
            {"other", Hue::other, [](const Amounts& one) { return one.time_by.other_s; }}},
           chart);
  if (report::ChartPanel marked = marked_heights(change); !marked.lanes.empty())
    chart.panels.push_back(std::move(marked));
  add_both(change, "material", "g/mm",
           {{"part", Hue::part, [](const Amounts& one) { return one.part_g; }},
            {"purge", Hue::purge, [](const Amounts& one) { return one.purge_g; }}},
           chart);
  const HeightSlice& first = change.slices.front();
  chart.caption = fmt::format(
      "Per mm of height, so areas compare whatever the layers' thickness; both on one scale. "
      "Between them the heights that differ most. Before layer 1, not drawn: {} before, {} after.",
      report::duration(first.before.time_s), report::duration(first.after.time_s));
  return chart;
}

report::PageTable plates_table(const PlatesCompared& compared) {
  report::PageTable table;
  table.caption = "plates beside each other";
  table.is_sortable = true;
  table.columns = {report::words_column("plate"),
                   report::words_column("machine"),
                   report::words_column("verdict"),
                   {"time", "", false, true},
                   {"swaps"},
                   {"part", "g"},
                   {"purge", "g", false, true},
                   {"energy", "Wh", false, true}};
  for (const Comparison& plate : compared.plates)
    for (const ComparedMachine& machine : plate.machines) {
      const Totals& totals = machine.account.totals;
      table.rows.push_back({{{name_of(plate)},
                             {machine.name},
                             {report::words_of(machine.account.verdict.grade)},
                             {report::duration(totals.time.expected), totals.time.expected},
                             {fmt::format("{}", totals.swaps), static_cast<double>(totals.swaps)},
                             {report::significant(totals.part_g), totals.part_g},
                             {report::significant(totals.purge_g), totals.purge_g},
                             {report::significant(totals.energy_wh), totals.energy_wh}}});
    }
  return table;
}

void add_before_after(const BeforeAfter& change, report::Page& page) {
  page.begin_row(Row::halves);
  page.begin_card("Differences", "'within the band': too small to be sure");
  page.table(changes_of(change));
  page.end_card();
  page.begin_card("Where they differ most", "by the share of the larger total", "levers");
  if (change.largest.empty())
    page.paragraph("Nowhere.");
  else
    page.table(heights_of(change));
  page.end_card();
  page.end_row();
  if (report::Chart chart = height_chart(change); chart.has_something()) {
    page.begin_row(Row::one);
    page.begin_card("By height", "before above, after below");
    page.chart(chart);
    page.end_card();
    page.end_row();
  }
}

}  // namespace

std::string to_html(const PlatesCompared& compared, const PageStamp& stamp) {
  if (compared.plates.size() == 1)
    return to_html(compared.plates.front(), stamp);
  report::Page page({compared.before_after ? fmt::format("{} and {}", name_of(compared.plates[0]),
                                                         name_of(compared.plates[1]))
                                           : base::counted(compared.plates.size(), "plate"),
                     compared.before_after ? "Before and after" : "Plates beside plates",
                     {compared.plates.front().machines.front().name},
                     {stamp.date, ""}});
  page.verdict(verdict_of(compared));
  page.figures(figures_of(compared));
  if (compared.before_after)
    add_before_after(*compared.before_after, page);
  page.begin_row(Row::one);
  page.begin_card("Plates beside each other");
  page.table(plates_table(compared));
  std::vector<report::PagePlate> plates;
  for (const Comparison& plate : compared.plates)
    if (!report::drawn_plate(account_of(plate)).empty())
      plates.push_back(
          {name_of(plate), &account_of(plate), report::words_of_plate(account_of(plate))});
  if (!plates.empty())
    page.plates(plates);
  std::vector<std::string> assumed;
  for (const Comparison& plate : compared.plates)
    if (const std::string& words = account_of(plate).what_if.assumed; !words.empty())
      assumed.push_back("assumed: " + words);
  page.list(assumed);
  page.end_card();
  page.end_row();
  return page.take();
}

}  // namespace platetally
