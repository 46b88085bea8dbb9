#include "account/findings/wrong_machine.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>

#include "account/advice/shift.hpp"
#include "account/whatif/replan.hpp"
#include "base/units.hpp"
#include "material/swaps/pair_need.hpp"
#include "motion/timeline/durations.hpp"

namespace platetally::findings {

namespace {

constexpr double kRoundingMm = 0.01;  // plates touch the very edge; coordinates have 3 decimals

double hottest_head_c(const Machine& machine) {
  double hottest_c = 0.0;
  for (const Head& head : machine.heads)
    hottest_c = std::max(hottest_c, head.maximum_c);
  return hottest_c;
}

bool fits_area(const ledgers::Demand& demand, const BuildArea& area) {
  return !demand.lays_anything() || (demand.x_min_mm >= area.x_min_mm - kRoundingMm &&
                                     demand.x_max_mm <= area.x_max_mm + kRoundingMm &&
                                     demand.y_min_mm >= area.y_min_mm - kRoundingMm &&
                                     demand.y_max_mm <= area.y_max_mm + kRoundingMm &&
                                     demand.z_max_mm <= area.z_max_mm + kRoundingMm);
}

/// How the plate could lie within the area: moved, turned, or smaller.
std::string nearest_place(const ledgers::Demand& demand, const BuildArea& area) {
  const double room_x_mm = area.x_max_mm - area.x_min_mm + kRoundingMm;
  const double room_y_mm = area.y_max_mm - area.y_min_mm + kRoundingMm;
  const double wide_mm = demand.x_max_mm - demand.x_min_mm;
  const double deep_mm = demand.y_max_mm - demand.y_min_mm;
  const auto least_shift = [](double from, double to, double low, double high) {
    return from < low ? low - from : std::min(0.0, high - to);
  };
  const bool high_enough = demand.z_max_mm <= area.z_max_mm + kRoundingMm;
  if (high_enough && wide_mm <= room_x_mm && deep_mm <= room_y_mm)
    return fmt::format(
        "moved by {} it fits",
        advice::shift_words(
            least_shift(demand.x_min_mm, demand.x_max_mm, area.x_min_mm, area.x_max_mm),
            least_shift(demand.y_min_mm, demand.y_max_mm, area.y_min_mm, area.y_max_mm)));
  if (high_enough && deep_mm <= room_x_mm && wide_mm <= room_y_mm)
    return "turned by 90 degrees and moved it fits";
  const double straight = std::min(room_x_mm / wide_mm, room_y_mm / deep_mm);
  const double turned = std::min(room_x_mm / deep_mm, room_y_mm / wide_mm);
  const double share = std::min({std::max(straight, turned), area.z_max_mm / demand.z_max_mm, 1.0});
  return fmt::format("at {:.0f} % of its size{} it fits, or split into several plates",
                     std::floor(100.0 * share),
                     turned > straight * (1.0 + 1e-9) ? " and turned by 90 degrees" : "");
}

std::vector<std::string> fitting_machines(const ledgers::Demand& demand, int tools) {
  BuildArea extent;
  if (demand.lays_anything())
    extent = {demand.x_min_mm, demand.x_max_mm, demand.y_min_mm, demand.y_max_mm, demand.z_max_mm};
  return machines_that_fit(extent, tools, demand.bed_c, demand.head_c);
}

std::string advice(const ledgers::Demand& demand, int tools) {
  const std::vector<std::string> fitting = fitting_machines(demand, tools);
  if (fitting.empty())
    return "none of the embedded machines fits this plate; describe yours in a machine file";
  return fmt::format("embedded machines that fit this plate: {}", fmt::join(fitting, ", "));
}

/// Changes of filament in one nozzle, and what they purge.
struct FilamentChanges {
  double count = 0.0;
  double purge_mm3 = 0.0;
};

bool is_filament_change(const Machine& machine, int from, int to) {
  return timeline::Durations::swap_kind(machine, from, to) == SwapKind::filament_change;
}

/// What keeps a tower standing is no swap's.
FilamentChanges changes_in(const std::vector<ledgers::Turn>& turns, const Machine& machine) {
  FilamentChanges changes;
  bool is_one = false;
  for (const ledgers::Turn& turn : turns) {
    if (turn.tool < 0)
      continue;
    if (turn.from >= 0) {
      is_one = is_filament_change(machine, turn.from, turn.tool);
      changes.count += is_one ? 1.0 : 0.0;
      changes.purge_mm3 += is_one ? machine.swap.hidden_purge_mm3 : 0.0;
    }
    const Tool& tool = machine.tools[static_cast<std::size_t>(turn.tool)];
    changes.purge_mm3 +=
        is_one ? turn.purge_mm * base::filament_area_mm2(tool.filament_diameter_mm) : 0.0;
  }
  return changes;
}

/// By pairs, where there are too many turns to keep; and with all that may be purge besides.
FilamentChanges filament_changes(const Account& account, const std::vector<ledgers::Turn>& turns,
                                 const Machine& machine, const std::vector<Material>& materials) {
  const auto mm3_of = [&](double grams, int tool) {
    return grams / base::g_from_mm3(1.0, materials[static_cast<std::size_t>(tool)].density_g_cm3);
  };
  FilamentChanges changes = changes_in(turns, machine);
  int any_tool = 0;
  for (const SwapPairAccount& pair : account.swap_pairs) {
    any_tool = pair.to;
    if (!turns.empty() || !is_filament_change(machine, pair.from, pair.to))
      continue;
    changes.count += static_cast<double>(pair.count);
    changes.purge_mm3 += mm3_of(pair.purge_g, pair.to);
  }
  const Totals& totals = account.totals;
  changes.purge_mm3 += mm3_of(std::max(0.0, totals.purge_high_g - totals.purge_g), any_tool);
  return changes;
}

/// The first embedded machine that fits the plate and changes heads where it changes tools.
std::string head_changer(const Account& account, const ledgers::Demand& demand, int tools) {
  for (const std::string& name : fitting_machines(demand, tools)) {
    const Machine machine = load_machine(name).machine();
    if (std::ranges::all_of(account.swap_pairs, [&](const SwapPairAccount& pair) {
          return timeline::Durations::swap_kind(machine, pair.from, pair.to) ==
                 SwapKind::head_change;
        }))
      return name;
  }
  return {};
}

Diagnostic warn(const char* code, std::string message) {
  Diagnostic warning;
  warning.code = code;
  warning.severity = Severity::warning;
  warning.message = std::move(message);
  return warning;
}

}  // namespace

std::vector<Diagnostic> check_machine(const ledgers::Demand& demand, int tools,
                                      const Machine& machine) {
  std::vector<Diagnostic> warnings;
  if (!fits_area(demand, machine.area))
    warnings.push_back(warn(
        "plate-leaves-area",
        fmt::format(
            "material is laid over x {:.1f} to {:.1f}, y {:.1f} to {:.1f}, z up to {:.1f} mm; "
            "expected it within x {} to {}, y {} to {}, z {} mm of '{}'; accounted for as if "
            "the machine could reach it",
            demand.x_min_mm, demand.x_max_mm, demand.y_min_mm, demand.y_max_mm, demand.z_max_mm,
            machine.area.x_min_mm, machine.area.x_max_mm, machine.area.y_min_mm,
            machine.area.y_max_mm, machine.area.z_max_mm, machine.name)));
  const bool leaves_area = !warnings.empty();
  const auto too_hot = [&](const char* code, const char* what, double asked_c, double most_c) {
    if (asked_c > most_c)
      warnings.push_back(warn(
          code, fmt::format("{} is set to {:g} degC; expected at most {:g} on '{}'; held at that",
                            what, asked_c, most_c, machine.name)));
  };
  too_hot("bed-beyond-machine", "the bed", demand.bed_c, machine.bed.maximum_c);
  too_hot("nozzle-beyond-machine", "a nozzle", demand.head_c, hottest_head_c(machine));
  if (machine.enclosure.present && machine.enclosure.heater_w > 0.0)
    too_hot("enclosure-beyond-machine", "the enclosure", demand.enclosure_c,
            machine.enclosure.maximum_c);
  for (Diagnostic& warning : warnings)
    warning.help = advice(demand, tools);
  if (leaves_area)
    warnings.front().help = nearest_place(demand, machine.area) + "; " + warnings.front().help;
  if (demand.lays_anything() && demand.head_c <= 0.0) {
    warnings.push_back(warn(
        "nozzle-never-heated",
        "material is laid and no nozzle is ever set to a temperature; expected M104 or M109; the "
        "hot ends count as cold"));
    warnings.back().help =
        "if a word of the machine's own heats up, say so in the machine file: "
        "docs/machine-words.md";
  }
  return warnings;
}

// What has to leave before any of the new colour arrives is the least that a change needs, whatever
// the colours. It is known to half of itself at worst: settings of practice for alike colours begin
// at 90 mm3 where it is 138 (sixty-one one-nozzle machines, and what their users keep; public logs
// and profiles). So below half of it, doubtful purge included, the plate is another machine's.
std::vector<Diagnostic> check_purge(const Account& account, const std::vector<ledgers::Turn>& turns,
                                    const ledgers::Demand& demand, int tools,
                                    const Machine& machine,
                                    const std::vector<Material>& materials) {
  constexpr double kCertainShare = 0.5;
  if (machine.swap.filament_change_by_hand)
    return {};
  const FilamentChanges changes = filament_changes(account, turns, machine, materials);
  const double least_mm3 = swaps::need_model_of(machine).dead_mm3;
  if (changes.count <= 0.0 || changes.purge_mm3 >= kCertainShare * least_mm3 * changes.count)
    return {};
  const double each_mm3 = changes.purge_mm3 / changes.count;
  std::vector<Diagnostic> warnings{warn(
      whatif::kOtherMachine.data(),
      fmt::format("sliced for a machine that changes heads: {:.0f} {} {:.0f} mm3{}, one nozzle "
                  "needs {:.0f} mm3 or more; expected a plate sliced for {}; hours, grams and "
                  "watt-hours are those of the plate as it is, which would not come out in its "
                  "colours",
                  changes.count, changes.count == 1.0 ? "swap purges" : "swaps purge", each_mm3,
                  changes.count == 1.0 ? "" : " each", least_mm3, machine.name))};
  const std::string other = head_changer(account, demand, tools);
  warnings.front().help = fmt::format(
      "'compare PLATE --sliced-for {0} --machine {1}' tells what it takes once sliced for {1}; if "
      "the machine purges by itself, say how much in swap.hidden_purge_mm3",
      other.empty() ? "ITS-MACHINE" : other, machine.name);
  return warnings;
}

std::vector<Diagnostic> check_heads(const std::vector<ToolAccount>& tools,
                                    const std::vector<ledgers::ToolUse>& uses,
                                    const Machine& machine) {
  std::vector<bool> is_hot(machine.heads.size(), false);
  for (std::size_t tool = 0; tool < uses.size(); ++tool)
    if (uses[tool].first_hot_s >= 0.0)
      is_hot[static_cast<std::size_t>(machine.tools[tool].head)] = true;
  if (std::none_of(is_hot.begin(), is_hot.end(), [](bool hot) { return hot; }))
    return {};
  std::vector<std::string> cold;
  for (const ToolAccount& tool : tools) {
    const auto index = static_cast<std::size_t>(tool.tool);
    if (uses[index].first_laid_s >= 0.0 &&
        !is_hot[static_cast<std::size_t>(machine.tools[index].head)])
      cold.push_back(fmt::format("T{} on head {} lays {:.2f} g", tool.tool,
                                 machine.tools[index].head,
                                 tool.part_g + tool.purge_g + tool.start_up_g));
  }
  if (cold.empty())
    return {};
  std::vector<Diagnostic> warnings{
      warn("head-never-heated",
           fmt::format("{}, and that head is never set to a temperature; expected M104 or M109 "
                       "for it; it counts as cold",
                       fmt::join(cold, ", ")))};
  warnings.front().help =
      "is the number behind T in M104 and M109 that of another tool, or does a word of the "
      "machine's own heat up (docs/machine-words.md)?";
  return warnings;
}

}  // namespace platetally::findings
