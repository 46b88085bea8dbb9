// Idea. After a swap a tool goes to the tower first, whatever it prints next; so the first visits
// after swaps pile up in one place. A part that happens to be printed first looks the same at first
// sight, so the place must also behave like a tower:
//   landed    nearly every swap leads there (kLanded), and the tool then lays elsewhere too
//   (kLeft), or lays as much there as tools that do; returned  a tool that goes on into the next
//   layer without a swap has no reason to visit a tower,
//             but it prints its share of every part;
//   small     a tower or a line of purge is some millimetres long;
//   twins     the landing is not repeated elsewhere with the same size: copies of a part are;
//   quiet     layers without a swap leave a tower alone (or fill it up; a fill decides nothing);
//   mixed     a tower's cells see many tools, a part's cells mostly one.
// Contrary evidence (returned, twins) outweighs everything. Without any evidence beyond the
// landings the verdict is `undecided`: a part that is always printed first, in fixed colour
// regions, cannot be told from a tower of fixed stripes by its motion. So is it where tools land in
// several places.
//
// A landing is only the first visit. The place grows by what overlaps it (second visits, the fill
// of layers without a swap), as long as it is no larger than the place itself.
//
// Range: axis-parallel boxes; visits in a box belong to it. The thresholds were chosen on synthetic
// plates (assumed); docs/methods-swaps.md has the confusion table on plates that were not used for
// choosing them.
#include "material/swaps/tower_finder.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <set>

namespace platetally::swaps {

namespace {

constexpr double kLanded = 0.9;
constexpr double kLeft = 0.8;
constexpr double kReturned = 0.34;   // of the carried tools: from here on the place is a part
constexpr double kTwins = 0.2;       // of the landings
constexpr float kSmallestMm = 4.0F;  // longer side: nobody purges on a smaller spot
constexpr double kMixed = 0.4;
constexpr double kAlike = 0.05;  // purge volumes of one plate
constexpr std::size_t kFewChances = 2;
constexpr float kJoinMm = 2.0F;  // landings this close are one place: stripes of a tower
constexpr float kEdgeMm = 0.3F;  // a visit this far over the place's edge still lies in it
constexpr std::size_t kMostPlaces = 64;

struct Place {
  Box box;
  std::size_t landings = 0;
};

/// Joins landings to places, the busiest first: that is where a tower would be.
std::vector<Place> places_of_landing(const DepositLog& log) {
  std::vector<Place> places;
  for (const Visit& visit : log.visits()) {
    if (!visit.leads)
      continue;
    Place joined{visit.box, 1};
    std::erase_if(places, [&joined](const Place& place) {
      if (!place.box.meets(joined.box, kJoinMm))
        return false;
      joined.box.include(place.box);
      joined.landings += place.landings;
      return true;
    });
    if (places.size() < kMostPlaces)
      places.push_back(joined);
  }
  std::stable_sort(places.begin(), places.end(),
                   [](const Place& a, const Place& b) { return a.landings > b.landings; });
  return places;
}

/// The fewest places, the busiest first, that kLanded of the landings fall into; none if that takes
/// more places than there are tools.
std::vector<Box> choose_places(const DepositLog& log) {
  std::set<int> tools;
  std::size_t landings = 0;
  for (const Visit& visit : log.visits()) {
    landings += visit.leads;
    if (visit.leads)
      tools.insert(visit.tool);
  }
  std::vector<Box> chosen;
  std::size_t covered = 0;
  for (const Place& place : places_of_landing(log)) {
    if (static_cast<double>(covered) >= kLanded * static_cast<double>(landings))
      break;
    if (chosen.size() >= tools.size())
      return {};
    chosen.push_back(place.box);
    covered += place.landings;
  }
  return chosen;
}

bool lies_in(const Box& box, const std::vector<Box>& places) {
  return std::any_of(places.begin(), places.end(),
                     [&box](const Box& place) { return box.lies_in(place, kEdgeMm); });
}

/// Share of `box` that `place` covers; a line counts as wide as a bead.
float covered_share(const Box& box, const Box& place) {
  constexpr float kBeadMm = 0.4F;
  const float across_x_mm =
      std::min(box.x_max_mm, place.x_max_mm) - std::max(box.x_min_mm, place.x_min_mm);
  const float across_y_mm =
      std::min(box.y_max_mm, place.y_max_mm) - std::max(box.y_min_mm, place.y_min_mm);
  if (across_x_mm <= 0.0F || across_y_mm <= 0.0F)
    return 0.0F;
  return across_x_mm * across_y_mm /
         (std::max(box.width_mm(), kBeadMm) * std::max(box.depth_mm(), kBeadMm));
}

void grow(const DepositLog& log, Box& place) {
  constexpr float kCovered = 0.25F;
  constexpr float kLargest = 1.5F;
  constexpr int kMostRounds = 8;
  for (int round = 0; round < kMostRounds; ++round) {
    const Box before = place;
    for (const Visit& visit : log.visits()) {
      if (visit.box.lies_in(place, kEdgeMm) || covered_share(visit.box, place) < kCovered)
        continue;
      if (visit.box.width_mm() <= kLargest * before.width_mm() + 1.0F &&
          visit.box.depth_mm() <= kLargest * before.depth_mm() + 1.0F)
        place.include(visit.box);
    }
    if (place.lies_in(before, 0.0F))
      return;
  }
}

bool same_size(const Visit& a, const Visit& b) {
  constexpr float kSizeMm = 0.1F;
  return std::abs(a.box.width_mm() - b.box.width_mm()) < kSizeMm &&
         std::abs(a.box.depth_mm() - b.box.depth_mm()) < kSizeMm &&
         std::abs(a.part_mm - b.part_mm) <= 0.02 * a.part_mm;
}

/// The visits of one segment, seen from the place.
struct Stay {
  bool landed = false;
  bool left = false;
  bool twin = false;
  std::size_t carried = 0;
  std::size_t returned = 0;
};

Stay look_at_segment(const DepositLog& log, std::size_t first, std::size_t last,
                     const std::vector<Box>& places,
                     const std::set<std::uint32_t>& landing_layers) {
  Stay stay;
  const auto& visits = log.visits();
  const Visit& leading = visits[first];
  stay.landed = leading.leads && lies_in(leading.box, places);
  bool chain = stay.landed;  // still in the place since the landing
  for (std::size_t i = first; i < last;) {
    // One layer of the segment after the other.
    const std::uint32_t layer = visits[i].layer;
    bool here = false;
    bool counted_chance = false;
    for (; i < last && visits[i].layer == layer; ++i) {
      const bool inside = lies_in(visits[i].box, places);
      chain = chain && inside;
      if (!inside) {
        stay.left = true;
        stay.twin = stay.twin || (stay.landed && same_size(leading, visits[i]));
      }
      here = here || (inside && !chain);
      counted_chance = true;
    }
    const bool carried_over =
        counted_chance && layer != leading.layer && landing_layers.count(layer) > 0;
    if (carried_over) {
      ++stay.carried;
      stay.returned += here;
    }
  }
  return stay;
}

/// Layers in which something is laid, none of it in the place, and no tool lands there.
std::size_t count_quiet_layers(const DepositLog& log, const std::vector<Box>& places,
                               const std::set<std::uint32_t>& landing_layers) {
  std::set<std::uint32_t> laid;
  std::set<std::uint32_t> in_place;
  for (const Visit& visit : log.visits())
    (lies_in(visit.box, places) ? in_place : laid).insert(visit.layer);
  std::size_t quiet = 0;
  for (const std::uint32_t layer : laid)
    quiet += landing_layers.count(layer) == 0 && in_place.count(layer) == 0;
  return quiet;
}

/// Tools that lay nothing of the part still purge, and as much as the others.
std::size_t count_purged_alike(std::vector<double> left_mm, const std::vector<double>& stayed_mm) {
  if (left_mm.empty())
    return 0;
  const auto middle = left_mm.begin() + static_cast<std::ptrdiff_t>(left_mm.size() / 2);
  std::nth_element(left_mm.begin(), middle, left_mm.end());
  return static_cast<std::size_t>(std::count_if(
      stayed_mm.begin(), stayed_mm.end(),
      [usual_mm = *middle](double mm) { return std::abs(mm - usual_mm) <= kAlike * usual_mm; }));
}

TowerEvidence gather(const DepositLog& log, const std::vector<Box>& places) {
  TowerEvidence evidence;
  std::set<std::uint32_t> landing_layers;
  for (const Visit& visit : log.visits())
    if (visit.leads && lies_in(visit.box, places))
      landing_layers.insert(visit.layer);
  std::size_t swaps = 0;
  std::size_t landed = 0;
  std::vector<double> left_mm;    // laid at the landing by tools that then went elsewhere,
  std::vector<double> stayed_mm;  // and by tools that did not
  const auto& segments = log.segments();
  for (std::size_t s = 1; s < segments.size(); ++s) {
    const std::size_t first = segments[s].first_visit;
    const std::size_t last =
        s + 1 < segments.size() ? segments[s + 1].first_visit : log.visits().size();
    if (first >= last)
      continue;  // nothing laid between two swaps
    const Stay stay = look_at_segment(log, first, last, places, landing_layers);
    ++swaps;
    landed += stay.landed;
    if (stay.landed)
      (stay.left || !lies_in(segments[s].elsewhere, places) ? left_mm : stayed_mm)
          .push_back(log.visits()[first].part_mm);
    evidence.twins += stay.twin;
    evidence.carried += stay.carried;
    evidence.returned += stay.returned;
  }
  if (swaps > 0)
    evidence.landed = static_cast<double>(landed) / static_cast<double>(swaps);
  if (landed > 0)
    evidence.left = static_cast<double>(left_mm.size() + count_purged_alike(left_mm, stayed_mm)) /
                    static_cast<double>(landed);
  evidence.quiet = count_quiet_layers(log, places, landing_layers);
  evidence.mixed = places.size() == 1 ? log.mixed_share(places.front()) : 0.0;
  return evidence;
}

TowerVerdict judge(const TowerEvidence& evidence, std::size_t landings, std::size_t places) {
  if (evidence.landed < kLanded || evidence.left < kLeft)
    return TowerVerdict::none;
  if (static_cast<double>(evidence.twins) >= kTwins * static_cast<double>(landings))
    return TowerVerdict::none;
  const auto carried = static_cast<double>(evidence.carried);
  if (evidence.carried >= 1 && static_cast<double>(evidence.returned) >= kReturned * carried)
    return TowerVerdict::none;
  if (places > 1)
    return TowerVerdict::undecided;
  const bool never_returned = evidence.carried >= kFewChances && evidence.returned == 0;
  if (never_returned || evidence.quiet >= kFewChances || evidence.mixed >= kMixed)
    return TowerVerdict::tower;
  return TowerVerdict::undecided;
}

}  // namespace

TowerFinding find_tower(const DepositLog& log) {
  TowerFinding finding;
  const auto landings = static_cast<std::size_t>(std::count_if(
      log.visits().begin(), log.visits().end(), [](const Visit& visit) { return visit.leads; }));
  if (landings == 0)
    return finding;
  finding.verdict = TowerVerdict::none;
  finding.places = choose_places(log);
  if (finding.places.empty())
    return finding;
  for (Box& place : finding.places)
    grow(log, place);
  if (std::any_of(finding.places.begin(), finding.places.end(), [](const Box& place) {
        return std::max(place.width_mm(), place.depth_mm()) < kSmallestMm;
      })) {
    finding.evidence.too_small = true;
    return finding;
  }
  finding.evidence = gather(log, finding.places);
  finding.verdict = judge(finding.evidence, landings, finding.places.size());
  if (finding.verdict == TowerVerdict::none)
    return finding;
  for (std::size_t i = 0; i < log.visits().size(); ++i)
    if (lies_in(log.visits()[i].box, finding.places))
      finding.visits.push_back(i);
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
  switch (finding.verdict) {
    case TowerVerdict::no_swaps:
      return "no tool lays anything after a swap";
    case TowerVerdict::tower:
      return fmt::format(
          "{:.0f} % of the swaps lead to one place first; {} of {} tools that went on into a layer "
          "without a swap laid there, {} layers without a swap leave it alone, {:.0f} % of it was "
          "laid by several tools",
          100 * seen.landed, seen.returned, seen.carried, seen.quiet, 100 * seen.mixed);
    case TowerVerdict::undecided:
      return fmt::format(
          "{:.0f} % of the swaps lead to {} first, {} of them repeated elsewhere in the same size; "
          "{} "
          "of {} tools that went on into a layer without a swap laid there, {:.0f} % of it was "
          "laid "
          "by several tools: a part could be printed like that; a waste area or a comment pattern "
          "in the machine file settles it",
          100 * seen.landed,
          finding.places.size() == 1 ? std::string("one place")
                                     : fmt::format("{} places", finding.places.size()),
          seen.twins, seen.returned, seen.carried, 100 * seen.mixed);
    case TowerVerdict::none:
      break;
  }
  if (seen.too_small)
    return "what the tools lay first after a swap is too small to be a tower or a line of purge";
  if (finding.places.empty() || seen.landed < kLanded)
    return "after a swap, tools start in many places";
  if (seen.left < kLeft)
    return fmt::format("after {:.0f} % of the swaps the tool lays where it lands only",
                       100 * (1 - seen.left));
  if (seen.carried > 0 && seen.returned > 0)
    return fmt::format(
        "{} of {} tools that went on into a layer without a swap laid where the "
        "others land: that is a part",
        seen.returned, seen.carried);
  return "where the tools land is repeated elsewhere: copies of a part";
}

}  // namespace platetally::swaps
