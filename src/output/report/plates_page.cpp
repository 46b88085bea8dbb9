// Plates beside plates as a page; of two, what is otherwise.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <functional>

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
  return (value < 0.0 ? "\xE2\x88\x92" : "+") + shown(std::abs(value), unit);
}

report::PageVerdict verdict_of(const PlatesCompared& compared) {
  report::PageVerdict verdict;
  for (const Comparison& plate : compared.plates) {
    const Verdict& own = account_of(plate).verdict;
    verdict.grade = std::max(verdict.grade, own.grade);
    if (own.grade != Grade::ready)
      verdict.reasons.push_back(fmt::format(
          "{}: {}", name_of(plate),
          own.reasons.empty() ? report::words_of(own.grade) : own.reasons.front().text));
  }
  if (!compared.before_after) {
    verdict.words = report::counted(compared.plates.size(), "plate") + " beside each other";
    return verdict;
  }
  std::vector<std::string> changes;
  for (const FigureChange& figure : compared.before_after->figures)
    if (!figure.alike && !figure.title.starts_with(' ') && changes.size() < 3 &&
        figure.change.expected != 0.0)
      changes.push_back(
          fmt::format("{} {}", figure.title, with_sign(figure.change.expected, figure.unit)));
  verdict.words = changes.empty() ? "Both take the same" : "After against before:";
  for (const std::string& change : changes)
    verdict.words += fmt::format("{}{}", &change == changes.data() ? " " : ", ", change);
  return verdict;
}

std::vector<Figure> figures_of(const PlatesCompared& compared) {
  const auto beside = [&](std::string name, std::string_view unit,
                          const std::function<double(const Totals&)>& amount) {
    Figure figure{std::move(name), "", "", {}, {}, {}, ""};
    for (std::size_t i = 0; i < compared.plates.size(); ++i) {
      const double value = amount(account_of(compared.plates[i]).totals);
      figure.beside.push_back(
          {name_of(compared.plates[i]), value, shown(value, unit), report::hue_of_index(i)});
    }
    figure.value = figure.beside.back().text;
    figure.aside = compared.before_after ? "after" : "the last";
    return figure;
  };
  return {beside("Time", "s", [](const Totals& one) { return one.time.expected; }),
          beside("Purge", "g", [](const Totals& one) { return one.purge_g; }),
          beside("Energy at the wall", "Wh", [](const Totals& one) { return one.energy_wh; }),
          beside("Swaps", "", [](const Totals& one) { return static_cast<double>(one.swaps); })};
}

report::PageTable changes_of(const BeforeAfter& change) {
  report::PageTable table;
  table.caption = "before and after";
  table.columns = {report::words_column("figure"), {"before"}, {"after"}, {"change"}};
  for (const FigureChange& figure : change.figures) {
    if (figure.before.expected == 0.0 && figure.after.expected == 0.0)
      continue;
    report::TableRow row;
    row.cells = {{figure.title},
                 {shown(figure.before.expected, figure.unit)},
                 {shown(figure.after.expected, figure.unit)},
                 {figure.alike ? "alike" : with_sign(figure.change.expected, figure.unit)}};
    if (!figure.alike && figure.change.low != figure.change.high)
      row.cells.back().note = fmt::format("{} to {}", with_sign(figure.change.low, figure.unit),
                                          with_sign(figure.change.high, figure.unit));
    table.rows.push_back(std::move(row));
  }
  return table;
}

/// Where by height most is otherwise, as things to look at.
std::vector<report::Lever> heights_of(const BeforeAfter& change) {
  std::vector<report::Lever> levers;
  for (const LargeChange& large : change.largest) {
    const HeightSlice& slice = change.slices[large.slice];
    using Amounts = HeightSlice::Amounts;
    const double Amounts::*of = large.what == "time_s"      ? &Amounts::time_s
                                : large.what == "part_g"    ? &Amounts::part_g
                                : large.what == "purge_g"   ? &Amounts::purge_g
                                : large.what == "energy_wh" ? &Amounts::energy_wh
                                                            : &Amounts::swaps;
    const double by = slice.after.*of - slice.before.*of;
    report::Lever lever;
    lever.advice = large.slice == 0
                       ? std::string("before layer 1")
                       : fmt::format("{:.2f} to {:.2f} mm high", slice.from_mm, slice.to_mm);
    (by <= 0.0 ? lever.gains : lever.losses)
        .push_back(fmt::format("{} {}", report::label_of_total(large.what),
                               with_sign(by, report::unit_of_total(large.what))));
    levers.push_back(std::move(lever));
  }
  return levers;
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

}  // namespace

std::string to_html(const PlatesCompared& compared, const PageStamp& stamp) {
  if (compared.plates.size() == 1)
    return to_html(compared.plates.front(), stamp);
  report::Page page({compared.before_after ? fmt::format("{} and {}", name_of(compared.plates[0]),
                                                         name_of(compared.plates[1]))
                                           : report::counted(compared.plates.size(), "plate"),
                     compared.before_after ? "Before and after" : "Plates beside plates",
                     {compared.plates.front().machines.front().name},
                     {stamp.date, ""}});
  page.verdict(verdict_of(compared));
  page.figures(figures_of(compared));
  if (compared.before_after) {
    page.begin_row(Row::wide_slim);
    page.begin_card("What is otherwise");
    page.table(changes_of(*compared.before_after));
    page.end_card();
    page.begin_card("Where, by height", "largest first", "levers");
    page.levers(heights_of(*compared.before_after), "Nothing, at any height.");
    page.end_card();
    page.end_row();
  }
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
