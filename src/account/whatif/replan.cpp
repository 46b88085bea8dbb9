// What the file purges is dropped: its grams, and the seconds that laying them takes on the
// machine. In its place comes, for every swap of the file, what the machine's policy asks for: at a
// filament change the need of the pair (measured, or by the colours), else purge_each_mm3; at a
// head change tower_each_mm3; both pushed out at purge_mm3_s. The machine's own seconds of a change
// are in the account already. The plate's turns are played so, through heat and place again; where
// there are too many turns to keep, only the totals are changed, at the plate's mean power.
#include "account/whatif/replan.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "account/ledgers/by_tool.hpp"
#include "account/whatif/rewrite.hpp"
#include "base/units.hpp"
#include "material/swaps/pair_need.hpp"
#include "motion/timeline/durations.hpp"
#include "platetally/account.hpp"
#include "platetally/analyze.hpp"

namespace platetally::whatif {

namespace {

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

namespace {

/// What every swap purges on a machine, and how it was found.
struct Policy {
  PurgePolicy purge;
  bool needs_unknown = false;
};

Policy policy_of(const Account& account, const Machine& machine) {
  const auto needs_mm3 = swaps::pair_needs_mm3(machine, ledgers::colours_by_tool(account, machine));
  const std::size_t tools = machine.tools.size();
  Policy policy;
  policy.purge.each_mm3.assign(tools * tools, 0.0);
  policy.purge.mm3_s = machine.swap.purge_mm3_s;
  for (std::size_t i = 0; i < tools * tools; ++i) {
    const bool head =
        timeline::Durations::swap_kind(machine, static_cast<int>(i / tools),
                                       static_cast<int>(i % tools)) == SwapKind::head_change;
    policy.purge.each_mm3[i] =
        head ? machine.swap.tower_each_mm3 : needs_mm3[i].value_or(machine.swap.purge_each_mm3);
  }
  for (const SwapPairAccount& pair : account.swap_pairs) {
    const bool head =
        timeline::Durations::swap_kind(machine, pair.from, pair.to) == SwapKind::head_change;
    policy.purge.on_tower = policy.purge.on_tower || head;
    policy.needs_unknown =
        policy.needs_unknown || (!head && !needs_mm3[static_cast<std::size_t>(pair.from) * tools +
                                                     static_cast<std::size_t>(pair.to)]);
  }
  return policy;
}

/// What stands behind the figures of a machine's own policy.
std::vector<std::string> assumed_of(const Policy& policy, const Machine& machine) {
  std::vector<std::string> assumed{
      "the purge of the file is dropped, with the time of laying it",
      fmt::format("purging goes at {:.3g} mm3/s (swap.purge_mm3_s)", machine.swap.purge_mm3_s)};
  if (policy.purge.on_tower)
    assumed.push_back(fmt::format(
        "{:.3g} mm3 on a prime tower at every head change (swap.tower_each_mm3), a quarter of it "
        "in "
        "a layer for each swap that it lacks, laid as fast as the part, where fewest bed zones are "
        "heated for it",
        machine.swap.tower_each_mm3));
  if (policy.needs_unknown)
    assumed.push_back(
        fmt::format("{:.3g} mm3 at every filament change whose need is not known "
                    "(swap.purge_each_mm3; --colours gives needs)",
                    machine.swap.purge_each_mm3));
  else if (!policy.purge.on_tower)
    assumed.emplace_back("every filament change purges what its pair needs");
  return assumed;
}

/// Whatever it was sliced for, its swaps now are this machine's.
void settle_needs(Account& account) {
  std::erase_if(account.diagnostics,
                [](const Diagnostic& diagnostic) { return diagnostic.code == kOtherMachine; });
  for (SwapPairAccount& pair : account.swap_pairs) {
    pair.purge_each_low_g = pair.purge_each_high_g =
        pair.count > 0 ? pair.purge_g / static_cast<double>(pair.count) : 0.0;
    pair.swaps_short = 0;
    pair.short_g = 0.0;
  }
  if (account.totals.swaps_short)
    account.totals.swaps_short = account.totals.purge_short_g = 0.0;
}

/// Totals alone: where there are too many turns to play.
void change_totals(const PurgePolicy& policy, const std::vector<Material>& materials,
                   const Machine& machine, Account& account) {
  Totals& totals = account.totals;
  for (ToolAccount& tool : account.tools)
    tool.purge_g = 0.0;
  double changes_s = 0.0, purge_mm3 = 0.0, purge_g = 0.0;
  for (SwapPairAccount& pair : account.swap_pairs) {
    const auto to = static_cast<std::size_t>(pair.to);
    const auto count = static_cast<double>(pair.count);
    changes_s += count * (timeline::Durations::swap_s(machine, pair.from, pair.to).expected +
                          timeline::Durations::long_swap_s(machine).expected);
    const double mm3 =
        count * policy.each_mm3[static_cast<std::size_t>(pair.from) * machine.tools.size() + to];
    purge_mm3 += mm3;
    pair.purge_g = base::g_from_mm3(mm3, materials[to].density_g_cm3);
    purge_g += pair.purge_g;
    account.tools[to].purge_g += pair.purge_g;
  }
  const double dropped_s = std::max(0.0, totals.time_by.swap_s - changes_s);
  shift_time(totals, purge_mm3 / policy.mm3_s - dropped_s);
  totals.purge_g = totals.purge_low_g = totals.purge_high_g = purge_g;
  totals.purge_by = {};
  (policy.on_tower ? totals.purge_by.tower_g : totals.purge_by.at_rest_g) = purge_g;
  totals.set_power_and_energy_band(machine.supply.energy_spread);
}

}  // namespace

Account replan(const KeptPlate& plate, const Variant& variant, std::vector<std::string>& assumed) {
  const Machine& machine = plate.machine;
  const Policy policy = policy_of(plate.account, machine);
  for (std::string& line : assumed_of(policy, machine))
    assumed.push_back(std::move(line));
  Account account;
  if (plate.has_turns()) {
    Played played = play(plate, variant, &policy.purge);
    if (!played.ok() && !variant.is_as_it_is())
      throw UnreadablePlate(
          fmt::format("what if ({}): cannot be told: {}", describe(variant), played.impossible));
    if (played.ok()) {
      account = std::move(played.account);
      for (std::string& line : played.assumed)
        assumed.push_back(std::move(line));
    }
  }
  if (account.layers.empty()) {
    account = plate.account;
    change_totals(policy.purge, plate.materials, machine, account);
    assumed.emplace_back("energy follows the changed time at the plate's mean power");
  }
  settle_needs(account);
  return account;
}

}  // namespace platetally::whatif
