// What the file purges is dropped: its grams, and the seconds that laying them takes on the
// machine. In its place comes, for every swap of the file, what the machine's policy asks for: at a
// filament change the need of the pair (measured, or by the colours), else purge_each_mm3; at a
// head change tower_each_mm3; both pushed out at purge_mm3_s. The machine's own seconds of a change
// are in the account already. Energy follows time at the plate's mean power, which is an
// approximation: while purging, axes are slower and the nozzle works harder.
#include "account/whatif/replan.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "account/ledgers/by_tool.hpp"
#include "base/units.hpp"
#include "material/swaps/pair_need.hpp"
#include "motion/timeline/durations.hpp"
#include "platetally/account.hpp"

namespace platetally::whatif {

namespace {

double g_per_mm3(const Machine& machine, const std::vector<Material>& materials, std::size_t tool) {
  const Material* known = ledgers::find_material(machine.tools[tool].material, materials);
  return known == nullptr ? 0.0 : base::g_from_mm3(1.0, known->density_g_cm3);
}

/// Moves energy and time of the plate by some seconds at its mean power.
void shift_time(Totals& totals, double by_s) {
  const double before_s = totals.time.expected;
  const double share = before_s > 0.0 ? by_s / before_s : 0.0;
  for (double* wh :
       {&totals.energy_by.bed_wh, &totals.energy_by.hot_ends_wh, &totals.energy_by.enclosure_wh,
        &totals.energy_by.motors_wh, &totals.energy_by.fans_wh, &totals.energy_by.electronics_wh,
        &totals.energy_by.supply_loss_wh})
    *wh *= 1.0 + share;
  totals.energy_wh = totals.energy_by.sum_wh();
  totals.time_by.swap_s += by_s;
  totals.time += Range::exactly(by_s);
  totals.time_of_print += Range::exactly(by_s);
}

}  // namespace

bool swaps_alike(const Account& account, const Machine& from, const Machine& to) {
  return std::ranges::all_of(account.swap_pairs, [&](const SwapPairAccount& pair) {
    return timeline::Durations::swap_kind(from, pair.from, pair.to) ==
           timeline::Durations::swap_kind(to, pair.from, pair.to);
  });
}

std::vector<std::string> replace_purge(Account& account, const Machine& machine,
                                       const std::vector<Material>& materials) {
  const auto needs_mm3 = swaps::pair_needs_mm3(machine, ledgers::colours_by_tool(account, machine));
  double changes_s = 0.0;
  double purge_mm3 = 0.0;
  bool unknown = false;
  bool towers = false;
  Totals& totals = account.totals;
  for (ToolAccount& tool : account.tools)
    tool.purge_g = 0.0;
  double purge_g = 0.0;
  for (SwapPairAccount& pair : account.swap_pairs) {
    const auto to = static_cast<std::size_t>(pair.to);
    const auto count = static_cast<double>(pair.count);
    changes_s += count * (timeline::Durations::swap_s(machine, pair.from, pair.to).expected +
                          timeline::Durations::long_swap_s(machine).expected);
    const bool head =
        timeline::Durations::swap_kind(machine, pair.from, pair.to) == SwapKind::head_change;
    const auto& need_mm3 =
        needs_mm3[static_cast<std::size_t>(pair.from) * machine.tools.size() + to];
    const double each_mm3 =
        head ? machine.swap.tower_each_mm3 : need_mm3.value_or(machine.swap.purge_each_mm3);
    unknown = unknown || (!head && !need_mm3);
    towers = towers || head;
    purge_mm3 += count * each_mm3;
    pair.purge_g = count * each_mm3 * g_per_mm3(machine, materials, to);
    pair.swaps_short = 0;
    pair.short_g = 0.0;
    purge_g += pair.purge_g;
    account.tools[to].purge_g += pair.purge_g;
  }
  const double dropped_s = std::max(0.0, totals.time_by.swap_s - changes_s);
  const double purge_s = purge_mm3 / machine.swap.purge_mm3_s;
  shift_time(totals, purge_s - dropped_s);
  totals.purge_g = totals.purge_low_g = totals.purge_high_g = purge_g;
  totals.purge_by = {};
  if (totals.swaps_short)
    totals.swaps_short = totals.purge_short_g = 0.0;
  totals.set_power_and_energy_band(machine.supply.energy_spread);
  std::vector<std::string> assumed{
      fmt::format("the purge of the file is dropped, with {:.0f} min of laying it",
                  base::min_from_s(dropped_s)),
      fmt::format("purging goes at {:.3g} mm3/s (swap.purge_mm3_s)", machine.swap.purge_mm3_s)};
  if (towers)
    assumed.push_back(
        fmt::format("{:.3g} mm3 on a prime tower at every head change "
                    "(swap.tower_each_mm3)",
                    machine.swap.tower_each_mm3));
  if (unknown)
    assumed.push_back(
        fmt::format("{:.3g} mm3 at every filament change whose need is not known "
                    "(swap.purge_each_mm3; --colours gives needs)",
                    machine.swap.purge_each_mm3));
  else if (!towers)
    assumed.emplace_back("every filament change purges what its pair needs");
  assumed.emplace_back("energy follows the changed time at the plate's mean power");
  return assumed;
}

}  // namespace platetally::whatif
