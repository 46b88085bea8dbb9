// Each lever: what was seen, what to do, what it saves, what that stands on. Savings of different
// levers do not add up: they are counted one at a time, against the plate as it is.
#include "account/findings/savings.hpp"
#include "platetally/account.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numeric>

namespace platetally::findings {

namespace {

constexpr double kSecondsPerHour = 3600.0;
constexpr double kStandbyC = 150.0;               // assumed: below it common filaments do not ooze
constexpr double kThickestShare = 0.75;           // of the nozzle: common practice, no source
constexpr double kIdleHeadWorthSaying_s = 600.0;  // assumed
constexpr double kWorthSayingShare = 0.01;        // assumed; of the total that it is a part of
constexpr double kOrderWork = 5e7;                // a fraction of a second

class Savings {
 public:
  explicit Savings(const Evidence& evidence)
      : account_(evidence.account),
        machine_(evidence.machine),
        evidence_(evidence),
        totals_(evidence.account.totals) {}

  std::vector<Finding> find();

 private:
  void cheaper_order();
  void purge_above_need();
  void needless_tower();
  void more_copies();
  void thicker_layers();
  void tools_without_use();
  void heat_without_use();
  void standby();
  void place_on_bed();

  Finding& add(const char* code, std::string message, std::string advice, std::string assumes);
  /// Machine time that is not spent costs no electricity either: at the mean power.
  void save_time(Finding& finding, double time_s) {
    finding.saves_time_s = time_s;
    finding.saves_energy_wh = time_s * totals_.mean_power_w / kSecondsPerHour;
  }
  bool all_swaps_change_heads() const;
  double swap_s_each() const;

  const Account& account_;
  const Machine& machine_;
  const Evidence& evidence_;
  const Totals& totals_;
  OrderReport order_;
  std::vector<Finding> findings_;
};

Finding& Savings::add(const char* code, std::string message, std::string advice,
                      std::string assumes) {
  Finding finding;
  finding.code = code;
  finding.message = std::move(message);
  finding.advice = std::move(advice);
  finding.assumes = std::move(assumes);
  findings_.push_back(std::move(finding));
  return findings_.back();
}

bool Savings::all_swaps_change_heads() const {
  return std::ranges::all_of(account_.swap_pairs, [this](const SwapPairAccount& pair) {
    return machine_.tools[static_cast<std::size_t>(pair.from)].head !=
           machine_.tools[static_cast<std::size_t>(pair.to)].head;
  });
}

/// Changing and purging, a swap.
double Savings::swap_s_each() const {
  return totals_.swaps == 0 ? 0.0 : totals_.time_by.swap_s / static_cast<double>(totals_.swaps);
}

void Savings::cheaper_order() {
  const OrderOutcome& actual = order_.outcomes.front();
  const OrderOutcome& best = order_.outcomes.back();
  const double saved_g = actual.purge_g - best.purge_g;
  const double saved_s = actual.time_s - best.time_s;
  if (actual.cost <= 0.0 || actual.cost - best.cost < kWorthSayingShare * actual.cost)
    return;
  Finding& finding = add(
      "cheaper-order",
      fmt::format("the {} swaps of this order cost {:.1f} g and {:.0f} min; the cheapest order "
                  "makes {} swaps for {:.1f} g and {:.0f} min ({})",
                  actual.swaps, actual.purge_g, actual.time_s / 60.0, best.swaps, best.purge_g,
                  best.time_s / 60.0, order_.optimal ? "proven" : "not proven to be the cheapest"),
      "print the tools of each layer in the order that 'platetally order' lists",
      order_.assumptions.empty() ? "a change costs the same wherever it happens"
                                 : order_.assumptions.front());
  save_time(finding, std::max(0.0, saved_s));
  finding.saves_purge_g = std::max(0.0, saved_g);
}

void Savings::purge_above_need() {
  double over_g = 0.0;
  double purged_g = 0.0;
  const OrderPair* worst = nullptr;
  for (const OrderPair& pair : order_.pairs) {
    purged_g += pair.purged_g;
    if (pair.kind == SwapKind::head_change || pair.over_purge_g <= 0.0)
      continue;
    over_g += pair.over_purge_g;
    if (worst == nullptr || pair.over_purge_g > worst->over_purge_g)
      worst = &pair;
  }
  if (worst == nullptr || over_g < kWorthSayingShare * purged_g)
    return;
  const auto count = static_cast<double>(std::max<std::uint64_t>(worst->count, 1));
  Finding& finding = add(
      "purge-above-need",
      fmt::format("{:.1f} of {:.1f} g purged are more than the colours need, most of it from tool "
                  "{} to {}: {:.2f} g a swap where {:.2f} g do",
                  over_g, purged_g, worst->from, worst->to, worst->purged_g / count,
                  worst->needed_g.value_or(0.0)),
      "lower the purge of these pairs to what 'platetally order' says they need",
      "the colours given are those of the filament, opaque, and the machine's washout is as "
      "its file says");
  const double purge_s =
      totals_.time_by.swap_s -
      std::accumulate(order_.pairs.begin(), order_.pairs.end(), 0.0,
                      [](double sum, const OrderPair& pair) {
                        return sum + static_cast<double>(pair.count) * pair.swap_s.expected;
                      });
  save_time(finding, purged_g > 0.0 ? std::max(0.0, purge_s) * over_g / purged_g : 0.0);
  finding.saves_purge_g = over_g;
}

void Savings::needless_tower() {
  if (account_.tower.verdict != "tower" || account_.swap_pairs.empty() || !all_swaps_change_heads())
    return;
  const double tower_g = totals_.purge_by.tower_g;
  double changes_s = 0.0;
  for (const OrderPair& pair : order_.pairs)
    changes_s += static_cast<double>(pair.count) * pair.swap_s.expected;
  Finding& finding =
      add("tower-without-need",
          fmt::format("a prime tower takes {:.1f} g, and every swap picks up another head, whose "
                      "nozzle holds its own colour",
                      tower_g),
          "print without the tower",
          "the filament is dry and the heads are wiped or primed off the plate, so that a waiting "
          "nozzle neither oozes nor runs empty");
  save_time(finding, std::max(0.0, totals_.time_by.swap_s - changes_s));
  finding.saves_purge_g = tower_g;
}

void Savings::more_copies() {
  if (totals_.swaps < 2 || totals_.purge_g + totals_.time_by.swap_s <= 0.0)
    return;
  const std::size_t copies = count_copies(evidence_.footprint);
  const std::string held =
      copies < 2 ? "what is on the plate now" : fmt::format("{} copies that look alike", copies);
  Finding& finding = add(
      "copies-share-swaps",
      fmt::format("{} swaps serve {}: {:.1f} g and {:.0f} min; as many again beside it would be "
                  "served by the same swaps",
                  totals_.swaps, held, totals_.purge_g, totals_.time_by.swap_s / 60.0),
      "print twice as many copies at once instead of one plate after the other",
      "the copies fit, and in every layer each tool prints all copies before the next one comes; "
      "the saving is for each of the two plates");
  save_time(finding, totals_.time_by.swap_s / 2.0);
  finding.saves_purge_g = totals_.purge_g / 2.0;
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
  const double thick_mm = kThickestShare * nozzle_mm;
  const double share = 1.0 - usual_mm / thick_mm;
  if (share < 0.1)
    return;
  Finding& finding = add(
      "thicker-layers",
      fmt::format("layers are {:.2f} mm high; a {:.2f} mm nozzle lays up to {:.2f} mm, and swaps "
                  "go with the number of layers",
                  usual_mm, nozzle_mm, thick_mm),
      fmt::format("slice with layers of {:.2f} mm where the look allows it", thick_mm),
      "every layer needs the tools that it needs now; what printing itself gains is not counted");
  save_time(finding, share * totals_.time_by.swap_s);
  finding.saves_purge_g = share * totals_.purge_g;
}

void Savings::tools_without_use() {
  for (const ToolAccount& tool : account_.tools) {
    if (tool.selects == 0 || tool.part_g > 0.0 || totals_.swaps == 0)
      continue;
    std::uint64_t swaps_to = 0;
    double purge_g = 0.0;
    for (const SwapPairAccount& pair : account_.swap_pairs)
      if (pair.to == tool.tool) {
        swaps_to += pair.count;
        purge_g += pair.purge_g;
      }
    if (swaps_to == 0)
      continue;
    Finding& finding =
        add("tool-without-use",
            fmt::format("tool {} is selected {} times and lays no part", tool.tool, tool.selects),
            fmt::format("take tool {} out of the plate", tool.tool),
            "its swaps fall away, those of the other tools stay");
    save_time(finding, static_cast<double>(swaps_to) * swap_s_each());
    finding.saves_purge_g = purge_g;
  }
}

/// What a waiting head draws at the wall, in W.
double waiting_w(const ToolAccount& tool) {
  const double hot_s = tool.active_s + tool.standby_s;
  return hot_s > 0.0 ? tool.energy_wh * kSecondsPerHour / hot_s : 0.0;
}

void Savings::heat_without_use() {
  for (const ToolAccount& tool : account_.tools) {
    const auto index = static_cast<std::size_t>(tool.tool);
    const ledgers::ToolUse use = evidence_.uses[index];
    if (use.first_hot_s < 0.0)
      continue;
    const bool used = use.first_laid_s >= 0.0;
    const double before_s = used ? use.first_laid_s - use.first_hot_s : use.off_s - use.first_hot_s;
    const double behind_s = used ? use.off_s - use.last_laid_s : 0.0;
    const double idle_s = std::max(0.0, before_s) + std::max(0.0, behind_s);
    if (idle_s < kIdleHeadWorthSaying_s || waiting_w(tool) <= 0.0)
      continue;
    Finding& finding = add(
        "heat-without-use",
        used ? fmt::format(
                   "tool {} is hot for {:.0f} min before it first lays something, and {:.0f} "
                   "min after it last did",
                   tool.tool, std::max(0.0, before_s) / 60.0, std::max(0.0, behind_s) / 60.0)
             : fmt::format("tool {} is hot for {:.0f} min and lays nothing", tool.tool,
                           idle_s / 60.0),
        fmt::format("heat tool {} shortly before its first use, and switch it off behind its last",
                    tool.tool),
        "a waiting head draws what it draws on average over this plate");
    finding.saves_energy_wh = waiting_w(tool) * idle_s / kSecondsPerHour;
  }
}

void Savings::standby() {
  double saved_wh = 0.0;
  double waiting_s = 0.0;
  for (const ToolAccount& tool : account_.tools) {
    const Head& head = machine_.heads[static_cast<std::size_t>(
        machine_.tools[static_cast<std::size_t>(tool.tool)].head)];
    if (head.standby_c > 0.0 || tool.standby_s <= 0.0)
      continue;
    // Losses go with the temperature above the room.
    constexpr double kPrintC = 215.0;  // common practice, no source
    const double share = (kPrintC - kStandbyC) / (kPrintC - machine_.room_c);
    saved_wh += share * waiting_w(tool) * tool.standby_s / kSecondsPerHour;
    waiting_s += tool.standby_s;
  }
  if (saved_wh < kWorthSayingShare * totals_.energy_wh)
    return;
  Finding& finding = add(
      "standby-set-point",
      fmt::format("heads wait at their printing temperature for {:.1f} head hours",
                  waiting_s / kSecondsPerHour),
      fmt::format("let waiting heads go down to {:.0f} degC", kStandbyC),
      "losses go with the temperature above the room; what heating up again takes is not counted, "
      "and short waits do not cool that far");
  finding.saves_energy_wh = saved_wh;
}

void Savings::place_on_bed() {
  const BedPicture& placement = evidence_.account.bed_picture;
  if (placement.zones_now - placement.zones_then < 0.25)
    return;
  Finding& finding = add(
      "place-on-bed",
      fmt::format("as it lies, the plate heats {:.1f} bed zones (warm neighbours by their share); "
                  "moved by {:+.1f} mm in X and {:+.1f} mm in Y it heats {:.1f}",
                  placement.zones_now, placement.shift_x_mm, placement.shift_y_mm,
                  placement.zones_then),
      fmt::format("move everything by {:+.1f} mm in X and {:+.1f} mm in Y", placement.shift_x_mm,
                  placement.shift_y_mm),
      "the bed's energy goes with the zones that it heats");
  finding.saves_energy_wh =
      totals_.energy_by.bed_wh * (1.0 - placement.zones_then / placement.zones_now);
}

std::vector<Finding> Savings::find() {
  OrderOptions options;
  options.work = kOrderWork;
  if (totals_.swaps > 0) {
    order_ = plan_order(account_, machine_, options);
    if (!order_.by_need) {
      // Then pairs differ by accident only, and nothing but their number can be planned.
      options.objective = OrderObjective::swaps;
      order_ = plan_order(account_, machine_, options);
    }
    cheaper_order();
    purge_above_need();
    needless_tower();
    more_copies();
    thicker_layers();
    tools_without_use();
  }
  heat_without_use();
  standby();
  place_on_bed();
  std::erase_if(findings_, [](const Finding& finding) {
    return finding.saves_purge_g + finding.saves_time_s + finding.saves_energy_wh <= 0.0;
  });
  std::ranges::stable_sort(findings_, [](const Finding& a, const Finding& b) {
    return std::tie(a.saves_purge_g, a.saves_time_s, a.saves_energy_wh) >
           std::tie(b.saves_purge_g, b.saves_time_s, b.saves_energy_wh);
  });
  return std::move(findings_);
}

}  // namespace

std::vector<Finding> find_levers(const Evidence& evidence) {
  return Savings(evidence).find();
}

}  // namespace platetally::findings
