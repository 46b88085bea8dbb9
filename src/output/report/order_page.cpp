// The order of tools as a page.
#include <fmt/format.h>

#include "output/report/page.hpp"
#include "output/report/strings.hpp"
#include "platetally/order.hpp"

namespace platetally {

namespace {

std::string named(const OrderReport& report, int tool) {
  const auto index = static_cast<std::size_t>(tool);
  const bool known = index < report.colours.size() && !report.colours[index].empty();
  return known ? fmt::format("{} {}", tool, report.colours[index]) : fmt::format("{}", tool);
}

}  // namespace

std::string to_html(const OrderReport& report) {
  report::Page page("The order of the tools", fmt::format("{} on {}", report.path, report.machine));
  if (report.pairs.empty()) {
    page.paragraph("One tool or none is in use: there is nothing to order.");
    return page.take();
  }
  const OrderOutcome& actual = report.outcomes.front();
  const OrderOutcome& best = report.outcomes.back();
  page.figures({{report::rounded(actual.purge_g - best.purge_g, "g") + " g",
                 "less purge with the best order than with the file's"},
                {report::duration(std::max(0.0, actual.time_s - best.time_s)), "less changing"},
                {fmt::format("{} / {}", best.swaps, actual.swaps), "swaps, best and actual"}});
  page.heading("Orders side by side", report.proof);
  std::vector<std::vector<std::string>> rows;
  std::vector<std::pair<std::string, double>> bars;
  for (const OrderOutcome& row : report.outcomes) {
    rows.push_back({row.name, fmt::format("{}", row.swaps), report::rounded(row.purge_g, "g"),
                    report::duration(row.time_s)});
    bars.emplace_back(row.name, row.purge_g);
  }
  page.table({"order", "swaps", "purge g", "changing"}, rows, 1,
             static_cast<std::ptrdiff_t>(rows.size()) - 1);
  page.bars(bars, "g");
  page.heading("Every change", "purged and needed: of all the changes of a pair in the file");
  rows.clear();
  for (const OrderPair& pair : report.pairs)
    rows.push_back({named(report, pair.from), named(report, pair.to),
                    pair.kind == SwapKind::head_change ? "head change" : "filament change",
                    fmt::format("{}", pair.count), fmt::format("{:.1f}", pair.swap_s.expected),
                    report::rounded(pair.purged_g, "g"),
                    pair.needed_mm3 ? fmt::format("{:.0f}", *pair.needed_mm3) : "?",
                    pair.needed_g
                        ? report::rounded(static_cast<double>(pair.count) * *pair.needed_g, "g")
                        : "?",
                    pair.needed_g ? report::rounded(pair.over_purge_g, "g") : "?"});
  page.table(
      {"from", "to", "kind", "times", "seconds", "purged g", "need mm3 each", "needed g", "over g"},
      rows, 3);
  page.heading("The best order", "layers from 1 as they are printed; | between orders in turn");
  page.list(report.plan);
  if (report.heads) {
    page.heading("Which colour in which head");
    rows.clear();
    for (std::size_t tool = 0; tool < report.heads->tool_to_head.size(); ++tool)
      rows.push_back({named(report, static_cast<int>(tool)),
                      fmt::format("{}", report.heads->tool_to_head[tool])});
    page.table({"tool of the file", "head"}, rows, 1);
  }
  page.heading("What it stands on");
  page.list(report.assumptions);
  return page.take();
}

}  // namespace platetally
