#include "material/swaps/deposit_log.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <span>

#include "base/give_back.hpp"
#include "base/units.hpp"

namespace platetally::swaps {

using interpreter::Record;
using interpreter::RecordKind;

namespace {

constexpr std::size_t kMostVisits = 100'000;
constexpr std::size_t kMostSegments = 200'000;
constexpr std::size_t kMostMarked = 50'000;
constexpr float kBesideMm = 2.0F;    // a visit that begins so near to the landing goes on with it
constexpr float kLongestMm = 80.0F;  // a landing that has grown longer grows no more
constexpr double kClosedMm = 0.8;    // a path that ends so near to its beginning is a loop
constexpr float kLoopMm = 1.5F;      // and is at least so large
constexpr double kCandidate = 0.05;  // of the landings: in a place of fewer there is no tower
// Layers behind the first swap that are drawn: all of the first ones, then some of many.
constexpr std::uint32_t kAllLayers = 6;
constexpr std::uint32_t kOfLayers = 48;
constexpr std::uint32_t kSomeLayers = 3;

double bead_mm(const Machine& machine) {
  double widest_mm = 0.4;
  for (const Head& head : machine.heads)
    widest_mm = std::max(widest_mm, head.nozzle_diameter_mm);
  return 1.25 * std::min(widest_mm, 2.0);
}

}  // namespace

DepositLog::DepositLog(const Machine& machine)
    : mm3_per_mm_(base::filament_area_mm2(machine.tools.front().filament_diameter_mm)),
      keeps_(machine.tools.size() > 1),
      map_(bead_mm(machine)),
      segments_(1) {}

void DepositLog::begin_segment(const timeline::Swap& swap) {
  if (segments_.size() == 1)
    first_swap_layer_ = newest_layer_;
  if (segments_.size() >= kMostSegments)
    drop_segments();
  Segment segment;
  segment.from = swap.from;
  segment.to = swap.to;
  segment.first_visit = visits_.size();
  segments_.push_back(segment);
}

void DepositLog::take(const interpreter::Record& record, const timeline::Swap& swap,
                      const Feed& feed) {
  if (!keeps_)
    return;
  if (swap.selection == timeline::Selection::swap) {
    end_visit();
    begin_segment(swap);
    leading_ = true;
  }
  if (feed.use == Use::purge || feed.use == Use::start_up)
    take_purge(record, feed);
  else
    laying_marked_ = false;
  if (record.kind != RecordKind::move || record.move.is_above_one_place())
    return;
  if (!interpreter::lays_material(record) || feed.use != Use::part) {
    end_visit();
    return;
  }
  if (!laying_ || visits_.empty() || visits_.back().layer != record.layer)
    begin_visit(record);
  laying_ = true;
  Visit& visit = visits_.back();
  visit.part_mm += feed.fresh_mm;
  visit.print_s += record.motion_s;
  draw_move(record.move);
  x_mm_ = record.move.to_mm[0];
  y_mm_ = record.move.to_mm[1];
}

void DepositLog::take_purge(const Record& record, const Feed& feed) {
  if (leading_)
    segments_.back().purged_mm += feed.fresh_mm + feed.earlier_mm;
  const interpreter::Move& move = record.move;
  if (feed.mark != Mark::comment || move.is_above_one_place())
    return;
  segments_.back().marked_on_bed = true;
  if (!laying_marked_ && marked_.size() < kMostMarked)
    marked_.push_back(
        {static_cast<float>(move.from_mm[0]), static_cast<float>(move.from_mm[1]), 0.0});
  laying_marked_ = true;
  marked_.back().mm += feed.fresh_mm;
  Relaid none;
  map_.draw(move.from_mm[0], move.from_mm[1], move.to_mm[0], move.to_mm[1],
            {record.layer, record.tool, kNoRank}, none);
}

void DepositLog::add_strokes(const Box& box, double part_mm, double print_s, double x_mm,
                             double y_mm) {
  if (!keeps_)
    return;
  Visit& visit = visits_.back();
  visit.box.include(box);
  visit.part_mm += part_mm;
  visit.print_s += print_s;
  x_mm_ = x_mm;
  y_mm_ = y_mm;
}

bool DepositLog::draws_in(std::uint32_t layer) const {
  if (segments_.size() == 1)
    return layer <= 2;
  const std::uint32_t since = layer - std::min(layer, first_swap_layer_);
  return since < kAllLayers || since % kOfLayers < kSomeLayers;
}

void DepositLog::begin_visit(const Record& record) {
  end_visit();
  if (visits_.size() >= kMostVisits)
    compact();
  if (record.layer > newest_layer_) {
    newest_layer_ = record.layer;
    if (record.move.to_mm[2] > 0.0)
      layer_mm_ = std::max(0.05, record.move.to_mm[2] / record.layer);
    landings_in_layer_ = 0;
  }
  Visit visit;
  visit.layer = record.layer;
  visit.segment = static_cast<std::uint32_t>(segments_.size() - 1);
  visit.tool = record.tool;
  visit.leads = leading_;
  visit.x_mm = static_cast<float>(record.move.from_mm[0]);
  visit.y_mm = static_cast<float>(record.move.from_mm[1]);
  visit.z_mm = static_cast<float>(record.move.to_mm[2]);
  Box begin;
  begin.include(record.move.from_mm[0], record.move.from_mm[1]);
  if (leading_) {
    landing_ = begin;
    landings_in_layer_ = static_cast<std::uint8_t>(std::min(landings_in_layer_ + 1, 250));
  } else if (!landing_.empty() && !begin.lies_in(landing_, kBesideMm)) {
    landing_ = {};
  }
  if (!landing_.empty())
    visit.rank = static_cast<std::uint8_t>(landings_in_layer_ - 1);
  draws_ = !landing_.empty() || draws_in(record.layer);
  leading_ = false;
  visits_.push_back(visit);
}

void DepositLog::end_visit() {
  if (!laying_)
    return;
  laying_ = false;
  Visit& visit = visits_.back();
  visit.closed = std::hypot(x_mm_ - static_cast<double>(visit.x_mm),
                            y_mm_ - static_cast<double>(visit.y_mm)) < kClosedMm &&
                 std::max(visit.box.width_mm(), visit.box.depth_mm()) > kLoopMm;
  if (landing_.empty() || std::max(landing_.width_mm(), landing_.depth_mm()) > kLongestMm)
    return;
  landing_.include(visit.box);
}

void DepositLog::draw_line(double from_x_mm, double from_y_mm, double to_x_mm, double to_y_mm) {
  if (!draws_)
    return;
  Visit& visit = visits_.back();
  map_.draw(from_x_mm, from_y_mm, to_x_mm, to_y_mm, {visit.layer, visit.tool, visit.rank},
            visit.relaid);
}

void DepositLog::draw(const interpreter::Rows& rows, std::size_t first, std::size_t last) {
  if (!keeps_ || !draws_)
    return;
  for (std::size_t i = first; i < last; ++i)
    draw_line(rows.from_x_mm(i), rows.from_y_mm(i), rows.to_x_mm[i], rows.to_y_mm[i]);
}

/// A straight line, or an arc in chords of about a bead's width; the visit's box too.
void DepositLog::draw_move(const interpreter::Move& move) {
  constexpr double kChordMm = 0.5;
  constexpr double kMostChords = 720.0;
  Box& box = visits_.back().box;
  double x_mm = move.from_mm[0];
  double y_mm = move.from_mm[1];
  box.include(x_mm, y_mm);
  if (move.is_arc() && move.plane == interpreter::Plane::xy) {
    const double across_mm = x_mm - move.centre_mm[0];
    const double along_mm = y_mm - move.centre_mm[1];
    const double length_mm = std::hypot(across_mm, along_mm) * std::abs(move.sweep_rad);
    const int chords =
        static_cast<int>(std::clamp(std::ceil(length_mm / kChordMm), 8.0, kMostChords));
    for (int chord = 1; chord < chords; ++chord) {
      const double angle_rad = move.sweep_rad * chord / chords;
      const double cosine = std::cos(angle_rad);
      const double sine = std::sin(angle_rad);
      const double next_x_mm = move.centre_mm[0] + cosine * across_mm - sine * along_mm;
      const double next_y_mm = move.centre_mm[1] + sine * across_mm + cosine * along_mm;
      draw_line(x_mm, y_mm, next_x_mm, next_y_mm);
      x_mm = next_x_mm;
      y_mm = next_y_mm;
      box.include(x_mm, y_mm);
    }
  }
  draw_line(x_mm, y_mm, move.to_mm[0], move.to_mm[1]);
  box.include(move.to_mm[0], move.to_mm[1]);
}

void DepositLog::forget() {
  base::give_back(visits_);
  base::give_back(segments_);
  base::give_back(marked_);
  map_.forget();
}

namespace {

void add(std::uint16_t& to, std::uint16_t count) {
  to = static_cast<std::uint16_t>(std::min(to + count, 65535));
}

void join(Visit& to, const Visit& visit) {
  to.box.include(visit.box);
  to.closed = to.closed && visit.closed;
  add(to.relaid.same, visit.relaid.same);
  add(to.relaid.changed, visit.relaid.changed);
  add(to.relaid.changed_in_order, visit.relaid.changed_in_order);
  add(to.relaid.same_on_carried, visit.relaid.same_on_carried);
  add(to.relaid.changed_on_carried, visit.relaid.changed_on_carried);
  to.part_mm += visit.part_mm;
  to.print_s += visit.print_s;
}

}  // namespace

void DepositLog::compact() {
  const Islands found = islands();
  join_elsewhere(found);
  if (visits_.size() > kMostVisits / 2)
    drop_oldest(found);
}

void DepositLog::join_elsewhere(const Islands& found) {
  std::vector<std::int32_t> island_of(visits_.size());
  std::vector<std::size_t> landings(found.all().size() + 1, 0);
  std::size_t all_landings = 0;
  for (std::size_t i = 0; i < visits_.size(); ++i) {
    island_of[i] = found.at(visits_[i].x_mm, visits_[i].y_mm);
    if (!visits_[i].leads)
      continue;
    ++all_landings;
    if (island_of[i] != Islands::kNone)
      ++landings[static_cast<std::size_t>(island_of[i])];
  }
  const auto is_candidate = [&](std::size_t i) {
    return !visits_[i].elsewhere && island_of[i] != Islands::kNone &&
           static_cast<double>(landings[static_cast<std::size_t>(island_of[i])]) >=
               kCandidate * static_cast<double>(all_landings);
  };
  // In place: what is kept moves towards the front.
  std::size_t kept = 0;
  std::int32_t last_island = Islands::kNone;
  std::vector<std::uint32_t> new_index(visits_.size() + 1, 0);
  for (std::size_t i = 0; i < visits_.size(); ++i) {
    const bool candidate = is_candidate(i);
    const std::int32_t island = candidate ? island_of[i] : Islands::kNone;
    Visit visit = visits_[i];
    visit.elsewhere = !candidate;
    const bool goes_on = kept > 0 && visits_[kept - 1].segment == visit.segment &&
                         visits_[kept - 1].layer == visit.layer && island == last_island &&
                         visits_[kept - 1].rank == visit.rank;
    if (goes_on)
      join(visits_[kept - 1], visit);
    else
      visits_[kept++] = visit;
    last_island = island;
    new_index[i] = static_cast<std::uint32_t>(kept - 1);
  }
  new_index[visits_.size()] = static_cast<std::uint32_t>(kept);
  for (Segment& segment : segments_)
    segment.first_visit = new_index[segment.first_visit];
  visits_.resize(kept);
}

/// Whole segments, unless a single one is longer than what may stay.
void DepositLog::drop_oldest(const Islands& found) {
  std::size_t count = visits_.size() - kMostVisits / 2;
  const auto next = std::ranges::lower_bound(segments_, count, {}, &Segment::first_visit);
  if (next != segments_.end() && next->first_visit < visits_.size())
    count = next->first_visit;
  drop_visits(count, found);
}

void DepositLog::drop_visits(std::size_t count, const Islands& found) {
  std::map<std::int32_t, DroppedDeposit> by_island;
  const auto add_early = [&](const DroppedDeposit& deposit) {
    const auto place = by_island.try_emplace(found.at(deposit.x_mm, deposit.y_mm), deposit);
    if (!place.second)
      place.first->second.mm += deposit.mm;
  };
  std::ranges::for_each(dropped_early_, add_early);
  for (const Visit& visit : std::span(visits_).first(count)) {
    if (visit.segment == 0)
      add_early({visit.x_mm, visit.y_mm, visit.part_mm});
    else if (!visit.elsewhere)
      dropped_mm_ += visit.part_mm;
  }
  dropped_early_.clear();
  for (const auto& [island, deposit] : by_island)
    if (island != Islands::kNone)
      dropped_early_.push_back(deposit);
  visits_.erase(visits_.begin(), visits_.begin() + static_cast<std::ptrdiff_t>(count));
  for (Segment& segment : segments_)
    segment.first_visit = segment.first_visit > count ? segment.first_visit - count : 0;
}

/// The older half, the first one apart, which stands for all that comes before the swaps.
void DepositLog::drop_segments() {
  const std::size_t dropped = kMostSegments / 2;
  drop_visits(segments_[1 + dropped].first_visit, islands());
  segments_.erase(segments_.begin() + 1,
                  segments_.begin() + 1 + static_cast<std::ptrdiff_t>(dropped));
  for (Visit& visit : visits_)
    visit.segment -= static_cast<std::uint32_t>(dropped);
  dropped_segments_ += static_cast<std::uint32_t>(dropped);
}

}  // namespace platetally::swaps
