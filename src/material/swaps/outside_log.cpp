#include "material/swaps/outside_log.hpp"

#include <algorithm>

namespace platetally::swaps {

namespace {

constexpr float kAway_mm = 2.0F;  // more than any bead is wide

}  // namespace

void OutsideLog::lay(const interpreter::Record& record, double fresh_mm, double motion_s) {
  const bool goes_on = !visits_.empty() && visits_.back().layer == record.layer &&
                       visits_.back().tool == record.tool &&
                       (laying_ || visits_.size() >= kMostVisits);
  if (!goes_on && visits_.size() < 2 * kMostVisits) {
    OutsideVisit visit;
    visit.layer = record.layer;
    visit.tool = record.tool;
    visit.from = last_swap_.from;
    visit.to = last_swap_.to;
    visit.on_way_back = on_way_back_;
    visits_.push_back(visit);
  }
  laying_ = true;
  OutsideVisit& visit = visits_.back();
  visit.on_way_back = visit.on_way_back && on_way_back_;
  visit.box.include(record.move.from_mm[0], record.move.from_mm[1]);
  visit.box.include(record.move.to_mm[0], record.move.to_mm[1]);
  visit.z_mm = std::max(visit.z_mm, record.move.to_mm[2]);
  visit.fed_mm += fresh_mm;
  visit.print_s += motion_s;
}

OutsideLog::Verdict OutsideLog::settle(const Box& inside) const {
  Verdict verdict;
  Box doubtful;
  for (const OutsideVisit& visit : visits_)
    if (!visit.on_way_back || inside.empty() || visit.box.meets(inside, kAway_mm))
      doubtful.include(visit.box);
  for (const OutsideVisit& visit : visits_) {
    const bool away = visit.on_way_back && !inside.empty() && !visit.box.meets(inside, kAway_mm) &&
                      (doubtful.empty() || !visit.box.meets(doubtful, kAway_mm));
    (away ? verdict.purge : verdict.doubtful).push_back(visit);
  }
  return verdict;
}

}  // namespace platetally::swaps
