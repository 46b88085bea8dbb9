// The order of tools as a page: is the order good, and what would the best one save.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/counted.hpp"
#include "output/report/labels.hpp"
#include "output/report/page.hpp"
#include "output/report/page_parts.hpp"
#include "output/report/page_table.hpp"
#include "output/report/strings.hpp"
#include "platetally/order.hpp"

namespace platetally {

namespace {

using report::duration;
using report::Figure;
using report::Hue;
using report::Row;
using report::significant;
using report::with_unit;
using report::words_column;

constexpr double kWorthIt = 0.005;  // of the cost: below that an order is as good as the best

std::string named(const OrderReport& report, int tool) {
  const auto index = static_cast<std::size_t>(tool);
  const bool known = index < report.colours.size() && !report.colours[index].empty();
  return known ? fmt::format("{} {}", tool, report.colours[index]) : fmt::format("{}", tool);
}

std::string name_of(const OrderOutcome& outcome) {
  return outcome.name == "actual" ? "as it is" : outcome.name;
}

bool is_good_as_it_is(const OrderReport& report) {
  const double actual = report.outcomes.front().cost;
  return actual - report.outcomes.back().cost <= kWorthIt * actual;
}

report::PageVerdict verdict_of(const OrderReport& report) {
  report::PageVerdict verdict;
  if (report.pairs.empty()) {
    verdict.words = "Nothing to order";
    verdict.reasons.emplace_back("one tool or none is in use");
    return verdict;
  }
  const OrderOutcome& actual = report.outcomes.front();
  const OrderOutcome& best = report.outcomes.back();
  if (is_good_as_it_is(report)) {
    verdict.words = "The order is as good as the best";
  } else {
    verdict.grade = Grade::look;
    verdict.words = "Another order takes less";
    std::vector<std::string> less;
    if (actual.purge_g > best.purge_g)
      less.push_back(with_unit(actual.purge_g - best.purge_g, "g") + " of purge");
    if (actual.time_s > best.time_s)
      less.push_back(duration(actual.time_s - best.time_s) + " of changing");
    if (actual.swaps > best.swaps)
      less.push_back(base::counted(actual.swaps - best.swaps, "swap"));
    std::string words;
    for (const std::string& one : less)
      words += (words.empty() ? "" : ", ") + one;
    verdict.reasons.push_back("it saves " + words);
  }
  const bool is_best = verdict.grade == Grade::ready;
  verdict.reasons.push_back(!report.optimal ? report.proof
                            : is_best       ? "proven: no order takes less"
                                            : "proven: none takes less than that one");
  return verdict;
}

std::vector<Figure> figures_of(const OrderReport& report) {
  const auto beside = [&](const char* title, auto amount, auto text) {
    Figure figure{title, text(amount(report.outcomes.back())), "at its best", {}, {}, {}, ""};
    for (const OrderOutcome& one : report.outcomes)
      figure.beside.push_back({name_of(one), amount(one), text(amount(one)),
                               &one == &report.outcomes.front()  ? Hue::second
                               : &one == &report.outcomes.back() ? Hue::third
                                                                 : Hue::other});
    return figure;
  };
  using One = const OrderOutcome&;
  std::vector<Figure> figures{beside(
                                  "Purge", [](One one) { return one.purge_g; },
                                  [](double value) { return with_unit(value, "g"); }),
                              beside(
                                  "Changing", [](One one) { return one.time_s; },
                                  [](double value) { return duration(value); }),
                              beside(
                                  "Swaps", [](One one) { return static_cast<double>(one.swaps); },
                                  [](double value) { return fmt::format("{:.0f}", value); })};
  if (report.heads) {
    Figure heads{"Colours in heads", report.heads->proven ? "proven" : "found", "", {}, {}, {}, ""};
    heads.beside = {
        {"as it is", report.heads->cost_as_is, significant(report.heads->cost_as_is), Hue::second},
        {"at its best", report.heads->cost, significant(report.heads->cost), Hue::third}};
    figures.push_back(std::move(heads));
  }
  return figures;
}

std::vector<report::Lever> levers_of(const OrderReport& report) {
  std::vector<report::Lever> levers;
  if (!is_good_as_it_is(report))
    for (const std::string& line : report.plan) {
      report::Lever lever;
      lever.advice = line;
      levers.push_back(std::move(lever));
    }
  return levers;
}

/// Pairs that occur in the file, or those that do not.
report::PageTable pairs_of(const OrderReport& report, bool that_occur) {
  report::PageTable table;
  table.caption = that_occur ? "changes from tool to tool" : "changes that do not occur";
  table.is_sortable = true;
  table.columns = {words_column("from, to"),     words_column("change of"),
                   {"times", "", false, true},   {"each", "s"},
                   {"purged", "g", false, true}, {"needed", "g"},
                   {"needed each", "mm3"},       {"above need", "g"}};
  for (const OrderPair& pair : report.pairs) {
    if ((pair.count > 0) != that_occur)
      continue;
    const auto count = static_cast<double>(pair.count);
    const std::string dash = "\xE2\x80\x93";
    report::TableRow row;
    row.cells = {{fmt::format("{} to {}", named(report, pair.from), named(report, pair.to))},
                 {pair.kind == SwapKind::head_change ? "head" : "filament"},
                 {fmt::format("{}", pair.count), count},
                 {significant(pair.swap_s.expected), pair.swap_s.expected},
                 {significant(pair.purged_g), pair.purged_g},
                 {pair.needed_g ? significant(count * *pair.needed_g) : dash},
                 {pair.needed_mm3 ? significant(*pair.needed_mm3) : dash, pair.needed_mm3},
                 {pair.needed_g ? significant(pair.over_purge_g) : dash, pair.over_purge_g}};
    if (pair.needed_g && pair.over_purge_g < 0.0)
      row.mark = fmt::format("{} short of need", with_unit(-pair.over_purge_g, "g"));
    table.rows.push_back(std::move(row));
  }
  return table;
}

report::PageTable heads_of(const OrderReport& report) {
  std::vector<std::vector<std::string>> rows;
  for (std::size_t tool = 0; tool < report.heads->tool_to_head.size(); ++tool)
    rows.push_back({named(report, static_cast<int>(tool)),
                    fmt::format("{}", report.heads->tool_to_head[tool])});
  report::PageTable table = report::plain_table({words_column("tool of the file"), {"head"}}, rows);
  table.caption = "which colour in which head";
  return table;
}

}  // namespace

std::string to_html(const OrderReport& report, const PageStamp& stamp) {
  report::Page page(
      {report::short_name(report.path), "The order of the colours", {report.machine}, stamp});
  page.verdict(verdict_of(report));
  if (report.pairs.empty())
    return page.take();
  page.figures(figures_of(report));
  page.begin_row(Row::wide_slim);
  page.begin_card("Every change", "all the changes of a pair in the file", "pairs");
  page.table(pairs_of(report, true));
  if (const report::PageTable others = pairs_of(report, false); !others.rows.empty()) {
    page.begin_fold(base::counted(others.rows.size(), "pair") + " that the file has no change of");
    page.table(others);
    page.end_fold();
  }
  page.end_card();
  page.begin_card("The best order", "| between orders in turn", "levers");
  page.levers(levers_of(report), "Print it as it is.", 6);
  if (report.heads)
    page.table(heads_of(report));
  page.end_card();
  page.end_row();
  page.begin_row(Row::one);
  page.begin_card("What it stands on");
  page.list(report.assumptions);
  page.end_card();
  page.end_row();
  return page.take();
}

}  // namespace platetally
