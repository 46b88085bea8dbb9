// Idea. After a swap a tool goes to the tower first. So the islands of the bed that first visits
// after swaps fall on are counted; the one that nearly all fall on, or the few that together are
// landed on, are the place. Everything laid on those islands belongs to it: walls, fills and feet
// that nobody landed for too.
//
// What a tool lays is looked at in groups: one for each layer of the part that it goes through. A
// tower may lie lower or higher than the part is, so what it gets belongs to the layer that the
// part is in, by time.
#include "material/swaps/landing_place.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <set>

namespace platetally::swaps {

namespace {

constexpr double kLanded = 0.9;
constexpr float kJoinMm = 3.0F;  // lines this close are one place
constexpr float kSameSizeMm = 1.2F;
constexpr double kSameCells = 0.08;
constexpr double kThin = 0.6;  // of the density of what is laid by landing
constexpr double kThinAround = 0.8;
constexpr double kLessFill = 0.8;  // of the volume in the nearest layer with landings
constexpr double kAsMuch = 0.05;   // around it
constexpr double kSameMm = 0.03;   // of filament on twins
constexpr std::uint32_t kNearLayers = 6;
constexpr float kEdgeMm = 0.4F;
constexpr float kHeightMm = 0.02F;
constexpr double kMostlyChanged = 0.5;  // of the cells that are laid again
constexpr double kAlike = 0.05;         // purge volumes of one plate
constexpr double kKnownPurgeMm = 4.0;  // of filament, some 10 mm3: enough for a swap that purges elsewhere
constexpr std::size_t kMostIslands = 256;
constexpr std::size_t kOneOff = 2;

constexpr std::size_t kNowhere = static_cast<std::size_t>(-1);

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

class Finder {
 public:
  explicit Finder(const DepositLog& log) : log_(log), islands_(log.islands()) {}
  LandingPlace find();

 private:
  struct Group {  ///< islands that lie close to each other and are landed on
    std::vector<std::size_t> islands;
    Box box;
    std::size_t landings = 0;
  };

  void count_islands();
  std::vector<Group> groups() const;
  bool choose_place();
  bool choose_groups();
  std::size_t end_of(std::size_t segment) const {
    const auto& segments = log_.segments();
    return segment + 1 < segments.size() ? segments[segment + 1].first_visit
                                         : log_.visits().size();
  }
  bool in_place(std::size_t visit) const {
    return island_of_[visit] != kNowhere && is_place_[island_of_[visit]];
  }
  bool is_one_off(std::size_t visit) const {
    const std::size_t island = island_of_[visit];
    return island != kNowhere && !is_place_[island] && landings_[island] > 0 &&
           landings_[island] <= kOneOff &&
           visits_behind_swap_[island] + visits_before_swaps_[island] == visits_[island];
  }
  std::size_t count_landed() const;
  void look_at_farewells();
  void look_at_segments();
  void look_at_segment(std::size_t segment);
  void look_at_returns();
  void look_at_fills();
  void look_at_heights();
  void look_at_changes();
  void look_at_twins();
  void look_at_volumes();
  void look_at_loops();
  void look_at_known_purge();

  const DepositLog& log_;
  Islands islands_;
  std::vector<std::size_t> island_of_;  ///< by visit
  std::vector<std::size_t> visits_;     ///< by island
  std::vector<double> mm_;              ///< by island
  std::vector<std::size_t> visits_behind_swap_;  ///< by island: landings and what follows them there
  std::vector<std::size_t> visits_before_swaps_;  ///< by island
  std::vector<std::size_t> landings_;   ///< by island
  std::vector<bool> is_place_;          ///< by island
  std::size_t swaps_ = 0;               ///< behind which something is laid
  std::set<int> tools_;
  std::vector<Landing> all_;
  std::vector<Carried> carried_;
  std::vector<std::size_t> lines_;  ///< visits on the way to the place, to where nothing else is laid
  bool says_farewell_ = false;
  std::size_t left_ = 0;
  std::vector<double> left_mm_, stayed_mm_;
  std::map<std::uint32_t, double> returned_mm_;  ///< by layer: laid there later by who landed in it
  std::set<std::uint32_t> layers_;  ///< of the part
  LandingPlace place_;
};

void Finder::count_islands() {
  const std::size_t count = islands_.all().size();
  visits_.assign(count, 0);
  mm_.assign(count, 0.0);
  visits_behind_swap_.assign(count, 0);
  visits_before_swaps_.assign(count, 0);
  landings_.assign(count, 0);
  is_place_.assign(count, false);
  const auto& visits = log_.visits();
  island_of_.reserve(visits.size());
  for (const Visit& visit : visits) {
    const std::int32_t at =
        visit.elsewhere ? Islands::kNone : islands_.at(visit.x_mm, visit.y_mm);
    const std::size_t island = at == Islands::kNone ? kNowhere : static_cast<std::size_t>(at);
    island_of_.push_back(island);
    if (visit.leads)
      tools_.insert(visit.tool);
    if (island == kNowhere)
      continue;
    ++visits_[island];
    mm_[island] += visit.part_mm;
    visits_behind_swap_[island] += visit.rank != kNoRank;
    visits_before_swaps_[island] += visit.segment == 0;
    landings_[island] += visit.leads;
  }
  for (std::size_t s = 1; s < log_.segments().size(); ++s)
    swaps_ += log_.segments()[s].first_visit < end_of(s);
}

std::vector<Finder::Group> Finder::groups() const {
  std::vector<std::size_t> landed;
  for (std::size_t i = 0; i < landings_.size(); ++i)
    if (landings_[i] > 0)
      landed.push_back(i);
  std::stable_sort(landed.begin(), landed.end(),
                   [this](std::size_t a, std::size_t b) { return landings_[a] > landings_[b]; });
  if (landed.size() > kMostIslands)
    landed.resize(kMostIslands);
  std::vector<Group> groups;
  const auto only_landed_on = [this](std::size_t island) {
    return 2 * visits_behind_swap_[island] >= visits_[island];
  };
  for (const std::size_t island : landed) {
    Group joined{{island}, islands_.all()[island].box, landings_[island]};
    if (only_landed_on(island))
      std::erase_if(groups, [&](const Group& group) {
        if (!group.box.meets(joined.box, kJoinMm) || !only_landed_on(group.islands.front()))
          return false;
        joined.islands.insert(joined.islands.end(), group.islands.begin(), group.islands.end());
        joined.box.include(group.box);
        joined.landings += group.landings;
        return true;
      });
    groups.push_back(joined);
  }
  std::stable_sort(groups.begin(), groups.end(),
                   [](const Group& a, const Group& b) { return a.landings > b.landings; });
  return groups;
}

/// Swaps after which the tool lands in the place, past lines that nothing else is laid on.
std::size_t Finder::count_landed() const {
  std::size_t landed = 0;
  for (std::size_t s = 1; s < log_.segments().size(); ++s) {
    std::size_t i = log_.segments()[s].first_visit;
    while (i < end_of(s) && is_one_off(i))
      ++i;
    landed += i < end_of(s) && in_place(i);
  }
  return landed;
}

/// The fewest groups, the busiest first, that nearly all swaps lead to; no more than there are
/// tools.
bool Finder::choose_place() {
  if (!choose_groups())
    return false;
  // What lies within it belongs to it: rings of a thin fill, a rib.
  for (std::size_t i = 0; i < islands_.all().size(); ++i)
    is_place_[i] = is_place_[i] ||
                   std::any_of(place_.boxes.begin(), place_.boxes.end(), [&](const Box& box) {
                     return islands_.all()[i].box.lies_in(box, kEdgeMm);
                   });
  return true;
}

bool Finder::choose_groups() {
  std::size_t chosen = 0;
  for (const Group& group : groups()) {
    if (chosen >= std::max<std::size_t>(tools_.size(), 1))
      return false;
    ++chosen;
    for (const std::size_t island : group.islands)
      is_place_[island] = true;
    place_.boxes.push_back(group.box);
    if (static_cast<double>(count_landed()) >= kLanded * static_cast<double>(swaps_))
      return true;
  }
  return false;
}

void Finder::look_at_segment(std::size_t segment) {
  const auto& visits = log_.visits();
  const std::size_t first = log_.segments()[segment].first_visit;
  const std::size_t last = end_of(segment);
  std::size_t i = first;
  if (segment > 0)
    while (i < last && is_one_off(i))
      ++i;
  const bool landed = segment > 0 && i < last && in_place(i);
  if (landed)
    for (std::size_t line = first; line < i; ++line)
      lines_.push_back(line);
  Landing landing;
  landing.segment = segment;
  std::size_t closed = 0;
  for (const std::size_t begin = i;
       landed && i < last && in_place(i) && visits[i].layer == visits[begin].layer; ++i) {
    if (i == begin) {
      landing.rank = visits[i].rank;
      landing.layer = visits[i].layer;
    }
    landing.deposit.add(visits[i]);
    closed += visits[i].closed;
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
void Finder::look_at_farewells() {
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
    place_.evidence.farewells += in_place(last - 1);
  }
  says_farewell_ = static_cast<double>(place_.evidence.farewells) >=
                   kNearlyEvery * static_cast<double>(std::max<std::size_t>(leave, 2));
  if (!says_farewell_)
    place_.evidence.farewells = 0;
}

void Finder::look_at_segments() {
  look_at_farewells();
  for (std::size_t s = 0; s < log_.segments().size(); ++s)
    look_at_segment(s);
  TowerEvidence& seen = place_.evidence;
  seen.landings = all_.size();
  seen.landed = swaps_ == 0 ? 0.0 : static_cast<double>(all_.size()) / static_cast<double>(swaps_);
  // Tools that lay nothing of the part still purge, and as much as the others.
  std::size_t alike = 0;
  if (!left_mm_.empty()) {
    std::vector<double> sorted = left_mm_;
    const auto middle = sorted.begin() + static_cast<std::ptrdiff_t>(sorted.size() / 2);
    std::nth_element(sorted.begin(), middle, sorted.end());
    alike = static_cast<std::size_t>(
        std::count_if(stayed_mm_.begin(), stayed_mm_.end(), [usual_mm = *middle](double mm) {
          return std::abs(mm - usual_mm) <= kAlike * usual_mm;
        }));
  }
  if (!all_.empty())
    seen.left = static_cast<double>(left_ + alike) / static_cast<double>(all_.size());
}

void Finder::look_at_returns() {
  std::map<std::uint32_t, Deposit> landed;  // by layer of the part
  std::set<int> landing_tools;
  for (const Landing& landing : all_) {
    Deposit& sum = landed[landing.layer];
    sum.box.include(landing.deposit.box);
    sum.mm = std::max(sum.mm, landing.deposit.density());
    landing_tools.insert(landing.to);
  }
  Returns& returns = place_.evidence.returns;
  for (const Carried& carried : carried_) {
    const auto own = landed.find(carried.layer);
    if (own == landed.end() || landing_tools.count(carried.tool) == 0)
      continue;
    ++returns.chances;
    const double density = own->second.mm;
    if (!carried.deposit.any)
      ++returns.absent;
    else if (own->second.box.lies_in(carried.deposit.box, kEdgeMm))
      ++(carried.deposit.density() < kThinAround * density ? returns.around : returns.over);
    else if (carried.deposit.density() < kThin * density)
      ++returns.thin;
    else
      ++returns.alike;
  }
}

/// Layers without a landing. What is laid in them is compared with the nearest layers that have one:
/// a part has as much in both, a tower need not.
void Finder::look_at_fills() {
  if (all_.empty())
    return;
  TowerEvidence& seen = place_.evidence;
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
      ++seen.above_elsewhere;
      seen.above += filled;
      continue;
    }
    if (!filled) {
      seen.quiet += layer > first;
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
      ++(layer > first ? seen.thin_fill : seen.thin_below);
    else if (std::abs(fill->second - nearest_mm) <= kAsMuch * nearest_mm)
      ++seen.full_fill;
  }
}

/// Landings above or below both what was laid before and what is laid next.
void Finder::look_at_heights() {
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
    place_.evidence.other_height += std::abs(z_mm - visits[next].z_mm) > kHeightMm &&
                                    std::abs(z_mm - visits[before - 1].z_mm) > kHeightMm;
  }
}

void Finder::look_at_changes() {
  TowerEvidence& seen = place_.evidence;
  const auto& visits = log_.visits();
  for (const Landing& landing : all_) {
    Relaid sum;
    for (std::size_t i = log_.segments()[landing.segment].first_visit;
         i < end_of(landing.segment) && (in_place(i) || is_one_off(i)); ++i) {
      sum.same += visits[i].relaid.same;
      sum.changed += visits[i].relaid.changed;
      sum.changed_in_order += visits[i].relaid.changed_in_order;
    }
    const double most = kMostlyChanged * static_cast<double>(sum.same + sum.changed);
    if (sum.changed == 0 || static_cast<double>(sum.changed) < most)
      continue;
    if (2 * sum.changed_in_order >= sum.changed)
      ++seen.relaid_in_order;
    else
      ++seen.relaid_otherwise;
  }
  Relaid inside;
  Relaid outside;
  for (std::size_t i = 0; i < islands_.all().size(); ++i) {
    Relaid& sum = is_place_[i] ? inside : outside;
    sum.same += islands_.all()[i].relaid.same;
    sum.changed += islands_.all()[i].relaid.changed;
  }
  const auto share = [](const Relaid& sum) {
    return static_cast<double>(sum.changed) /
           std::max(1.0, static_cast<double>(sum.same) + static_cast<double>(sum.changed));
  };
  seen.changes = share(inside);
  seen.changes_elsewhere = share(outside);
}

void Finder::look_at_twins() {
  for (std::size_t i = 0; i < islands_.all().size(); ++i) {
    if (!is_place_[i])
      continue;
    const Island& own = islands_.all()[i];
    for (std::size_t k = 0; k < islands_.all().size(); ++k) {
      const Island& other = islands_.all()[k];
      if (!is_place_[k] && std::abs(own.box.width_mm() - other.box.width_mm()) < kSameSizeMm &&
          std::abs(own.box.depth_mm() - other.box.depth_mm()) < kSameSizeMm &&
          std::abs(static_cast<double>(own.cells) - static_cast<double>(other.cells)) <=
              kSameCells * static_cast<double>(own.cells) &&
          std::abs(mm_[i] - mm_[k]) <= kSameMm * mm_[i])
        ++place_.evidence.twins;
    }
  }
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

void Finder::look_at_volumes() {
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
  place_.evidence.spread = spread_of(volumes);
  if (!piled.empty()) {
    const auto middle = piled.begin() + static_cast<std::ptrdiff_t>(piled.size() / 2);
    std::nth_element(piled.begin(), middle, piled.end());
    place_.evidence.piled = *middle * log_.mm3_per_mm() / log_.layer_mm();
  }
  place_.evidence.pair_spread = mean_spread(by_pair);
  place_.evidence.spread_elsewhere = mean_spread(elsewhere_by_pair);
}

void Finder::look_at_loops() {
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
  place_.evidence.closed = share(loops, paths);
  place_.evidence.closed_elsewhere = share(loops_elsewhere, paths_elsewhere);
}

void Finder::look_at_known_purge() {
  std::size_t explained = 0, marked = 0;
  const auto& segments = log_.segments();
  for (std::size_t s = 1; s < segments.size(); ++s) {
    explained += segments[s].purged_mm >= kKnownPurgeMm;
    marked += segments[s].marked_on_bed;
  }
  const auto swaps = static_cast<double>(std::max<std::size_t>(segments.size(), 2) - 1);
  place_.evidence.explained = static_cast<double>(explained) / swaps;
  place_.evidence.marked = static_cast<double>(marked) / swaps;
}

LandingPlace Finder::find() {
  count_islands();
  look_at_known_purge();
  if (swaps_ == 0)
    return place_;
  place_.found = choose_place();
  place_.evidence.places = place_.boxes.size();
  look_at_segments();
  if (!place_.found)
    return place_;
  look_at_returns();
  look_at_fills();
  look_at_heights();
  look_at_changes();
  look_at_twins();
  look_at_volumes();
  look_at_loops();
  for (const Box& box : place_.boxes)
    place_.evidence.longest_mm =
        std::max({place_.evidence.longest_mm, static_cast<double>(box.width_mm()),
                  static_cast<double>(box.depth_mm())});
  for (std::size_t i = 0; i < log_.visits().size(); ++i)
    if (in_place(i))
      place_.visits.push_back(i);
  place_.visits.insert(place_.visits.end(), lines_.begin(), lines_.end());
  std::sort(place_.visits.begin(), place_.visits.end());
  return place_;
}

}  // namespace

LandingPlace find_landing_place(const DepositLog& log) {
  return Finder(log).find();
}

}  // namespace platetally::swaps
