// Each lever: what was seen, what to do, what that saves in the model, what it stands on. Savings
// of different levers do not add up: they are tried one at a time, against the plate as it is.
#include "account/findings/savings.hpp"
#include "account/advice/shift.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>
#include <iterator>
#include <optional>

#include "account/findings/trial.hpp"
#include "account/whatif/replan.hpp"
#include "base/counted.hpp"
#include "base/run_each.hpp"
#include "base/units.hpp"
#include "platetally/account.hpp"
#include "platetally/advice.hpp"

namespace platetally::findings {

namespace {

constexpr double kThickestShare = 0.75;  // of the nozzle: common practice, no source
constexpr double kThickerAtLeast = 1.1;  // assumed; a smaller step is not worth slicing for
constexpr double kIdleHeadWorthSaying_s = 600.0;  // assumed
constexpr double kHeatUp_s = 180.0;               // assumed; heads take one minute or two
constexpr double kWorthSayingShare = 0.01;        // assumed; of the total that it is a part of
constexpr double kWorthZones = 0.25;              // assumed
constexpr double kStandbyC = 150.0;               // assumed: below it common filaments do not ooze
constexpr double kPrintC = 215.0;                 // common practice, no source
constexpr double kNoPart_g = 1e-6;
constexpr double kOrderWork = 5e7;  // a fraction of a second

// docs/accuracy.md: 19 Wh promised, 29 Wh got.
constexpr const char* kTowerEnergy =
    "; beside a prime tower the watt-hours are a lower bound: in thin layers half as much again "
    "was "
    "saved";

constexpr const char* kNeedAssumes =
    "the colours given are those of the filament, it is opaque, and the nozzle washes out as the "
    "machine file says";

class Savings {
 public:
  explicit Savings(const Evidence& evidence)
      : evidence_(evidence),
        plate_(evidence.plate),
        account_(evidence.plate.account),
        machine_(evidence.plate.machine),
        totals_(evidence.plate.account.totals) {}

  /// Those that a glance at the account does not rule out.
  std::vector<void (Savings::*)()> worth_trying() const;

  Levers pull(void (Savings::*lever)()) {
    (this->*lever)();
    return std::move(levers_);
  }

 private:
  void cheaper_order();
  void purge_below_need();
  void purge_above_need();
  void needless_tower();
  void more_copies();
  void thicker_layers();
  void tools_without_use();
  void heat_without_use();
  void standby();
  void place_on_bed();

  bool try_out(const Words& words, const Variant& variant);
  bool add(const Words& words, const Played& played, const Totals& as_is, const Totals& now,
           const std::string& trial);
  std::string tried(const Played& played) const;
  std::string shortage_of(const SwapPairAccount& pair) const;
  bool all_swaps_change_heads() const;
  std::vector<int> idle_tools() const;
  std::optional<HeatInTime> in_time(const ToolAccount& tool, std::string& seen) const;

  const Evidence& evidence_;
  const whatif::KeptPlate& plate_;
  const Account& account_;
  const Machine& machine_;
  const Totals& totals_;
  Levers levers_;
};

std::string minutes(double seconds) {
  return fmt::format("{:.0f} min", base::min_from_s(seconds));
}

std::string sum_up(const Totals& totals) {
  // What is left by subtracting may be a hair below nothing.
  const double purge_g = std::max(0.0, totals.purge_g);
  return fmt::format("{}, {:.1f} g of purge, {:.0f} min, {:.0f} Wh",
                     base::counted(totals.swaps, "swap"), purge_g,
                     base::min_from_s(totals.time.expected), totals.energy_wh);
}

/// Plays the variant and keeps the finding if it saves anything, or could not be tried. Whether it
/// was kept.
bool Savings::try_out(const Words& words, const Variant& variant) {
  const Played played = whatif::play(plate_, variant);
  return add(words, played, totals_, played.account.totals, tried(played));
}

std::string Savings::tried(const Played& played) const {
  return fmt::format("tried in the model: {} instead of {}", sum_up(played.account.totals),
                     sum_up(totals_));
}

bool Savings::add(const Words& words, const Played& played, const Totals& as_is, const Totals& now,
                  const std::string& trial) {
  if (!played.ok()) {
    levers_.findings.push_back(untried(words, played.impossible));
    return true;
  }
  const Saving saving = saving_of(as_is, now);
  if (largest_share(saving, totals_) <= 0.0)
    return false;
  Finding finding = finding_of(words, saving, trial);
  finding.advised = for_its_price(played.account);
  for (const std::string& assumed : played.assumed)
    finding.assumes += "; " + assumed;
  levers_.findings.push_back(std::move(finding));
  return true;
}

bool Savings::all_swaps_change_heads() const {
  return std::ranges::all_of(account_.swap_pairs, [this](const SwapPairAccount& pair) {
    return machine_.tools[static_cast<std::size_t>(pair.from)].head !=
           machine_.tools[static_cast<std::size_t>(pair.to)].head;
  });
}

void Savings::cheaper_order() {
  if (!idle_tools().empty())
    return;  // they have to go first
  OrderOptions options;
  options.work = kOrderWork;
  const OrderReport order = plan_usual_order(account_, machine_, options);
  const OrderOutcome& actual = order.outcomes.front();
  const OrderOutcome& best = order.outcomes.back();
  if (actual.cost <= 0.0 || actual.cost - best.cost < kWorthSayingShare * actual.cost)
    return;
  Variant variant;
  variant.orders = order.orders;
  const bool kept = try_out(
      {"cheaper-order",
       fmt::format("in this order the tools change {} times, in the cheapest {} times ({})",
                   actual.swaps, best.swaps,
                   order.optimal ? "proven: no order costs less" : "not proven to be the cheapest"),
       "print the tools of each layer in the order that 'platetally order' lists",
       std::string(order.by_need
                       ? "the plate is sliced again with the purge of each pair that it has now"
                       : "a swap costs the same wherever it happens") +
           (account_.tower.verdict == "tower" ? kTowerEnergy : "")},
      variant);
  // An order that is planned by what pairs need saves little where they all purge alike.
  if (kept && levers_.findings.back().tried &&
      largest_share(levers_.findings.back(), account_) < kWorthSayingShare)
    levers_.findings.pop_back();
}

void Savings::purge_below_need() {
  std::vector<const SwapPairAccount*> pairs;
  for (const SwapPairAccount& pair : account_.swap_pairs)
    if (pair.swaps_short > 0)
      pairs.push_back(&pair);
  if (pairs.empty())
    return;
  std::ranges::stable_sort(pairs, std::ranges::greater{}, &SwapPairAccount::short_g);
  constexpr std::size_t kNamed = 3;
  std::vector<std::string> seen;
  for (const SwapPairAccount* pair : pairs)
    if (seen.size() < kNamed)
      seen.push_back(shortage_of(*pair));
  if (pairs.size() > kNamed)
    seen.push_back(fmt::format("and {} more pairs", pairs.size() - kNamed));
  Variant variant;
  variant.purge_enough = true;
  const Played played = whatif::play(plate_, variant);
  const Words words{"purge-below-need", fmt::format("{}", fmt::join(seen, "; ")),
                    "purge more for these pairs, as much as 'platetally order' says they need",
                    kNeedAssumes};
  levers_.findings.push_back(
      played.ok() ? finding_of(words, saving_of(totals_, played.account.totals), tried(played))
                  : untried(words, played.impossible));
  levers_.findings.back().severity = Severity::warning;
  if (played.ok())
    levers_.findings.back().advised = for_its_price(played.account);
}

/// "from black (0) to white (1) 0.08 g are purged and 0.15 to 0.21 g needed: ..."
std::string Savings::shortage_of(const SwapPairAccount& pair) const {
  const auto name = [&](int tool) {
    const std::string& colour = account_.tools[static_cast<std::size_t>(tool)].colour;
    return colour.empty() ? fmt::format("tool {}", tool) : fmt::format("{} ({})", colour, tool);
  };
  const double each_g = pair.purge_g / static_cast<double>(pair.count);
  const std::string left = pair.left_de00
                               ? fmt::format(
                                     " a colour difference of {:.2g} is left (CIEDE2000, {:.2g} is "
                                     "accepted),",
                                     *pair.left_de00, machine_.need.tolerance_de00)
                               : "";
  return fmt::format(
      "from {} to {} {:.2g} g are purged where {:.2g} to {:.2g} g are needed:{} {} of "
      "{} short",
      name(pair.from), name(pair.to), each_g, pair.needed_each_low_g.value_or(0.0),
      pair.needed_each_high_g.value_or(0.0), left, pair.swaps_short,
      base::counted(pair.count, "swap is", "swaps are"));
}

void Savings::purge_above_need() {
  double over_g = 0.0;
  double purged_g = 0.0;
  const SwapPairAccount* worst = nullptr;
  const auto over = [](const SwapPairAccount& pair) { return pair.purge_g - *pair.needed_g; };
  for (const SwapPairAccount& pair : account_.swap_pairs) {
    purged_g += pair.purge_g;
    if (!pair.needed_g || *pair.needed_g <= 0.0 || over(pair) <= 0.0)
      continue;
    over_g += over(pair);
    if (worst == nullptr || over(pair) > over(*worst))
      worst = &pair;
  }
  if (worst == nullptr || over_g < kWorthSayingShare * purged_g)
    return;
  const auto count = static_cast<double>(worst->count);
  Variant variant;
  variant.purge_as_needed = true;
  try_out(
      {"purge-above-need",
       fmt::format("more is purged than the colours need, most of it from tool {} to {}: "
                   "{:.2g} g a swap where {:.2g} g are enough",
                   worst->from, worst->to, worst->purge_g / count, *worst->needed_g / count),
       "lower the purge of these pairs to what 'platetally order' says they need", kNeedAssumes},
      variant);
}

void Savings::needless_tower() {
  if (account_.tower.verdict != "tower" || account_.swap_pairs.empty() || !all_swaps_change_heads())
    return;
  Variant variant;
  variant.drop_tower = true;
  try_out({"tower-without-need",
           fmt::format("a prime tower takes {:.1f} g, and every swap picks up another head, whose "
                       "nozzle holds its own colour",
                       totals_.purge_by.tower_g),
           "print without the tower",
           "the filament is dry and the heads are wiped or primed off the plate, so that a waiting "
           "nozzle neither oozes nor runs empty"},
          variant);
}

void Savings::more_copies() {
  if (totals_.swaps < 2 || totals_.purge_g + totals_.time_by.swap_s <= 0.0)
    return;
  const std::size_t copies = count_copies(plate_.footprint);
  Variant variant;
  variant.repeat = 2;
  const Played played = whatif::play(plate_, variant);
  if (!played.ok())
    return;  // no room: nothing to advise
  // For each of the two.
  Totals half = played.account.totals;
  half.time = 0.5 * half.time;
  half.purge_g *= 0.5;
  half.energy_wh *= 0.5;
  const bool kept = add(
      {"copies-share-swaps",
       fmt::format(
           "saved for each of the two: {} swaps serve {}, and twice as many copies need no more",
           totals_.swaps,
           copies < 2 ? "what is on the plate" : fmt::format("{} copies that look alike", copies)),
       fmt::format("print twice as many on one plate: the second {} from the first",
                   advice::shift_words(played.copies_at_mm.front().first,
                                       played.copies_at_mm.front().second)),
       "in every layer each tool prints all copies before the next one comes; the saving is for "
       "each of the two plates that become one"},
      played, totals_, half,
      fmt::format("tried in the model: {} for both instead of twice {}",
                  sum_up(played.account.totals), sum_up(totals_)));
  if (kept)
    levers_.findings.back().plates = 2;
}

void Savings::thicker_layers() {
  std::vector<double> heights_mm;
  for (std::size_t i = 2; i < account_.layers.size(); ++i) {
    const double step_mm = account_.layers[i].z_mm - account_.layers[i - 1].z_mm;
    if (step_mm > 0.0)
      heights_mm.push_back(step_mm);
  }
  if (heights_mm.size() < 2 || totals_.swaps < 2)
    return;
  std::ranges::nth_element(heights_mm,
                           heights_mm.begin() + static_cast<std::ptrdiff_t>(heights_mm.size() / 2));
  const double usual_mm = heights_mm[heights_mm.size() / 2];
  double nozzle_mm = machine_.heads.front().nozzle_diameter_mm;
  for (const Head& head : machine_.heads)
    nozzle_mm = std::min(nozzle_mm, head.nozzle_diameter_mm);
  // Heights are sliced in hundredths of a millimetre.
  const double thick_mm = std::floor(100.0 * kThickestShare * nozzle_mm + 1e-6) / 100.0;
  if (thick_mm < kThickerAtLeast * usual_mm)
    return;
  Variant variant;
  variant.layers_share = usual_mm / thick_mm;
  try_out(
      {"thicker-layers",
       fmt::format("layers are {:.2f} mm high, a {:.2f} mm nozzle lays up to {:.2f} mm, and "
                   "every layer has its swaps",
                   usual_mm, nozzle_mm, thick_mm),
       fmt::format("slice with layers of {:.2f} mm where the look allows it", thick_mm),
       fmt::format("the first layer stays as it is; every layer needs the tools that it needs now, "
                   "and speeds stay as they are, so that the nozzle melts {:.1f} times as much a "
                   "second",
                   thick_mm / usual_mm)},
      variant);
}

/// Tools that are swapped for and lay no part.
std::vector<int> Savings::idle_tools() const {
  std::vector<int> idle;
  for (const ToolAccount& tool : account_.tools)
    if (tool.part_g <= kNoPart_g &&
        std::ranges::find(account_.swap_pairs, tool.tool, &SwapPairAccount::to) !=
            account_.swap_pairs.end())
      idle.push_back(tool.tool);
  return idle;
}

void Savings::tools_without_use() {
  Variant variant;
  variant.without = idle_tools();
  if (variant.without.empty())
    return;
  const bool one = variant.without.size() == 1;
  const std::string which =
      fmt::format("{} {}", one ? "tool" : "tools", fmt::join(variant.without, ", "));
  try_out({"tool-without-use",
           fmt::format("{} {} selected and {} no part", which, one ? "is" : "are",
                       one ? "lays" : "lay"),
           fmt::format("take {} out of the plate", which), "the swaps of the other tools stay"},
          variant);
}

/// When a tool had better be heated, and what was seen; nothing if it is not hot for long without
/// use.
std::optional<HeatInTime> Savings::in_time(const ToolAccount& tool, std::string& seen) const {
  const ledgers::ToolUse& use = evidence_.uses[static_cast<std::size_t>(tool.tool)];
  // A head that another tool uses too is hot for that one.
  const int head = machine_.tools[static_cast<std::size_t>(tool.tool)].head;
  const bool is_shared = std::ranges::any_of(account_.tools, [&](const ToolAccount& other) {
    return other.tool != tool.tool && other.selects > 0 &&
           machine_.tools[static_cast<std::size_t>(other.tool)].head == head;
  });
  if (use.first_hot_s < 0.0 || is_shared)
    return std::nullopt;
  if (use.first_laid_s < 0.0) {
    seen = fmt::format("tool {} is hot for {} and lays nothing", tool.tool,
                       minutes(use.off_s - use.first_hot_s));
    return use.off_s - use.first_hot_s < kIdleHeadWorthSaying_s
               ? std::nullopt
               : std::optional(HeatInTime{tool.tool, 0});
  }
  const double before_s = std::max(0.0, use.first_laid_s - use.first_hot_s);
  const double after_s = std::max(0.0, use.off_s - use.last_laid_s);
  if (before_s + after_s < kIdleHeadWorthSaying_s)
    return std::nullopt;
  seen = fmt::format("tool {} is hot for {} before its first use and {} after its last", tool.tool,
                     minutes(before_s), minutes(after_s));
  HeatInTime heat{tool.tool, 0};
  // Heat waits are in the layers' times, and in none of the tool's.
  double heat_waits_s = 0.0;
  for (const LayerAccount& layer : account_.layers) {
    heat_waits_s += layer.time_by.heat_wait_s;
    if (layer.start_s - heat_waits_s + kHeatUp_s <= use.first_laid_s)
      heat.layer = layer.index;
  }
  return heat;
}

void Savings::heat_without_use() {
  Variant variant;
  std::vector<std::string> seen;
  std::vector<std::string> advice;
  for (const ToolAccount& tool : account_.tools) {
    std::string what;
    const auto heat = in_time(tool, what);
    if (!heat)
      continue;
    variant.heat.push_back(*heat);
    seen.push_back(what);
    const bool lays = evidence_.uses[static_cast<std::size_t>(tool.tool)].first_laid_s >= 0.0;
    advice.push_back(
        !lays ? fmt::format("leave tool {} cold", tool.tool)
        : heat->layer > 0
            ? fmt::format("heat tool {} from layer {} on, and switch it off after its last use",
                          tool.tool, heat->layer)
            : fmt::format("switch tool {} off after its last use", tool.tool));
  }
  if (seen.empty())
    return;
  try_out({"heat-without-use", fmt::format("{}", fmt::join(seen, "; ")),
           fmt::format("{}", fmt::join(advice, "; ")),
           "a head that is not yet hot when its turn comes is waited for"},
          variant);
}

/// At a glance: cooling down saves what a cooler head loses less, and every swap waits until the
/// head is hot again, with the whole machine on.
bool may_stand_by(const Account& account, const Machine& machine) {
  double saved_wh = 0.0;
  double reheat_s = 0.0;
  for (const ToolAccount& tool : account.tools) {
    const Head& head = machine.heads[static_cast<std::size_t>(
        machine.tools[static_cast<std::size_t>(tool.tool)].head)];
    const double hot_s = tool.active_s + tool.standby_s;
    if (head.standby_c > 0.0 || tool.standby_s <= 0.0 || hot_s <= 0.0)
      continue;
    const double share = (kPrintC - kStandbyC) / (kPrintC - machine.room_c);
    saved_wh += share * tool.energy_wh * tool.standby_s / hot_s;
    reheat_s += static_cast<double>(tool.selects) * head.heat_capacity_j_k * (kPrintC - kStandbyC) /
                head.power_w;
  }
  return saved_wh > kWorthSayingShare * account.totals.energy_wh &&
         saved_wh > base::wh_from_j(reheat_s * account.totals.mean_power_w);
}

void Savings::standby() {
  if (!may_stand_by(account_, machine_))
    return;
  double waiting_s = 0.0;
  for (const ToolAccount& tool : account_.tools)
    waiting_s += tool.standby_s;
  Variant variant;
  variant.standby_c = kStandbyC;
  const Played played = whatif::play(plate_, variant);
  const Saving saving = saving_of(totals_, played.account.totals);
  if (!played.ok() || saving.energy_wh <= 0.0 ||
      smallest_share(saving, totals_) < -kWorthSayingShare)
    return;
  add({"standby-set-point",
       fmt::format("heads wait at their printing temperature, {:.1f} head-hours in all",
                   base::h_from_s(waiting_s)),
       fmt::format("let waiting heads go down to {:.0f} degC", kStandbyC),
       "each swap waits until the head is hot again"},
      played, totals_, played.account.totals, tried(played));
}

void Savings::place_on_bed() {
  const whatif::Placement place = whatif::best_placement(plate_.footprint, machine_);
  if (place.zones_now - place.zones_then < kWorthZones)
    return;
  Variant variant;
  variant.shift_x_mm = place.shift_x_mm;
  variant.shift_y_mm = place.shift_y_mm;
  if (try_out(
          {"place-on-bed",
           fmt::format("where it lies, the plate heats {:.1f} bed zones (neighbours that are kept "
                       "warm count by their share); elsewhere it would heat {:.1f}",
                       place.zones_now, place.zones_then),
           fmt::format("move everything, tower included, by {}",
                       advice::shift_words(place.shift_x_mm, place.shift_y_mm)),
           "what the machine lays in a fixed place, such as a start-up line, stays there"},
          variant))
    levers_.placement = place;
}

std::vector<void (Savings::*)()> Savings::worth_trying() const {
  // Of a plate that does not come out in its colours, what its swaps cost is no guide.
  const bool is_of_other_machine =
      std::ranges::find(account_.diagnostics, whatif::kOtherMachine, &Diagnostic::code) !=
      account_.diagnostics.end();
  std::vector<void (Savings::*)()> levers;
  if (totals_.swaps > 0)
    levers = {&Savings::purge_below_need};
  if (totals_.swaps > 0 && !is_of_other_machine)
    levers.insert(levers.end(),
                  {&Savings::cheaper_order, &Savings::purge_above_need, &Savings::needless_tower,
                   &Savings::more_copies, &Savings::thicker_layers, &Savings::tools_without_use});
  levers.insert(levers.end(),
                {&Savings::heat_without_use, &Savings::standby, &Savings::place_on_bed});
  return levers;
}

}  // namespace

Levers find_levers(const Evidence& evidence, int threads) {
  const auto levers = Savings(evidence).worth_trying();
  std::vector<Levers> found(levers.size());
  // The last ones play the longest plates, as no swap falls away.
  base::run_each(levers.size(), threads, [&](std::size_t i) {
    const std::size_t lever = levers.size() - 1 - i;
    found[lever] = Savings(evidence).pull(levers[lever]);
  });
  Levers all;
  for (Levers& each : found) {
    std::ranges::move(each.findings, std::back_inserter(all.findings));
    if (each.placement.zones_then < each.placement.zones_now)
      all.placement = each.placement;
  }
  return all;
}

}  // namespace platetally::findings
