// Plates beside plates: before and after, in text, JSON and CSV.
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <nlohmann/json.hpp>

#include "output/report/compare_rows.hpp"
#include "output/report/strings.hpp"
#include "platetally/compare.hpp"
#include "platetally/report.hpp"

namespace platetally {

namespace {

using Amounts = HeightSlice::Amounts;
using Json = nlohmann::ordered_json;

struct AmountColumn {
  const char* key;
  const char* title;
  const char* unit;
  double Amounts::*of;
};
constexpr std::array kColumns{AmountColumn{"time_s", "time", "s", &Amounts::time_s},
                              AmountColumn{"part_g", "part", "g", &Amounts::part_g},
                              AmountColumn{"purge_g", "purge", "g", &Amounts::purge_g},
                              AmountColumn{"energy_wh", "energy", "Wh", &Amounts::energy_wh},
                              AmountColumn{"swaps", "swaps", "", &Amounts::swaps}};

constexpr const char* kWithinBand = "within the band";

std::string shown(double value, std::string_view unit) {
  if (unit == "s")
    return report::duration(value);
  if (unit.empty() && value == std::floor(value))
    return fmt::format("{:.0f}", value);
  return report::significant(value) +
         (unit.empty() ? "" : fmt::format(" {}", report::printable(unit)));
}

std::string with_sign(double value, std::string_view unit) {
  return (value < 0.0 ? "-" : "+") + shown(std::abs(value), unit);
}

std::string change_of(const FigureChange& figure) {
  if (figure.before.expected == 0.0 && figure.after.expected == 0.0)
    return "";
  if (figure.alike)
    return shown(figure.before.expected, figure.unit) == shown(figure.after.expected, figure.unit)
               ? "none"
               : kWithinBand;
  std::string out = with_sign(figure.change.expected, figure.unit);
  const std::string low = with_sign(figure.change.low, figure.unit);
  const std::string high = with_sign(figure.change.high, figure.unit);
  if (low != high)
    out += fmt::format(" ({} to {})", low, high);
  return out;
}

std::string name_of_plate(const Comparison& plate) {
  const std::string what_if =
      plate.machines.empty() ? "" : plate.machines.front().account.what_if.changes;
  return report::printable(plate.path) + (what_if.empty() ? "" : fmt::format(", {}", what_if));
}

std::string heights_text(const BeforeAfter& change) {
  if (change.largest.empty())
    return "";
  std::string out = "\nWhere they differ most, by height, and the share of the larger total\n";
  for (const LargeChange& large : change.largest) {
    const AmountColumn& column = *std::ranges::find_if(
        kColumns, [&](const AmountColumn& each) { return large.what == each.key; });
    out += fmt::format(
        "  {:>17}  {:<7} {:>13} -> {:<13} {:<13} {}\n",
        large.slice == 0 ? std::string("before layer 1")
                         : fmt::format("{:.2f} to {:.2f} mm", large.from_mm, large.to_mm),
        column.title, shown(large.before, column.unit), shown(large.after, column.unit),
        with_sign(large.after - large.before, column.unit), report::share(large.share, 1.0));
  }
  return out;
}

std::string before_after_text(const PlatesCompared& compared) {
  const BeforeAfter& change = *compared.before_after;
  std::string out = fmt::format(
      "before: {}\nafter:  {}\non      {}\n\n  {:<20} {:>14} {:>14}   change\n",
      name_of_plate(compared.plates[0]), name_of_plate(compared.plates[1]),
      report::printable(compared.plates[0].machines.front().name), "", "before", "after");
  const auto verdict = [](const Comparison& plate) {
    return name_of(plate.machines.front().account.verdict.grade);
  };
  out += fmt::format("  {:<20} {:>14} {:>14}\n", "verdict", verdict(compared.plates[0]),
                     verdict(compared.plates[1]));
  for (const FigureChange& figure : change.figures) {
    const std::string text = change_of(figure);
    out += fmt::format("  {:<20} {:>14} {:>14}{}{}\n", figure.title,
                       shown(figure.before.expected, figure.unit),
                       shown(figure.after.expected, figure.unit), text.empty() ? "" : "   ", text);
  }
  if (std::ranges::any_of(change.figures, [](const FigureChange& figure) {
        return change_of(figure) == kWithinBand;
      }))
    out += "  'within the band': too small to be sure\n";
  for (const Comparison& plate : compared.plates)
    if (const std::string& assumed = plate.machines.front().account.what_if.assumed;
        !assumed.empty())
      out += fmt::format("  assumed: {}\n", report::printable(assumed));
  return out + heights_text(change);
}

/// Plates as columns, where there is one machine.
std::string plates_text(const PlatesCompared& compared) {
  std::string out = fmt::format("{}\n\n", report::printable(compared.plates[0].machines[0].name));
  const auto line = [&](std::string_view title, auto cell) {
    out += fmt::format("  {:<8}", title);
    for (const Comparison& plate : compared.plates)
      out += fmt::format(" {:>14}", cell(plate.machines.front().account));
    out += '\n';
  };
  for (std::size_t i = 0; i < compared.plates.size(); ++i)
    out += fmt::format("  {}: {}\n", i + 1, name_of_plate(compared.plates[i]));
  std::size_t number = 0;
  line("", [&](const Account&) { return fmt::format("{}", ++number); });
  line("verdict", [](const Account& a) { return std::string(name_of(a.verdict.grade)); });
  line("time", [](const Account& a) { return report::duration(a.totals.time.expected); });
  line("swaps", [](const Account& a) { return fmt::format("{}", a.totals.swaps); });
  line("part", [](const Account& a) { return shown(a.totals.part_g, "g"); });
  line("purge", [](const Account& a) { return shown(a.totals.purge_g, "g"); });
  line("energy", [](const Account& a) { return shown(a.totals.energy_wh, "Wh"); });
  if (std::ranges::all_of(compared.plates, [](const Comparison& plate) {
        return plate.machines.front().account.cost.has_value();
      }))
    line("cost", [](const Account& a) { return fmt::format("{:.2f}", a.cost->total()); });
  return out;
}

Json json_of(const Range& range) {
  return {{"low", range.low}, {"expected", range.expected}, {"high", range.high}};
}

Json json_of(const BeforeAfter& change) {
  Json out;
  out["figures"] = Json::array();
  for (const FigureChange& figure : change.figures)
    out["figures"].push_back({{"key", figure.key},
                              {"unit", figure.unit},
                              {"before", json_of(figure.before)},
                              {"after", json_of(figure.after)},
                              {"change", json_of(figure.change)},
                              {"alike", figure.alike}});
  out["heights"] = Json::array();
  for (const HeightSlice& slice : change.slices) {
    Json row{{"from_mm", slice.from_mm}, {"to_mm", slice.to_mm}};
    for (const auto& [side, amounts] :
         {std::pair("before", &slice.before), std::pair("after", &slice.after)})
      for (const AmountColumn& column : kColumns)
        row[side][column.key] = amounts->*column.of;
    out["heights"].push_back(std::move(row));
  }
  out["largest"] = Json::array();
  for (const LargeChange& large : change.largest)
    out["largest"].push_back({{"height", large.slice},
                              {"from_mm", large.from_mm},
                              {"to_mm", large.to_mm},
                              {"what", large.what},
                              {"before", large.before},
                              {"after", large.after},
                              {"share", large.share}});
  return out;
}

}  // namespace

std::string to_text(const PlatesCompared& compared) {
  std::string out;
  if (compared.before_after)
    out = before_after_text(compared);
  else if (compared.plates.size() > 1)
    out = plates_text(compared);
  if (compared.plates.size() > 1 && compared.plates.front().machines.size() < 2)
    return out;
  for (const Comparison& plate : compared.plates)
    out += (out.empty() ? "" : "\n") + to_text(plate);
  return out;
}

std::string to_json(const PlatesCompared& compared) {
  Json out;
  out["schema"] = "platetally.compare/2";
  out["made_from"] = nlohmann::ordered_json::parse(to_json(compared.made_from));
  out["plates"] = Json::array();
  for (const Comparison& plate : compared.plates)
    out["plates"].push_back(report::json_of(plate));
  out["before_after"] = compared.before_after ? json_of(*compared.before_after) : Json(nullptr);
  return out.dump(1) + "\n";
}

std::string to_csv(const PlatesCompared& compared) {
  std::string out;
  if (!compared.before_after) {
    out = "plate,machine,verdict,time_s,swaps,part_g,purge_g,energy_wh\n";
    for (const Comparison& plate : compared.plates)
      for (const ComparedMachine& machine : plate.machines) {
        const Totals& totals = machine.account.totals;
        out += fmt::format("{},{},{},{},{},{},{},{}\n", report::csv_text(plate.path),
                           report::csv_text(machine.name), name_of(machine.account.verdict.grade),
                           totals.time.expected, totals.swaps, totals.part_g, totals.purge_g,
                           totals.energy_wh);
      }
    return out;
  }
  out = "from_mm,to_mm";
  for (const AmountColumn& column : kColumns)
    out += fmt::format(",before_{0},after_{0}", column.key);
  out += '\n';
  for (const HeightSlice& slice : compared.before_after->slices) {
    out += fmt::format("{},{}", slice.from_mm, slice.to_mm);
    for (const AmountColumn& column : kColumns)
      out += fmt::format(",{},{}", slice.before.*column.of, slice.after.*column.of);
    out += '\n';
  }
  return out;
}

}  // namespace platetally
