#include "material/swaps/deposit_log.hpp"

#include <bit>
#include <cmath>

namespace platetally::swaps {

using interpreter::Record;
using interpreter::RecordKind;

namespace {

constexpr std::size_t kMostVisits = 200'000;
constexpr std::size_t kMostSegments = 200'000;
constexpr double kCellMm = 1.0;
constexpr double kWidestGridMm = 2000.0;
constexpr float kBesideMm = 2.0F;  // a stroke that begins so near to the landing goes on with it
constexpr float kReachMm = 4.0F;   // a visit farther than this from every landing is on no tower

int cells_across(double extent_mm) {
  return static_cast<int>(std::ceil(std::min(extent_mm, kWidestGridMm) / kCellMm)) + 1;
}

}  // namespace

DepositLog::DepositLog(const Machine& machine)
    : segments_(1),
      cells_x_min_mm_(machine.area.x_min_mm),
      cells_y_min_mm_(machine.area.y_min_mm),
      cell_columns_(cells_across(machine.area.x_max_mm - machine.area.x_min_mm)),
      cell_rows_(cells_across(machine.area.y_max_mm - machine.area.y_min_mm)) {
  tools_by_cell_.assign(
      static_cast<std::size_t>(cell_columns_) * static_cast<std::size_t>(cell_rows_), 0);
}

void DepositLog::take(const motion::TimedRecord& timed, const timeline::Swap& swap,
                      const Feed& feed) {
  const Record& record = timed.record;
  if (swap.selection == timeline::Selection::swap && segments_.size() < kMostSegments) {
    segments_.push_back({swap.from, swap.to, visits_.size(), {}});
    laying_ = false;
    leading_ = true;
  }
  if (record.kind != RecordKind::move || record.move.is_stationary())
    return;
  if (!interpreter::lays_material(record) || feed.use != Use::part) {
    laying_ = false;
    return;
  }
  if (!laying_ || visits_.empty() || visits_.back().layer != record.layer)
    begin_visit(record);
  laying_ = true;
  Visit& visit = visits_.back();
  visit.box.include(record.move.from_mm[0], record.move.from_mm[1]);
  visit.box.include(record.move.to_mm[0], record.move.to_mm[1]);
  visit.part_mm += feed.fresh_mm;
  visit.print_s += timed.motion_s;
  if (visit.leads)
    landing_.include(visit.box);
  if (!landing_.empty())
    mark_cells(record);
  if (!visit.leads) {
    segments_.back().elsewhere.include(record.move.from_mm[0], record.move.from_mm[1]);
    segments_.back().elsewhere.include(record.move.to_mm[0], record.move.to_mm[1]);
  }
}

void DepositLog::begin_visit(const Record& record) {
  if (visits_.size() >= kMostVisits)
    compact();
  Visit visit;
  visit.layer = record.layer;
  visit.segment = static_cast<std::uint32_t>(segments_.size() - 1);
  visit.tool = record.tool;
  visit.leads = leading_;
  if (leading_) {
    landing_ = {};
  } else if (!landing_.empty()) {
    Box begin;
    begin.include(record.move.from_mm[0], record.move.from_mm[1]);
    if (!begin.lies_in(landing_, kBesideMm))
      landing_ = {};
  }
  leading_ = false;
  visits_.push_back(visit);
}

void DepositLog::mark_cells(const Record& record) {
  const auto& from_mm = record.move.from_mm;
  const auto& to_mm = record.move.to_mm;
  const double dx_mm = to_mm[0] - from_mm[0];
  const double dy_mm = to_mm[1] - from_mm[1];
  const double longest_mm = std::max(std::abs(dx_mm), std::abs(dy_mm));
  const int samples = static_cast<int>(std::min(longest_mm, kWidestGridMm) / kCellMm) + 1;
  const std::uint32_t bit = 1U << (static_cast<unsigned>(record.tool) & 31U);
  for (int i = 0; i <= samples; ++i) {
    const double share = static_cast<double>(i) / samples;
    const double column = (from_mm[0] + share * dx_mm - cells_x_min_mm_) / kCellMm;
    const double row = (from_mm[1] + share * dy_mm - cells_y_min_mm_) / kCellMm;
    if (column >= 0.0 && column < cell_columns_ && row >= 0.0 && row < cell_rows_)
      tools_by_cell_[static_cast<std::size_t>(row) * static_cast<std::size_t>(cell_columns_) +
                     static_cast<std::size_t>(column)] |= bit;
  }
}

void DepositLog::compact() {
  // Keeps what lies near the places where tools land after a swap: the rest is on no tower.
  Box landings;
  for (const Visit& visit : visits_)
    if (visit.leads)
      landings.include(visit.box);
  std::vector<Visit> kept;
  kept.reserve(visits_.size());
  std::vector<std::size_t> new_index(visits_.size() + 1, 0);
  for (std::size_t i = 0; i < visits_.size(); ++i) {
    new_index[i] = kept.size();
    if (visits_[i].leads || visits_[i].box.meets(landings, kReachMm))
      kept.push_back(visits_[i]);
  }
  new_index[visits_.size()] = kept.size();
  for (Segment& segment : segments_)
    segment.first_visit = new_index[segment.first_visit];
  if (kept.size() > kMostVisits / 2) {
    // Landings all over the plate: no tower there. Forget all but the newest half.
    overflowed_ = true;
    const std::size_t dropped = kept.size() - kMostVisits / 2;
    kept.erase(kept.begin(), kept.begin() + static_cast<std::ptrdiff_t>(dropped));
    for (Segment& segment : segments_)
      segment.first_visit = segment.first_visit > dropped ? segment.first_visit - dropped : 0;
  }
  visits_ = std::move(kept);
}

double DepositLog::mixed_share(const Box& box) const {
  std::size_t touched = 0;
  std::size_t mixed = 0;
  for (int row = 0; row < cell_rows_; ++row) {
    const double y_mm = cells_y_min_mm_ + (row + 0.5) * kCellMm;
    if (y_mm < static_cast<double>(box.y_min_mm) || y_mm > static_cast<double>(box.y_max_mm))
      continue;
    for (int column = 0; column < cell_columns_; ++column) {
      const double x_mm = cells_x_min_mm_ + (column + 0.5) * kCellMm;
      if (x_mm < static_cast<double>(box.x_min_mm) || x_mm > static_cast<double>(box.x_max_mm))
        continue;
      const std::uint32_t tools =
          tools_by_cell_[static_cast<std::size_t>(row) * static_cast<std::size_t>(cell_columns_) +
                         static_cast<std::size_t>(column)];
      touched += tools != 0;
      mixed += std::popcount(tools) > 1;
    }
  }
  return touched == 0 ? 0.0 : static_cast<double>(mixed) / static_cast<double>(touched);
}

}  // namespace platetally::swaps
