// Idea. After a swap a tool goes to the tower first. So the islands of the bed that first visits
// after swaps fall on are counted; the one that nearly all fall on, or the few that together are
// landed on, are the place. Everything laid on those islands belongs to it: walls, fills and feet
// that nobody landed for too. Lines that nothing else is ever laid on, between a swap and the
// place, are passed over.
//
// A tower that stands within a bead of a part is one island with it. For such, boxes of what is
// laid first are joined instead, and grow by visits that overlap them and are not much larger.
#include "material/swaps/landing_place.hpp"

#include <algorithm>
#include <cmath>
#include <set>

namespace platetally::swaps {

namespace {

constexpr double kLanded = 0.9;
constexpr float kJoinMm = 3.0F;       // lines this close are one place
constexpr float kJoinBoxesMm = 2.0F;  // landings this close are one place: stripes of a tower
constexpr float kSameSizeMm = 1.2F;
constexpr double kSameCells = 0.08;
constexpr double kSameMm = 0.03;  // of filament
constexpr float kEdgeMm = 0.4F;
constexpr std::size_t kMostIslands = 256;
constexpr std::size_t kMostBoxes = 64;
constexpr std::size_t kOneOff = 2;
constexpr std::size_t kNowhere = static_cast<std::size_t>(-1);

std::set<int> landing_tools(const DepositLog& log) {
  std::set<int> tools;
  for (const Visit& visit : log.visits())
    if (visit.leads)
      tools.insert(visit.tool);
  return tools;
}

/// Swaps behind which something is laid.
std::size_t count_swaps(const DepositLog& log) {
  std::size_t swaps = 0;
  for (std::size_t s = 1; s < log.segments().size(); ++s)
    swaps += log.segments()[s].first_visit < end_of_segment(log, s);
  return swaps;
}

class IslandPlace {
 public:
  explicit IslandPlace(const DepositLog& log) : log_(log), islands_(log.islands()) {}
  LandingPlace find();

 private:
  struct OfIsland {
    std::size_t visits = 0;
    std::size_t behind_swap = 0;   ///< landings and what follows them there
    std::size_t before_swaps = 0;  ///< before any
    std::size_t landings = 0;
    double mm = 0.0;
    bool is_place = false;
  };
  struct Group {  ///< islands that lie close to each other and are landed on
    std::vector<std::size_t> islands;
    Box box;
    std::size_t landings = 0;
  };

  void count();
  std::vector<Group> groups() const;
  bool choose();
  void add_what_lies_within();
  std::size_t count_landed() const;
  std::size_t count_twins() const;
  bool holds(std::size_t visit) const {
    return island_of_[visit] != kNowhere && of_[island_of_[visit]].is_place;
  }
  bool is_one_off(std::size_t visit) const {
    if (island_of_[visit] == kNowhere)
      return false;
    const OfIsland& island = of_[island_of_[visit]];
    return !island.is_place && island.landings > 0 && island.landings <= kOneOff &&
           island.behind_swap + island.before_swaps == island.visits;
  }

  const DepositLog& log_;
  Islands islands_;
  std::vector<std::size_t> island_of_;  ///< by visit
  std::vector<OfIsland> of_;
  LandingPlace place_;
};

void IslandPlace::count() {
  of_.assign(islands_.all().size(), {});
  island_of_.reserve(log_.visits().size());
  for (const Visit& visit : log_.visits()) {
    const std::int32_t at = visit.elsewhere ? Islands::kNone : islands_.at(visit.x_mm, visit.y_mm);
    island_of_.push_back(at == Islands::kNone ? kNowhere : static_cast<std::size_t>(at));
    if (at == Islands::kNone)
      continue;
    OfIsland& island = of_[static_cast<std::size_t>(at)];
    ++island.visits;
    island.behind_swap += visit.rank != kNoRank;
    island.before_swaps += visit.segment == 0;
    island.landings += visit.leads;
    island.mm += visit.part_mm;
  }
}

std::vector<IslandPlace::Group> IslandPlace::groups() const {
  std::vector<std::size_t> landed;
  for (std::size_t i = 0; i < of_.size(); ++i)
    if (of_[i].landings > 0)
      landed.push_back(i);
  std::stable_sort(landed.begin(), landed.end(), [this](std::size_t a, std::size_t b) {
    return of_[a].landings > of_[b].landings;
  });
  if (landed.size() > kMostIslands)
    landed.resize(kMostIslands);
  std::vector<Group> groups;
  const auto only_landed_on = [this](std::size_t island) {
    return 2 * of_[island].behind_swap >= of_[island].visits;
  };
  for (const std::size_t island : landed) {
    Group joined{{island}, islands_.all()[island].box, of_[island].landings};
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
std::size_t IslandPlace::count_landed() const {
  std::size_t landed = 0;
  for (std::size_t s = 1; s < log_.segments().size(); ++s) {
    std::size_t i = log_.segments()[s].first_visit;
    const std::size_t last = end_of_segment(log_, s);
    while (i < last && is_one_off(i))
      ++i;
    landed += i < last && holds(i);
  }
  return landed;
}

/// The fewest groups, the busiest first, that nearly all swaps lead to; no more than there are
/// tools.
bool IslandPlace::choose() {
  const std::size_t most = std::max<std::size_t>(landing_tools(log_).size(), 1);
  const auto enough = kLanded * static_cast<double>(count_swaps(log_));
  for (const Group& group : groups()) {
    if (place_.boxes.size() >= most)
      return false;
    for (const std::size_t island : group.islands)
      of_[island].is_place = true;
    place_.boxes.push_back(group.box);
    if (static_cast<double>(count_landed()) >= enough)
      return true;
  }
  return false;
}

/// Rings of a thin fill, a rib.
void IslandPlace::add_what_lies_within() {
  for (std::size_t i = 0; i < of_.size(); ++i)
    of_[i].is_place = of_[i].is_place ||
                      std::any_of(place_.boxes.begin(), place_.boxes.end(), [&](const Box& box) {
                        return islands_.all()[i].box.lies_in(box, kEdgeMm);
                      });
}

std::size_t IslandPlace::count_twins() const {
  const auto differ = [](double a, double b, double share) {
    return std::abs(a - b) > share * std::max(a, b);
  };
  std::size_t twins = 0;
  for (std::size_t i = 0; i < of_.size(); ++i) {
    if (!of_[i].is_place)
      continue;
    const Island& own = islands_.all()[i];
    for (std::size_t k = 0; k < of_.size(); ++k) {
      const Island& other = islands_.all()[k];
      twins += !of_[k].is_place && !differ(of_[i].mm, of_[k].mm, kSameMm) &&
               !differ(own.cells, other.cells, kSameCells) &&
               std::abs(own.box.width_mm() - other.box.width_mm()) < kSameSizeMm &&
               std::abs(own.box.depth_mm() - other.box.depth_mm()) < kSameSizeMm;
    }
  }
  return twins;
}

LandingPlace IslandPlace::find() {
  count();
  place_.found = count_swaps(log_) > 0 && choose();
  if (place_.found) {
    add_what_lies_within();
    place_.twins = count_twins();
  }
  for (std::size_t i = 0; i < log_.visits().size(); ++i) {
    place_.holds.push_back(holds(i));
    place_.on_the_way.push_back(is_one_off(i));
  }
  for (std::size_t s = 1; s < log_.segments().size(); ++s) {
    const std::size_t first = log_.segments()[s].first_visit;
    const std::size_t last = end_of_segment(log_, s);
    std::size_t i = first;
    while (i < last && place_.on_the_way[i])
      ++i;
    if (i == last || !place_.holds[i])  // it leads elsewhere
      std::fill(place_.on_the_way.begin() + static_cast<std::ptrdiff_t>(first),
                place_.on_the_way.begin() + static_cast<std::ptrdiff_t>(i), false);
  }
  return place_;
}

// Boxes.

struct Joined {
  Box box;
  std::size_t landings = 0;
};

/// Joins landings to places, the busiest first.
std::vector<Joined> join_landings(const DepositLog& log) {
  std::vector<Joined> places;
  for (const Visit& visit : log.visits()) {
    if (!visit.leads)
      continue;
    Joined joined{visit.box, 1};
    std::erase_if(places, [&joined](const Joined& place) {
      if (!place.box.meets(joined.box, kJoinBoxesMm))
        return false;
      joined.box.include(place.box);
      joined.landings += place.landings;
      return true;
    });
    if (places.size() < kMostBoxes)
      places.push_back(joined);
  }
  std::stable_sort(places.begin(), places.end(),
                   [](const Joined& a, const Joined& b) { return a.landings > b.landings; });
  return places;
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
      if (visit.elsewhere || visit.box.lies_in(place, kEdgeMm) ||
          covered_share(visit.box, place) < kCovered)
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
         std::abs(a.part_mm - b.part_mm) <= kSameMm * a.part_mm;
}

/// Landings that their own tool repeats elsewhere before the next swap.
std::size_t repeated_landings(const DepositLog& log, const LandingPlace& place) {
  std::size_t repeated = 0;
  for (std::size_t s = 1; s < log.segments().size(); ++s) {
    const std::size_t first = log.segments()[s].first_visit;
    bool twin = false;
    for (std::size_t i = first; i < end_of_segment(log, s); ++i)
      twin = twin || (!place.holds[i] && same_size(log.visits()[first], log.visits()[i]));
    repeated += twin;
  }
  return repeated;
}

}  // namespace

std::size_t end_of_segment(const DepositLog& log, std::size_t segment) {
  const auto& segments = log.segments();
  return segment + 1 < segments.size() ? segments[segment + 1].first_visit : log.visits().size();
}

LandingPlace place_of_islands(const DepositLog& log) {
  return IslandPlace(log).find();
}

LandingPlace place_of_marks(const DepositLog& log, double& marked_share) {
  constexpr double kHalf = 0.5;
  const Islands islands = log.islands();
  std::vector<double> marked_mm(islands.all().size(), 0.0);
  std::vector<double> other_mm(islands.all().size(), 0.0);
  for (const MarkedDeposit& deposit : log.marked())
    if (const std::int32_t at = islands.at(deposit.x_mm, deposit.y_mm); at != Islands::kNone)
      marked_mm[static_cast<std::size_t>(at)] += deposit.mm;
  std::vector<std::int32_t> island_of;
  for (const Visit& visit : log.visits()) {
    island_of.push_back(visit.elsewhere ? Islands::kNone : islands.at(visit.x_mm, visit.y_mm));
    if (island_of.back() != Islands::kNone)
      other_mm[static_cast<std::size_t>(island_of.back())] += visit.part_mm;
  }
  LandingPlace place;
  double marked = 0.0;
  double other = 0.0;
  std::vector<bool> is_place(islands.all().size(), false);
  for (std::size_t i = 0; i < is_place.size(); ++i) {
    is_place[i] = other_mm[i] > 0.0 && marked_mm[i] >= kHalf * (marked_mm[i] + other_mm[i]);
    if (!is_place[i])
      continue;
    marked += marked_mm[i];
    other += other_mm[i];
    place.boxes.push_back(islands.all()[i].box);
  }
  marked_share = marked > 0.0 ? marked / (marked + other) : 0.0;
  place.found = !place.boxes.empty();
  place.on_the_way.assign(log.visits().size(), false);
  for (const std::int32_t island : island_of)
    place.holds.push_back(island != Islands::kNone && is_place[static_cast<std::size_t>(island)]);
  return place;
}

LandingPlace place_of_boxes(const DepositLog& log) {
  constexpr std::size_t kTwins = 5;  // one of so many landings
  LandingPlace place;
  place.on_the_way.assign(log.visits().size(), false);
  const std::vector<Joined> joined = join_landings(log);
  const std::size_t swaps = count_swaps(log);
  if (joined.empty() ||
      static_cast<double>(joined.front().landings) < kLanded * static_cast<double>(swaps)) {
    place.holds.assign(log.visits().size(), false);
    return place;
  }
  Box box = joined.front().box;
  grow(log, box);
  for (const Visit& visit : log.visits())
    place.holds.push_back(!visit.elsewhere && visit.box.lies_in(box, kEdgeMm));
  place.boxes = {box};
  const std::size_t repeated = repeated_landings(log, place);
  place.twins = kTwins * repeated >= swaps ? repeated : 0;
  place.found = true;
  return place;
}

}  // namespace platetally::swaps
