// The order of tools for people: what each change costs, orders side by side, the best one, the
// proof.
#include <fmt/format.h>

#include <algorithm>

#include "output/report/strings.hpp"
#include "platetally/order.hpp"

namespace platetally {

namespace {

constexpr std::size_t kRunsShown = 40;
constexpr const char* kSafety =
    "Before you print another order, check adhesion, ooze and colour on a small sample.\n";

std::string pairs_table(const OrderReport& report) {
  std::string out = "Changes  one by one; ? where colours or a measured need are missing\n";
  out += fmt::format("  {:>4} {:>4}  {:<15} {:>6} {:>9} {:>9} {:>9} {:>9} {:>9}\n", "from", "to",
                     "kind", "times", "seconds", "purged g", "need mm3", "need g", "over g");
  for (const OrderPair& pair : report.pairs) {
    const bool known = pair.needed_g.has_value();
    out += fmt::format(
        "  {:>4} {:>4}  {:<15} {:>6} {:>9} {:>9} {:>9} {:>9} {:>9}\n", pair.from, pair.to,
        pair.kind == SwapKind::head_change ? "head change" : "filament change", pair.count,
        fmt::format("{:.1f}", pair.swap_s.expected), report::rounded(pair.purged_g, "g"),
        pair.needed_mm3 ? fmt::format("{:.0f}", *pair.needed_mm3) : "?",
        known ? report::rounded(static_cast<double>(pair.count) * *pair.needed_g, "g") : "?",
        known ? report::rounded(pair.over_purge_g, "g") : "?");
  }
  return out;
}

std::string outcomes_table(const OrderReport& report) {
  const bool money = std::ranges::any_of(report.outcomes,
                                         [](const OrderOutcome& row) { return row.money != 0.0; });
  std::string out =
      fmt::format("Orders  cheapest by {}\n  {:<12} {:>7} {:>10} {:>14}{}\n", report.unit, "",
                  "swaps", "purge g", "changing", money ? fmt::format(" {:>10}", "money") : "");
  for (const OrderOutcome& row : report.outcomes)
    out += fmt::format("  {:<12} {:>7} {:>10} {:>14}{}\n", row.name, row.swaps,
                       report::rounded(row.purge_g, "g"), report::duration(row.time_s),
                       money ? fmt::format(" {:>10.2f}", row.money) : "");
  return out;
}

std::string plan_text(const OrderReport& report) {
  std::string out = "Best order  layers from 1 as they are printed; | between orders in turn\n";
  for (std::size_t i = 0; i < std::min(report.plan.size(), kRunsShown); ++i)
    out += "  " + report.plan[i] + "\n";
  if (report.plan.size() > kRunsShown)
    out +=
        fmt::format("  and {} more; the JSON has every layer\n", report.plan.size() - kRunsShown);
  return out + "  " + report.proof + "\n";
}

std::string heads_text(const OrderReport& report) {
  const HeadAssignment& heads = *report.heads;
  std::string out = "Heads  which colour belongs in which, if the order of the heads is fixed\n";
  for (std::size_t tool = 0; tool < heads.tool_to_head.size(); ++tool) {
    const std::string& colour = tool < report.colours.size() ? report.colours[tool] : "";
    out += fmt::format("  what the file calls T{}{} in head {}\n", tool,
                       colour.empty() ? "" : fmt::format(" ({})", report::printable(colour)),
                       heads.tool_to_head[tool]);
  }
  return out + fmt::format("  costs {:.6g} {} instead of {:.6g}; {}\n", heads.cost, report.unit,
                           heads.cost_as_is,
                           heads.proven ? "optimal: every placement was searched"
                                        : "not proven: too many placements to search all");
}

}  // namespace

std::string to_text(const OrderReport& report) {
  std::string out = fmt::format("{} on {}\n\n", report::printable(report.path),
                                report::printable(report.machine));
  if (report.pairs.empty())
    return out + "One tool or none is in use: there is nothing to order.\n";
  out += pairs_table(report) + "\n" + outcomes_table(report) + "\n" + plan_text(report);
  if (report.heads)
    out += "\n" + heads_text(report);
  out += "\nMind\n";
  for (const std::string& assumption : report.assumptions)
    out += "  " + assumption + "\n";
  return out + "  " + kSafety;
}

}  // namespace platetally
