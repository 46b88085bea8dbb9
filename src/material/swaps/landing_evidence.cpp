// What a tool lays is looked at in groups: one for each layer of the part that it goes through. A
// tower may lie lower or higher than the part is, so what it gets belongs to the layer that the
// part is in, by time.
#include "material/swaps/landing_evidence.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <set>
#include <utility>

namespace platetally::swaps {

namespace {

constexpr double kThin = 0.6;  // of the density of what is laid by landing
constexpr double kThinAround = 0.8;
constexpr double kLessFill = 0.8;  // of the volume in the nearest layer with landings
constexpr double kAsMuch = 0.05;   // around it
constexpr std::uint32_t kNearLayers = 6;
constexpr float kEdgeMm = 0.4F;
constexpr float kHeightMm = 0.02F;
constexpr double kMostlyChanged = 0.5;  // of the cells that are laid again
constexpr double kAlike = 0.05;         // purge volumes of one plate
constexpr double kKnownPurgeMm =
    4.0;  // of filament, some 10 mm3: enough for a swap that purges elsewhere

/// What is laid at once in the place, in one layer of the part.
struct Deposit {
  Box box;
  double mm = 0.0;
  bool any = false;
  void add(const Visit& visit) {
    box.include(visit.box);
    mm += visit.part_mm;
    any = true;
  }
  /// Filament on a square millimetre of its box; a line counts as wide as a bead.
  double density() const {
    constexpr float kBeadMm = 0.45F;
    return mm / (static_cast<double>(box.width_mm() + kBeadMm) *
                 static_cast<double>(box.depth_mm() + kBeadMm));
  }
};

struct Landing {
  std::size_t segment = 0;
  std::uint32_t layer = 0;  ///< of the part
  std::uint8_t rank = kNoRank;
  int from = -1, to = -1;
  double elsewhere_mm = 0.0;  ///< laid elsewhere before the next swap
  Deposit deposit;
};

/// A tool in a layer that it did not land in, and what it laid in the place.
struct Carried {
  std::uint32_t layer = 0;
  int tool = 0;
  Deposit deposit;
};

class Evidence {
 public:
  Evidence(const DepositLog& log, const LandingPlace& place) : log_(log), place_(place) {}
  TowerEvidence gather();

 private:
  std::size_t end_of(std::size_t segment) const { return end_of_segment(log_, segment); }
  bool in_place(std::size_t visit) const { return place_.holds[visit]; }
  bool is_one_off(std::size_t visit) const { return place_.on_the_way[visit]; }

  void look_at_farewells();
  void look_at_segments();
  void look_at_segment(std::size_t segment);
  void look_at_returns();
  void look_at_fills();
  void look_at_heights();
  void look_at_changes();
  void look_at_volumes();
  void look_at_loops();
  void look_at_known_purge();

  const DepositLog& log_;
  const LandingPlace& place_;
  TowerEvidence seen_;
  std::vector<Landing> all_;
  std::vector<Carried> carried_;
  bool says_farewell_ = false;
  std::size_t left_ = 0;
  std::vector<double> left_mm_, stayed_mm_;
  std::map<std::uint32_t, double> returned_mm_;  ///< by layer: laid there later by who landed in it
  std::set<std::uint32_t> layers_;               ///< of the part
};

void Evidence::look_at_segment(std::size_t segment) {
  const auto& visits = log_.visits();
  const std::size_t first = log_.segments()[segment].first_visit;
  const std::size_t last = end_of(segment);
  std::size_t i = first;
  if (segment > 0)
    while (i < last && is_one_off(i))
      ++i;
  const bool landed = segment > 0 && i < last && in_place(i);
  Landing landing;
  landing.segment = segment;
  for (const std::size_t begin = i;
       landed && i < last && in_place(i) && visits[i].layer == visits[begin].layer; ++i) {
    if (i == begin) {
      landing.rank = visits[i].rank;
      landing.layer = visits[i].layer;
    }
    landing.deposit.add(visits[i]);
  }
  // A tool that rams its tip before it leaves comes back for that.
  std::size_t rest_end = last;
  if (segment + 1 < log_.segments().size())
    while (rest_end > i && in_place(rest_end - 1))
      --rest_end;
  if (rest_end == i || !says_farewell_)
    rest_end = last;
  // The rest, in groups by the layer that the part is in.
  std::vector<std::uint32_t> part_layer(last - i);
  std::uint32_t next_layer = 0;
  for (std::size_t k = last; k-- > i;) {
    if (!in_place(k))
      next_layer = visits[k].layer;
    part_layer[k - i] = next_layer;
  }
  std::uint32_t layer_before = 0;
  double elsewhere_mm = 0.0;
  std::map<std::uint32_t, Deposit> by_layer;
  for (std::size_t k = i; k < rest_end; ++k) {
    const std::uint32_t after = part_layer[k - i];
    if (!in_place(k)) {
      layer_before = visits[k].layer;
      layers_.insert(layer_before);
      by_layer[layer_before];
      elsewhere_mm += visits[k].part_mm;
      continue;
    }
    const std::uint32_t layer = after != 0 && (visits[k].layer == after || layer_before == 0)
                                    ? after
                                    : (layer_before != 0 ? layer_before : visits[k].layer);
    by_layer[layer].add(visits[k]);
  }
  std::uint32_t own_layer = 0;
  if (landed) {
    own_layer = i < last && part_layer[0] != 0 ? part_layer[0] : landing.layer;
    landing.layer = own_layer;
    landing.from = log_.segments()[segment].from;
    landing.to = log_.segments()[segment].to;
    landing.elsewhere_mm = elsewhere_mm;
    all_.push_back(landing);
    const bool left = layer_before != 0;
    left_ += left;
    (left ? left_mm_ : stayed_mm_).push_back(landing.deposit.mm);
  }
  const int tool = first < last ? visits[first].tool : -1;
  for (const auto& [layer, deposit] : by_layer) {
    if (layer != own_layer)
      carried_.push_back({layer, tool, deposit});
    else if (deposit.any)
      returned_mm_[layer] += deposit.mm;
  }
}

/// Whether nearly every tool that leaves, after it was elsewhere, comes by first.
void Evidence::look_at_farewells() {
  constexpr double kNearlyEvery = 0.8;
  std::size_t leave = 0;
  for (std::size_t s = 0; s + 1 < log_.segments().size(); ++s) {
    const std::size_t first = log_.segments()[s].first_visit;
    const std::size_t last = end_of(s);
    std::size_t elsewhere = 0;
    for (std::size_t i = first; i < last; ++i)
      elsewhere += !in_place(i);
    if (elsewhere == 0)
      continue;
    ++leave;
    seen_.farewells += in_place(last - 1);
  }
  says_farewell_ = static_cast<double>(seen_.farewells) >=
                   kNearlyEvery * static_cast<double>(std::max<std::size_t>(leave, 2));
  if (!says_farewell_)
    seen_.farewells = 0;
}

void Evidence::look_at_segments() {
  look_at_farewells();
  for (std::size_t s = 0; s < log_.segments().size(); ++s)
    look_at_segment(s);
  std::size_t swaps = 0;
  for (std::size_t s = 1; s < log_.segments().size(); ++s)
    swaps += log_.segments()[s].first_visit < end_of(s);
  seen_.landings = all_.size();
  seen_.landed = swaps == 0 ? 0.0 : static_cast<double>(all_.size()) / static_cast<double>(swaps);
  // Tools that lay nothing of the part still purge, and as much as the others.
  std::size_t alike = 0;
  if (!left_mm_.empty()) {
    std::vector<double> sorted = left_mm_;
    const auto middle = sorted.begin() + static_cast<std::ptrdiff_t>(sorted.size() / 2);
    std::nth_element(sorted.begin(), middle, sorted.end());
    alike = static_cast<std::size_t>(std::count_if(
        stayed_mm_.begin(), stayed_mm_.end(),
        [usual_mm = *middle](double mm) { return std::abs(mm - usual_mm) <= kAlike * usual_mm; }));
  }
  if (!all_.empty())
    seen_.left = static_cast<double>(left_ + alike) / static_cast<double>(all_.size());
}

/// Landings by tool and layer of the part; the first of several.
using LandingsOfTools = std::map<std::pair<int, std::uint32_t>, const Landing*>;

/// Whether a tool lays that too where it lands, the next time: then it is the tool's part of the
/// place, however thin it is.
bool lands_so(const Carried& carried, const LandingsOfTools& landings) {
  const auto next = landings.upper_bound({carried.tool, carried.layer});
  if (next == landings.end() || next->first.first != carried.tool)
    return false;
  const Deposit& own = next->second->deposit;
  return std::abs(own.mm - carried.deposit.mm) <= kAlike * own.mm &&
         own.box.lies_in(carried.deposit.box, kEdgeMm) &&
         carried.deposit.box.lies_in(own.box, kEdgeMm);
}

void Evidence::look_at_returns() {
  std::map<std::uint32_t, Deposit> landed;  // by layer of the part
  std::set<int> landing_tools;
  LandingsOfTools of_tools;
  for (const Landing& landing : all_) {
    of_tools.try_emplace({landing.to, landing.layer}, &landing);
    Deposit& sum = landed[landing.layer];
    sum.box.include(landing.deposit.box);
    sum.mm = std::max(sum.mm, landing.deposit.density());
    landing_tools.insert(landing.to);
  }
  Returns& returns = seen_.returns;
  std::map<int, std::size_t> absent;  // by tool
  std::set<int> alike;
  for (const Carried& carried : carried_) {
    const auto own = landed.find(carried.layer);
    if (own == landed.end() || landing_tools.count(carried.tool) == 0)
      continue;
    ++returns.chances;
    const double density = own->second.mm;
    if (!carried.deposit.any) {
      ++returns.absent;
      ++absent[carried.tool];
    } else if (lands_so(carried, of_tools)) {
      ++returns.alike;
      alike.insert(carried.tool);
    } else if (own->second.box.lies_in(carried.deposit.box, kEdgeMm)) {
      ++(carried.deposit.density() < kThinAround * density ? returns.around : returns.over);
    } else if (carried.deposit.density() < kThin * density) {
      ++returns.thin;
    } else {
      ++returns.alike;
      alike.insert(carried.tool);
    }
  }
  returns.tools_alike = alike.size();
  for (const auto& [tool, times] : absent)
    returns.away += alike.count(tool) == 0 ? times : 0;
}

/// Layers without a landing. What is laid in them is compared with the nearest layers that have
/// one: a part has as much in both, a tower need not.
void Evidence::look_at_fills() {
  if (all_.empty())
    return;
  std::map<std::uint32_t, double> landed_mm;  // all of the place, in layers with landings
  for (const Landing& landing : all_)
    landed_mm[landing.layer] += landing.deposit.mm;
  std::map<std::uint32_t, double> filled_mm;
  for (const Carried& carried : carried_) {
    if (!carried.deposit.any)
      continue;
    const auto own = landed_mm.find(carried.layer);
    (own != landed_mm.end() ? own->second : filled_mm[carried.layer]) += carried.deposit.mm;
  }
  for (const auto& [layer, mm] : returned_mm_)
    landed_mm[layer] += mm;
  const std::uint32_t first = landed_mm.begin()->first;
  const std::uint32_t last = landed_mm.rbegin()->first;
  for (const std::uint32_t layer : layers_) {
    if (landed_mm.count(layer) > 0)
      continue;
    const auto fill = filled_mm.find(layer);
    const bool filled = fill != filled_mm.end();
    if (layer > last) {
      ++seen_.above_elsewhere;
      seen_.above += filled;
      continue;
    }
    if (!filled) {
      seen_.quiet += layer > first;
      continue;
    }
    const auto above = landed_mm.upper_bound(layer);
    double nearest_mm = above != landed_mm.end() ? above->second : 0.0;
    std::uint32_t distance = above != landed_mm.end() ? above->first - layer : kNearLayers + 1;
    if (above != landed_mm.begin() && layer - std::prev(above)->first <= distance) {
      nearest_mm = std::max(layer - std::prev(above)->first == distance ? nearest_mm : 0.0,
                            std::prev(above)->second);
      distance = layer - std::prev(above)->first;
    }
    if (distance > kNearLayers)
      continue;
    if (fill->second < kLessFill * nearest_mm)
      ++(layer > first ? seen_.thin_fill : seen_.thin_below);
    else if (std::abs(fill->second - nearest_mm) <= kAsMuch * nearest_mm)
      ++seen_.full_fill;
  }
}

/// Landings above or below both what was laid before and what is laid next.
void Evidence::look_at_heights() {
  const auto& visits = log_.visits();
  for (const Landing& landing : all_) {
    const std::size_t first = log_.segments()[landing.segment].first_visit;
    std::size_t next = first;
    while (next < end_of(landing.segment) && (in_place(next) || is_one_off(next)))
      ++next;
    std::size_t before = first;
    while (before > 0 && in_place(before - 1))
      --before;
    if (next == end_of(landing.segment) || before == 0)
      continue;
    std::size_t landed = first;
    while (landed < next && !in_place(landed))
      ++landed;
    const float z_mm = visits[landed].z_mm;
    seen_.other_height += std::abs(z_mm - visits[next].z_mm) > kHeightMm &&
                          std::abs(z_mm - visits[before - 1].z_mm) > kHeightMm;
  }
}

/// Of what several visits laid again.
struct Sum {
  std::size_t same = 0, changed = 0, changed_in_order = 0;
  std::size_t same_on_carried = 0, changed_on_carried = 0;
  void add(const Relaid& relaid) {
    same += relaid.same;
    changed += relaid.changed;
    changed_in_order += relaid.changed_in_order;
    same_on_carried += relaid.same_on_carried;
    changed_on_carried += relaid.changed_on_carried;
  }
  bool is_mostly_changed() const {
    return changed > 0 &&
           static_cast<double>(changed) >= kMostlyChanged * static_cast<double>(same + changed);
  }
};

void Evidence::look_at_changes() {
  const auto& visits = log_.visits();
  for (const Landing& landing : all_) {
    Sum sum;
    Sum elsewhere;  // by the same tool in the same layer
    for (std::size_t i = log_.segments()[landing.segment].first_visit; i < end_of(landing.segment);
         ++i) {
      if (in_place(i) && visits[i].rank != kNoRank)
        sum.add(visits[i].relaid);
      else if (!in_place(i) && visits[i].layer == landing.layer)
        elsewhere.add(visits[i].relaid);
    }
    // Only where the part's own colours are seen to stay is a change of colour the place's.
    constexpr std::size_t kFewCells = 5;
    if (!sum.is_mostly_changed() || elsewhere.same + elsewhere.changed < kFewCells ||
        elsewhere.is_mostly_changed())
      continue;
    if (2 * sum.changed_in_order >= sum.changed)
      ++seen_.relaid_in_order;
    else
      ++seen_.relaid_otherwise;
  }
  Sum inside;
  Sum outside;
  for (std::size_t i = 0; i < visits.size(); ++i) {
    Sum& sum = in_place(i) ? inside : outside;
    sum.add(visits[i].relaid);
  }
  seen_.carried_colours_stay = inside.same_on_carried >= inside.changed_on_carried;
  const auto share = [](const Sum& sum) {
    return static_cast<double>(sum.changed) /
           std::max(1.0, static_cast<double>(sum.same) + static_cast<double>(sum.changed));
  };
  seen_.changes = share(inside);
  seen_.changes_elsewhere = share(outside);
}

double spread_of(const std::vector<double>& values) {
  if (values.size() < 2)
    return 0.0;
  double sum = 0.0;
  double squares = 0.0;
  for (const double value : values) {
    sum += value;
    squares += value * value;
  }
  const auto count = static_cast<double>(values.size());
  const double mean = sum / count;
  return mean > 0.0 ? std::sqrt(std::max(0.0, squares / count - mean * mean)) / mean : 0.0;
}

/// From, to, which landing of the layer it is.
using VolumesByPair = std::map<std::array<int, 3>, std::vector<double>>;

double mean_spread(const VolumesByPair& by_pair) {
  double weighted = 0.0;
  double count = 0.0;
  for (const auto& [pair, values] : by_pair) {
    if (values.size() < 2)
      continue;
    weighted += spread_of(values) * static_cast<double>(values.size());
    count += static_cast<double>(values.size());
  }
  return count > 0.0 ? weighted / count : 0.0;
}

void Evidence::look_at_volumes() {
  std::vector<double> volumes;
  std::vector<double> piled;
  VolumesByPair by_pair;
  VolumesByPair elsewhere_by_pair;
  for (const Landing& landing : all_) {
    if (all_.size() > 3 && landing.layer <= 1)
      continue;  // feet
    volumes.push_back(landing.deposit.mm);
    piled.push_back(landing.deposit.density());
    by_pair[{landing.from, landing.to, landing.rank}].push_back(landing.deposit.mm);
    elsewhere_by_pair[{landing.from, landing.to, landing.rank}].push_back(landing.elsewhere_mm);
  }
  seen_.spread = spread_of(volumes);
  if (!piled.empty()) {
    const auto middle = piled.begin() + static_cast<std::ptrdiff_t>(piled.size() / 2);
    std::nth_element(piled.begin(), middle, piled.end());
    seen_.piled = *middle * log_.mm3_per_mm() / log_.layer_mm();
  }
  seen_.pair_spread = mean_spread(by_pair);
  seen_.spread_elsewhere = mean_spread(elsewhere_by_pair);
}

void Evidence::look_at_loops() {
  std::size_t paths = 0, loops = 0, paths_elsewhere = 0, loops_elsewhere = 0;
  const auto& visits = log_.visits();
  for (std::size_t i = 0; i < visits.size(); ++i) {
    if (in_place(i)) {
      if (visits[i].rank != kNoRank) {
        ++paths;
        loops += visits[i].closed;
      }
    } else if (!visits[i].elsewhere) {
      ++paths_elsewhere;
      loops_elsewhere += visits[i].closed;
    }
  }
  const auto share = [](std::size_t part, std::size_t whole) {
    return whole == 0 ? 0.0 : static_cast<double>(part) / static_cast<double>(whole);
  };
  seen_.closed = share(loops, paths);
  seen_.closed_elsewhere = share(loops_elsewhere, paths_elsewhere);
}

void Evidence::look_at_known_purge() {
  std::size_t explained = 0, marked = 0;
  const auto& segments = log_.segments();
  for (std::size_t s = 1; s < segments.size(); ++s) {
    explained += segments[s].purged_mm >= kKnownPurgeMm;
    marked += segments[s].marked_on_bed;
  }
  const auto swaps = static_cast<double>(std::max<std::size_t>(segments.size(), 2) - 1);
  seen_.explained = static_cast<double>(explained) / swaps;
  seen_.marked = static_cast<double>(marked) / swaps;
}

TowerEvidence Evidence::gather() {
  seen_.twins = place_.twins;
  seen_.places = place_.boxes.size();
  look_at_known_purge();
  look_at_segments();
  if (!place_.found)
    return seen_;
  look_at_returns();
  look_at_fills();
  look_at_heights();
  look_at_changes();
  look_at_volumes();
  look_at_loops();
  for (const Box& box : place_.boxes)
    seen_.longest_mm = std::max({seen_.longest_mm, static_cast<double>(box.width_mm()),
                                 static_cast<double>(box.depth_mm())});
  return seen_;
}

}  // namespace

TowerEvidence look_at_place(const DepositLog& log, const LandingPlace& place) {
  return Evidence(log, place).gather();
}

}  // namespace platetally::swaps
