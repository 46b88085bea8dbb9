// A plate on several machines, side by side.
#include "platetally/compare.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "account/findings/verdict.hpp"
#include "account/whatif/fewer_tools.hpp"
#include "account/whatif/replan.hpp"
#include "base/units.hpp"
#include "motion/timeline/durations.hpp"
#include "platetally/analyze.hpp"
#include "platetally/plate.hpp"

namespace platetally {

namespace {

/// Warnings that the plate was made for another machine.
std::vector<std::string> misfits_of(const Account& account) {
  constexpr std::string_view kCodes[] = {"plate-leaves-area",
                                         "plate-outside-area",
                                         "bed-beyond-machine",
                                         "nozzle-beyond-machine",
                                         "tool-not-on-machine",
                                         "word-for-missing-tool",
                                         "enclosure-beyond-machine",
                                         "head-never-heated",
                                         "source-broken",
                                         "plate-partial"};
  std::vector<std::string> misfits;
  for (const Diagnostic& diagnostic : account.diagnostics)
    if (std::ranges::find(kCodes, diagnostic.code) != std::end(kCodes))
      misfits.push_back(diagnostic.message +
                        (diagnostic.help.empty() ? "" : "; " + diagnostic.help));
  return misfits;
}

/// Seconds and money that swaps take, and the rest, on one machine.
struct Split {
  double swaps_cost = 0.0;  ///< of a plate, whatever the copies
  double rest_cost = 0.0;   ///< goes with the copies
};

Split split_of(const ComparedMachine& machine) {
  Split split;
  if (!machine.account.cost)
    return split;
  const PlateCost& cost = *machine.account.cost;
  const Totals& totals = machine.account.totals;
  const double share =
      totals.time.expected > 0.0 ? totals.time_by.swap_s / totals.time.expected : 0.0;
  split.swaps_cost = cost.purge_filament + share * (cost.machine + cost.energy) + cost.labour;
  split.rest_cost = cost.total() - split.swaps_cost;
  return split;
}

BreakEven break_even(const ComparedMachine& first, const ComparedMachine& other,
                     const Machine& machine, const CompareOptions& options) {
  BreakEven even;
  even.machine = other.name;
  const Totals& a = first.account.totals;
  const Totals& b = other.account.totals;
  double changes_s = 0.0;
  for (const SwapPairAccount& pair : other.account.swap_pairs)
    changes_s += static_cast<double>(pair.count) *
                 timeline::Durations::swap_s(machine, pair.from, pair.to).expected;
  if (b.swaps > 0) {
    const double swap_s =
        (a.time.expected - (b.time.expected - changes_s)) / static_cast<double>(b.swaps);
    if (swap_s > 0.0)
      even.swap_s = swap_s;
  }
  if (!first.account.cost || !other.account.cost)
    return even;
  const double kwh = base::kwh_from_wh(b.energy_wh - a.energy_wh);
  const double without = (first.account.cost->total() - first.account.cost->energy) -
                         (other.account.cost->total() - other.account.cost->energy);
  if (std::abs(kwh) > 1e-9 && without / kwh > 0.0)
    even.energy_per_kwh = without / kwh;
  // A part costs swaps / n + rest: equal where n = (difference of swaps) / (difference of rest).
  const Split sa = split_of(first);
  const Split sb = split_of(other);
  const double copies = (sb.swaps_cost - sa.swaps_cost) / (sa.rest_cost - sb.rest_cost);
  if (std::isfinite(copies) && copies > 0.0)
    even.copies = copies * options.copies;
  return even;
}

}  // namespace

Comparison compare_plate(const std::string& path, const std::vector<Machine>& machines,
                         const CompareOptions& options) {
  const Machine& own = options.sliced_for ? *options.sliced_for : machines.front();
  Comparison comparison;
  comparison.path = options.analyze.display_path.empty() ? path : options.analyze.display_path;
  AnalyzeOptions analyze = options.analyze;
  analyze.findings = false;
  for (const Machine& as_it_is : machines) {
    ComparedMachine compared;
    compared.name = as_it_is.name;
    const Plate plate = keep_plate(path, as_it_is, analyze);
    const Machine& machine = plate.kept().machine;
    compared.measured = {"strokes, filament of the part, swaps and layers are the file's",
                         "motion is planned with this machine's limits, heat with its network"};
    const Variant& variant = options.analyze.variant;
    if (!whatif::swaps_alike(plate.account(), filaments_by_hand(own), machine)) {
      compared.replanned = true;
      compared.account = whatif::replan(plate.kept(), variant, compared.assumed);
      compared.account.verdict = findings::judge(compared.account, machine);
    } else {
      compared.account = plate.account();
      if (whatif::changes_plate(variant)) {
        compared.account = whatif::varied(plate.kept(), variant);
        compared.account.verdict = findings::judge(compared.account, machine);
      }
      compared.measured.emplace_back("purge is the file's");
    }
    compared.assumed.emplace_back(fmt::format(
        "seconds of a change are the machine file's; the plate was sliced for '{}'", own.name));
    compared.misfits = misfits_of(compared.account);
    const Account& whole =
        comparison.machines.empty() ? compared.account : comparison.machines.front().account;
    const std::size_t tools = filaments_by_hand(machine).tools.size();
    if (const std::string fewer = whatif::say_fewer_tools(whole, tools); !fewer.empty())
      compared.misfits.push_back(
          fmt::format("it has {} tools; nearest plate that fits: {}", tools, fewer));
    if (options.prices)
      add_prices(compared.account, *options.prices, options.copies);
    comparison.machines.push_back(std::move(compared));
  }
  for (std::size_t i = 1; i < comparison.machines.size(); ++i)
    if (!comparison.machines.front().cannot() && !comparison.machines[i].cannot())
      comparison.break_even.push_back(break_even(comparison.machines.front(),
                                                 comparison.machines[i],
                                                 filaments_by_hand(machines[i]), options));
  return comparison;
}

namespace {

/// All plates and machines; the options of the last account, which has the variant if there is one.
void note_inputs(const CompareOptions& options, PlatesCompared& compared) {
  for (const Comparison& plate : compared.plates)
    for (const ComparedMachine& machine : plate.machines) {
      compared.made_from.add_inputs_of(machine.account.made_from);
      compared.made_from.options = machine.account.made_from.options;
    }
  if (options.sliced_for)
    compared.made_from.set("sliced_for", machine_hash(*options.sliced_for));
}

void hold_two_together(PlatesCompared& compared) {
  if (compared.plates.size() == 2)
    compared.before_after = before_and_after(compared.plates[0].machines.front().account,
                                             compared.plates[1].machines.front().account);
}

}  // namespace

PlatesCompared compare_plates(const std::vector<std::string>& paths,
                              const std::vector<Machine>& machines, const CompareOptions& options) {
  PlatesCompared compared;
  for (const std::string& path : paths) {
    try {
      compared.plates.push_back(compare_plate(path, machines, options));
    } catch (const UnreadablePlate& error) {
      // The caller has several files, so the message says which.
      throw UnreadablePlate(fmt::format("{}: {}", path, error.what()));
    }
  }
  note_inputs(options, compared);
  hold_two_together(compared);
  return compared;
}

PlatesCompared compare_variant(const std::string& path, const std::vector<Machine>& machines,
                               const CompareOptions& options) {
  CompareOptions as_it_is = options;
  as_it_is.analyze.variant = {};
  PlatesCompared compared;
  for (const CompareOptions& each : {as_it_is, options})
    compared.plates.push_back(compare_plate(path, machines, each));
  note_inputs(options, compared);
  hold_two_together(compared);
  return compared;
}

}  // namespace platetally
