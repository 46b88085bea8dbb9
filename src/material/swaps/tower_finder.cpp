// Idea. A place that nearly all swaps lead to first is a tower, or a part that happens to be
// printed first. What tells them apart is weighed: every kind of evidence has a weight, large where
// a part could not behave so (colours that go by the order of the tools instead of by the place,
// a height that the part is not at), small where it merely rarely does. The sum decides; in between
// the plate is undecided, and the account gives a band. docs/methods-swaps.md has the table.
//
// Range: islands of the bed, so a tower that touches a part is not told from it. The weights were
// chosen on plates of known truth (assumed); docs/accuracy.md says how they do on fresh ones.
#include "material/swaps/tower_finder.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace platetally::swaps {

namespace {

constexpr double kLeft = 0.8;
constexpr double kLeftInDoubt = 0.1;
constexpr double kTower = 3.0;
constexpr double kNone = -1.5;
constexpr double kTouchingTower = 4.5;
constexpr double kMarked = 0.5;  // of the swaps: from here on marks alone say what is purge

class Scale {
 public:
  void put(double weight, std::string text) {
    if (weight == 0.0)
      return;
    sum_ += weight;
    reasons_.push_back({weight, std::move(text)});
  }
  double sum() const { return sum_; }
  std::vector<TowerReason> reasons() {
    std::stable_sort(reasons_.begin(), reasons_.end(),
                     [](const TowerReason& a, const TowerReason& b) {
                       return std::abs(a.weight) > std::abs(b.weight);
                     });
    return std::move(reasons_);
  }

 private:
  double sum_ = 0.0;
  std::vector<TowerReason> reasons_;
};

/// So much each time, up to `most`.
double by_count(std::size_t count, double each, double most) {
  return std::min(most, each * static_cast<double>(count));
}

/// Colours of parts keep their places; where those elsewhere do not, places prove little.
constexpr double kSteady = 0.15;
constexpr double kUnsteady = 0.5;

void weigh_changes(const TowerEvidence& seen, Scale& scale) {
  if (seen.relaid_in_order == 0 || seen.relaid_in_order < seen.relaid_otherwise ||
      seen.changes_elsewhere > kUnsteady)
    return;
  const double trust = seen.changes_elsewhere > kSteady ? 0.5 : 1.0;
  const double weight =
      trust * std::min(5.0, 0.5 + 1.5 * static_cast<double>(seen.relaid_in_order));
  scale.put(weight,
            fmt::format("{} times a tool landed where another one had, that came as the same one "
                        "in its layer, while most colours elsewhere keep their places",
                        seen.relaid_in_order));
}

/// Whether tools that go on into a layer have regions of their own there, as in a part.
bool have_regions(const TowerEvidence& seen) {
  const Returns& returns = seen.returns;
  return returns.alike > 0 &&
         static_cast<double>(returns.alike) >= 0.34 * static_cast<double>(returns.chances) &&
         (seen.carried_colours_stay || seen.changes_elsewhere > kSteady);
}

void weigh_returns(const TowerEvidence& seen, Scale& scale) {
  const Returns& returns = seen.returns;
  if (returns.chances == 0)
    return;
  const double most = seen.changes_elsewhere > kUnsteady ? 2.5 : 3.5;
  // An object that takes the place of a tower has a tool of its own, that lays what is left of it.
  const bool one_tool_returns = returns.tools_alike == 1 && returns.alike >= 2 && returns.away >= 4;
  if (have_regions(seen) && !one_tool_returns) {
    scale.put(-std::min(4.0, 2.0 + static_cast<double>(returns.alike)),
              fmt::format("of the {} times that a tool continued into a new layer without a "
                          "swap, it laid there {} times what tools lay behind a swap",
                          returns.chances, returns.alike));
    return;
  }
  if (returns.alike > 0 && !one_tool_returns)
    return;
  const auto stayed_away =
      static_cast<double>((one_tool_returns ? returns.away : returns.absent) + returns.around);
  scale.put(stayed_away > 0.0 ? std::min(most, (one_tool_returns ? 0.0 : 0.5) + stayed_away) : 0.0,
            fmt::format("of the {} times that a tool continued into a new layer without a swap, "
                        "it laid nothing there {} times and {} times only a thin wall around it",
                        returns.chances, returns.absent, returns.around));
  scale.put(one_tool_returns ? -1.0 : 0.0,
            fmt::format("one tool comes back {} times without a swap", returns.alike));
}

void weigh_fills(const TowerEvidence& seen, Scale& scale) {
  scale.put(seen.quiet >= 2 ? 3.0 : 1.5 * static_cast<double>(seen.quiet),
            fmt::format("{} layers without a swap leave it alone", seen.quiet));
  if (seen.thin_fill + seen.thin_below > seen.full_fill)
    scale.put(by_count(seen.thin_fill, 1.0, 3.5) + by_count(seen.thin_below, 0.5, 1.5),
              fmt::format("in {} layers without a swap less is laid there than in those with one",
                          seen.thin_fill + seen.thin_below));
  else
    scale.put(seen.full_fill >= 2 ? -1.0 : 0.0,
              fmt::format("in {} layers without a swap as much is laid there as in those with one",
                          seen.full_fill));
  scale.put(seen.above >= 2 ? -2.0 : 0.0,
            fmt::format("it goes on for {} layers above the last swap", seen.above));
  scale.put(seen.above == 0 && seen.above_elsewhere >= 2 ? 1.5 : 0.0,
            "it ends with the last swap, and the plate does not");
  scale.put(by_count(seen.other_height, 2.5, 5.0),
            fmt::format("{} landings lie at a height that the part is not at", seen.other_height));
}

void weigh_paths(const TowerEvidence& seen, Scale& scale) {
  scale.put(seen.closed < 0.1 && seen.closed_elsewhere > 0.25 ? 2.0 : 0.0,
            "its paths are no loops, as those of the parts are");
  // Stripes of a part, or all of it each time, are as equal.
  const bool is_equal = !have_regions(seen) && seen.full_fill <= seen.thin_fill + seen.thin_below;
  scale.put(
      is_equal && seen.landings >= 4 && seen.spread < 0.05 && seen.changes_elsewhere <= kUnsteady
          ? 1.5
          : 0.0,
      "all swaps lay the same volume there");
  scale.put(is_equal && seen.landings >= 6 && seen.pair_spread < 0.03 &&
                    seen.spread_elsewhere > 0.15 && seen.changes_elsewhere <= kUnsteady
                ? 1.0
                : 0.0,
            "the volumes laid there are steady, and elsewhere they are not");
  scale.put(seen.farewells >= 2 ? 1.5 : 0.0, "tools come by before they leave");
  scale.put(seen.landings >= 6 && seen.pair_spread > 0.25 ? -1.5 : 0.0,
            "swaps of the same tools lay very different volumes there");
}

void weigh_rest(const TowerEvidence& seen, Scale& scale) {
  scale.put(seen.twins > 0 ? -6.0 : 0.0, "it is repeated elsewhere in the same size");
  scale.put(seen.explained >= 0.9 ? (seen.landings >= 6 ? -1.5 : -1.0) : 0.0,
            "every swap has purged elsewhere already");
  scale.put(seen.piled >= 5.0 ? 5.0 : 0.0,
            fmt::format("what is laid there is piled {:.0f} layers high", seen.piled));
  scale.put(seen.longest_mm < 4.0 && seen.piled < 5.0 ? -2.0 : 0.0,
            "it is smaller than a tower or a line of purge is");
  scale.put(seen.landed < 0.97 ? -1.0 : 0.0,
            fmt::format("{:.0f} % of the swaps lead elsewhere", 100.0 * (1.0 - seen.landed)));
  scale.put(seen.places > 1 ? -1.5 : 0.0,
            fmt::format("it is {} places that stand apart", seen.places));
}

double weigh(const TowerEvidence& seen, Scale& scale) {
  weigh_changes(seen, scale);
  weigh_returns(seen, scale);
  weigh_fills(seen, scale);
  weigh_paths(seen, scale);
  weigh_rest(seen, scale);
  return scale.sum();
}

void take_place(const DepositLog& log, TowerFinding& finding, const LandingPlace& place) {
  constexpr float kEdgeMm = 0.4F;
  finding.places = place.boxes;
  for (const DroppedDeposit& deposit : log.dropped_before_swaps()) {
    Box at;
    at.include(double{deposit.x_mm}, double{deposit.y_mm});
    if (std::ranges::any_of(place.boxes, [&](const Box& box) { return at.lies_in(box, kEdgeMm); }))
      finding.dropped_mm += deposit.mm;
  }
  for (std::size_t i = 0; i < place.holds.size(); ++i)
    if (place.holds[i] || place.on_the_way[i])
      finding.visits.push_back(i);
}

/// A place that some tools do not leave before the next swap: too many for a tower that is
/// believed, and too few to say that it is none. Tools may be there that lay nothing of the part.
void doubt_those_who_stay(const DepositLog& log, const LandingPlace& place, TowerFinding& finding) {
  const TowerEvidence& seen = finding.evidence;
  if (!place.found || seen.left < kLeftInDoubt)
    return;
  Scale scale;
  if (weigh(seen, scale) < 0.0)
    return;
  scale.put(-1.0, fmt::format("after {:.0f} % of the swaps the tool lays there only",
                              100 * (1 - seen.left)));
  finding.verdict = TowerVerdict::undecided;
  finding.reasons = scale.reasons();
  take_place(log, finding, place);
}

/// A tower that touches a part: believed where there is no doubt.
bool find_touching(const DepositLog& log, TowerFinding& finding) {
  const LandingPlace place = place_of_boxes(log);
  const TowerEvidence seen = look_at_place(log, place);
  if (!place.found || seen.left < kLeft)
    return false;
  Scale scale;
  if (weigh(seen, scale) < kTouchingTower)
    return false;
  finding.verdict = TowerVerdict::tower;
  finding.evidence = seen;
  finding.reasons = scale.reasons();
  take_place(log, finding, place);
  return true;
}

/// Marks say where purge lies: what else is laid there is purge too, or may be.
void find_marked(const DepositLog& log, TowerFinding& finding) {
  constexpr double kNearlyAll = 0.8;
  double share = 0.0;
  const LandingPlace place = place_of_marks(log, share);
  if (!place.found)
    return;
  finding.verdict = share >= kNearlyAll ? TowerVerdict::tower : TowerVerdict::undecided;
  finding.reasons = {
      {1.0, fmt::format("comments mark {:.0f} % of what is laid there as purge", 100.0 * share)}};
  take_place(log, finding, place);
}

}  // namespace

TowerFinding find_tower(const DepositLog& log) {
  TowerFinding finding;
  finding.dropped_mm = log.dropped_mm();
  if (log.segments().size() < 2)
    return finding;
  finding.verdict = TowerVerdict::none;
  const LandingPlace place = place_of_islands(log);
  const TowerEvidence& seen = finding.evidence = look_at_place(log, place);
  if (seen.marked >= kMarked) {
    find_marked(log, finding);
    return finding;
  }
  if (!place.found || seen.left < kLeft) {
    if (!find_touching(log, finding))
      doubt_those_who_stay(log, place, finding);
    return finding;
  }
  Scale scale;
  const double sum = weigh(seen, scale);
  finding.reasons = scale.reasons();
  finding.verdict = sum >= kTower  ? TowerVerdict::tower
                    : sum <= kNone ? TowerVerdict::none
                                   : TowerVerdict::undecided;
  if (finding.verdict != TowerVerdict::none)
    take_place(log, finding, place);
  return finding;
}

std::string name_of(TowerVerdict verdict) {
  switch (verdict) {
    case TowerVerdict::no_swaps:
      return "no-swaps";
    case TowerVerdict::none:
      return "none";
    case TowerVerdict::tower:
      return "tower";
    case TowerVerdict::undecided:
      return "undecided";
  }
  return "none";
}

std::string explain(const TowerFinding& finding) {
  const TowerEvidence& seen = finding.evidence;
  if (finding.verdict == TowerVerdict::no_swaps)
    return "no tool lays anything after a swap";
  if (seen.marked >= kMarked)
    return finding.reasons.empty() ? "comments mark where purge is laid"
                                   : finding.reasons.front().text;
  if (finding.reasons.empty() && finding.verdict == TowerVerdict::none)
    return seen.left > 0.0 && seen.left < kLeft
               ? fmt::format("after {:.0f} % of the swaps the tool lays where it lands only",
                             100 * (1 - seen.left))
               : "after a swap, tools start in many places";
  std::string text = fmt::format(
      "{:.0f} % of the swaps lead to {} first", 100 * seen.landed,
      seen.places > 1 ? fmt::format("{} places", seen.places) : std::string("one place"));
  for (const TowerReason& reason : finding.reasons)
    text += fmt::format("; {} ({:+.1f})", reason.text, reason.weight);
  if (finding.dropped_mm > 0.0)
    text +=
        fmt::format("; {:.0f} mm of filament, laid there or on parts, could not be kept in mind",
                    finding.dropped_mm);
  if (finding.verdict == TowerVerdict::undecided)
    text +=
        ": a part could be printed like that; a waste area or a comment pattern in the machine "
        "file settles it";
  return text;
}

}  // namespace platetally::swaps
