// Machines side by side, for people and as JSON.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <nlohmann/json.hpp>

#include "base/units.hpp"
#include "output/report/compare_rows.hpp"
#include "output/report/strings.hpp"
#include "platetally/compare.hpp"

namespace platetally {

namespace {

struct Row {
  const char* title;
  const char* unit;
  std::function<double(const Account&)> get;
  bool compared;  ///< less is better
};

const std::vector<Row>& rows() {
  static const std::vector<Row> all{
      {"hours", "h", [](const Account& a) { return base::h_from_s(a.totals.time.expected); }, true},
      {"  low", "h", [](const Account& a) { return base::h_from_s(a.totals.time.low); }, false},
      {"  high", "h", [](const Account& a) { return base::h_from_s(a.totals.time.high); }, false},
      {"  printing", "h", [](const Account& a) { return base::h_from_s(a.totals.time_by.print_s); },
       false},
      {"  swaps", "h", [](const Account& a) { return base::h_from_s(a.totals.time_by.swap_s); },
       false},
      {"swaps", "", [](const Account& a) { return static_cast<double>(a.totals.swaps); }, false},
      {"part", "g", [](const Account& a) { return a.totals.part_g; }, false},
      {"purge", "g", [](const Account& a) { return a.totals.purge_g; }, true},
      {"energy", "Wh", [](const Account& a) { return a.totals.energy_wh; }, true},
      {"  bed", "Wh", [](const Account& a) { return a.totals.energy_by.bed_wh; }, false},
      {"  hot ends", "Wh", [](const Account& a) { return a.totals.energy_by.hot_ends_wh; }, false},
      {"  enclosure", "Wh", [](const Account& a) { return a.totals.energy_by.enclosure_wh; },
       false},
      {"  motors", "Wh", [](const Account& a) { return a.totals.energy_by.motors_wh; }, false},
      {"  fans", "Wh", [](const Account& a) { return a.totals.energy_by.fans_wh; }, false},
      {"  electronics", "Wh", [](const Account& a) { return a.totals.energy_by.electronics_wh; },
       false},
      {"  supply loss", "Wh", [](const Account& a) { return a.totals.energy_by.supply_loss_wh; },
       false},
      {"mean power", "W", [](const Account& a) { return a.totals.mean_power_w; }, true},
      {"zones used", "",
       [](const Account& a) { return static_cast<double>(a.totals.bed_zones_used); }, false},
      {"cost", "", [](const Account& a) { return a.cost ? a.cost->total() : 0.0; }, true},
      {"  a good part", "", [](const Account& a) { return a.cost ? a.cost->per_good_part : 0.0; },
       false}};
  return all;
}

std::string cell(double value) {
  const int decimals = value >= 100.0 || value == std::floor(value) ? 0 : 2;
  return fmt::format("{:.{}f}", value, decimals);
}

/// "B by 23.5 g (62 %)" where one is best.
/// A difference that would be shown as 0 %.
constexpr double kAlike = 0.005;

std::string winner(const Comparison& comparison, const Row& row) {
  if (!row.compared || comparison.machines.size() < 2)
    return "";
  std::vector<std::pair<double, std::string>> values;
  for (const ComparedMachine& machine : comparison.machines)
    if (!machine.cannot())
      values.emplace_back(row.get(machine.account), machine.name);
  if (values.size() < 2)
    return "";
  std::ranges::stable_sort(values, {}, &std::pair<double, std::string>::first);
  const double gap = values[1].first - values[0].first;
  if (gap <= kAlike * values[1].first)  // of nothing, too
    return "alike";
  return fmt::format("{} by {}{}{}", report::printable(values[0].second), cell(gap),
                     *row.unit == '\0' ? "" : fmt::format(" {}", row.unit),
                     fmt::format(" ({:.0f} %)", 100.0 * gap / values[1].first));
}

}  // namespace

std::string to_text(const Comparison& comparison) {
  std::string out = fmt::format("{}\n\n  {:<15}", report::printable(comparison.path), "");
  for (const ComparedMachine& machine : comparison.machines)
    out += fmt::format(" {:>14}", report::printable(machine.name));
  out += "   less\n";
  out += fmt::format("  {:<15}", "verdict");
  for (const ComparedMachine& machine : comparison.machines)
    out += fmt::format(" {:>14}", name_of(machine.account.verdict.grade));
  out += '\n';
  const bool priced = std::ranges::all_of(
      comparison.machines, [](const ComparedMachine& m) { return m.account.cost.has_value(); });
  for (const Row& row : rows()) {
    if (!priced &&
        (std::string_view(row.title) == "cost" || std::string_view(row.title) == "  a good part"))
      continue;
    std::string line =
        fmt::format("  {:<15}", std::string(row.title) +
                                    (*row.unit == '\0' ? "" : fmt::format(" {}", row.unit)));
    for (const ComparedMachine& machine : comparison.machines)
      line += fmt::format(" {:>14}", machine.cannot()
                                         ? fmt::format("({})", cell(row.get(machine.account)))
                                         : cell(row.get(machine.account)));
    const std::string best = winner(comparison, row);
    out += fmt::format("{}{}{}\n", line, best.empty() ? "" : "   ", best);
  }
  if (std::ranges::any_of(comparison.machines, &ComparedMachine::cannot))
    out += "\n  (in brackets: what it would take; the plate cannot be printed there as it is)\n";
  for (const BreakEven& even : comparison.break_even) {
    std::vector<std::string> turns;
    if (even.swap_s)
      turns.push_back(fmt::format("equal time at {} s a swap", report::significant(*even.swap_s)));
    if (even.energy_per_kwh)
      turns.push_back(fmt::format("equal cost at {:.2f} a kWh", *even.energy_per_kwh));
    if (even.copies)
      turns.push_back(
          fmt::format("equal cost at {} copies a plate", report::significant(*even.copies)));
    if (!turns.empty())
      out +=
          fmt::format("\nBreak-even of {} with {}: {}.\n", report::printable(even.machine),
                      report::printable(comparison.machines.front().name), fmt::join(turns, "; "));
  }
  for (const ComparedMachine& machine : comparison.machines) {
    out += fmt::format("\n{}\n", report::printable(machine.name));
    for (const VerdictReason& reason : machine.account.verdict.reasons)
      out += fmt::format("  {}: {}\n", name_of(reason.grade), report::printable(reason.text));
    for (const std::string& misfit : machine.misfits)
      out += fmt::format("  does not fit: {}\n", report::printable(misfit));
    for (const std::string& line : machine.measured)
      out += fmt::format("  measured: {}\n", report::printable(line));
    for (const std::string& line : machine.assumed)
      out += fmt::format("  assumed: {}\n", report::printable(line));
  }
  return out +
         "\nBefore a plate goes to another machine, check adhesion, ooze and colour on a small "
         "sample.\n";
}

namespace {

/// What a plate says of itself goes into them.
nlohmann::ordered_json texts(const std::vector<std::string>& lines) {
  nlohmann::ordered_json out = nlohmann::ordered_json::array();
  for (const std::string& line : lines)
    out.push_back(report::valid_utf8(line));
  return out;
}

}  // namespace

nlohmann::ordered_json report::json_of(const Comparison& comparison) {
  nlohmann::ordered_json out;
  out["path"] = report::valid_utf8(comparison.path);
  out["what_if"] = comparison.machines.empty()
                       ? ""
                       : report::valid_utf8(comparison.machines.front().account.what_if.changes);
  out["machines"] = nlohmann::ordered_json::array();
  for (const ComparedMachine& machine : comparison.machines) {
    const Totals& totals = machine.account.totals;
    nlohmann::ordered_json row;
    row["name"] = report::valid_utf8(machine.name);
    row["verdict"] = {{"grade", name_of(machine.account.verdict.grade)},
                      {"reasons", nlohmann::ordered_json::array()}};
    for (const VerdictReason& reason : machine.account.verdict.reasons)
      row["verdict"]["reasons"].push_back({{"code", reason.code},
                                           {"grade", name_of(reason.grade)},
                                           {"text", report::valid_utf8(reason.text)}});
    row["replanned"] = machine.replanned;
    row["totals"] = {{"time_s", totals.time.expected},
                     {"time_low_s", totals.time.low},
                     {"time_high_s", totals.time.high},
                     {"time_by",
                      {{"print", totals.time_by.print_s},
                       {"travel", totals.time_by.travel_s},
                       {"swap", totals.time_by.swap_s},
                       {"heat_wait", totals.time_by.heat_wait_s},
                       {"other", totals.time_by.other_s}}},
                     {"swaps", totals.swaps},
                     {"part_g", totals.part_g},
                     {"purge_g", totals.purge_g},
                     {"energy_wh", totals.energy_wh},
                     {"energy_low_wh", totals.energy_low_wh},
                     {"energy_high_wh", totals.energy_high_wh},
                     {"energy_by",
                      {{"bed", totals.energy_by.bed_wh},
                       {"hot_ends", totals.energy_by.hot_ends_wh},
                       {"enclosure", totals.energy_by.enclosure_wh},
                       {"motors", totals.energy_by.motors_wh},
                       {"fans", totals.energy_by.fans_wh},
                       {"electronics", totals.energy_by.electronics_wh},
                       {"supply_loss", totals.energy_by.supply_loss_wh}}},
                     {"mean_power_w", totals.mean_power_w},
                     {"bed_zones_used", totals.bed_zones_used}};
    row["cost"] = machine.account.cost ? nlohmann::ordered_json(machine.account.cost->total())
                                       : nlohmann::ordered_json(nullptr);
    row["measured"] = texts(machine.measured);
    row["assumed"] = texts(machine.assumed);
    row["misfits"] = texts(machine.misfits);
    out["machines"].push_back(std::move(row));
  }
  out["break_even"] = nlohmann::ordered_json::array();
  const auto maybe = [](const std::optional<double>& value) {
    return value ? nlohmann::ordered_json(*value) : nlohmann::ordered_json(nullptr);
  };
  for (const BreakEven& even : comparison.break_even)
    out["break_even"].push_back({{"machine", report::valid_utf8(even.machine)},
                                 {"swap_s", maybe(even.swap_s)},
                                 {"energy_per_kwh", maybe(even.energy_per_kwh)},
                                 {"copies", maybe(even.copies)}});
  return out;
}

}  // namespace platetally
