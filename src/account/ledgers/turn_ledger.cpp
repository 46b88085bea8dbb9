#include "account/ledgers/turn_ledger.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

namespace platetally::ledgers {

using interpreter::RecordKind;

namespace {

constexpr double kRounding_mm = 1e-9;

}  // namespace

std::uint32_t TurnLedger::add(const interpreter::Record& record, const timeline::Duration& duration,
                              const swaps::Feed& feed) {
  const bool takes_tool = duration.swap.selection != timeline::Selection::none;
  const auto tool = takes_tool ? static_cast<std::int16_t>(duration.swap.to) : record.tool;
  const bool swaps = duration.swap.selection == timeline::Selection::swap;
  if (swaps || tool != turns_.back().tool || record.layer != turns_.back().layer)
    begin(tool, record.layer, swaps ? static_cast<std::int16_t>(duration.swap.from) : -1);
  Turn& turn = turns_.back();
  if (record.kind == RecordKind::move) {
    add_motion(record, feed);
    turn.still_s += duration.time_s.expected - record.motion_s;
  } else if (swaps) {
    turn.still_s += duration.start_s.expected;
  } else {
    turn.still_s += duration.time_s.expected;
  }
  return current();
}

void TurnLedger::begin(std::int16_t tool, std::uint32_t layer, std::int16_t from) {
  if (overflows_ || turns_.size() >= kMostTurns) {
    overflows_ = true;
    turns_.resize(1);
  }
  Turn turn;
  turn.tool = tool;
  turn.layer = layer;
  turn.from = from;
  turn.segment = turns_.back().segment + (from >= 0 ? 1 : 0);
  if (from >= 0) {
    laid_since_swap_ = false;
    is_landing_ = true;
    swapped_ = true;
  }
  turns_.push_back(turn);
}

/// Where a way leads, and how far it would have been without what lies between.
void TurnLedger::note_way(const interpreter::Record& record, bool lays, Turn& turn) {
  const interpreter::Move& move = record.move;
  if (lays_)
    laid_mm_ = {move.from_mm[0], move.from_mm[1]};
  if (swapped_)
    before_swap_mm_ = laid_mm_;
  swapped_ = false;
  lays_ = lays;
  if (lays) {
    laid_mm_ = {move.to_mm[0], move.to_mm[1]};
    return;
  }
  if (is_landing_ || turn.segment == 0)
    return;
  const double length_mm =
      std::hypot(move.to_mm[0] - move.from_mm[0], move.to_mm[1] - move.from_mm[1]);
  if (length_mm <= double{turn.way_mm})
    return;
  turn.way_mm = static_cast<float>(length_mm);
  turn.way_s = static_cast<float>(record.motion_s);
  turn.way_feed_mm_s = static_cast<float>(move.feed_mm_s);
  turn.direct_mm = static_cast<float>(
      std::hypot(move.to_mm[0] - before_swap_mm_[0], move.to_mm[1] - before_swap_mm_[1]));
}

void TurnLedger::add_motion(const interpreter::Record& record, const swaps::Feed& feed) {
  const bool lays = interpreter::lays_material(record);
  Turn& turn = turns_.back();
  if (!record.move.is_above_one_place())
    note_way(record, lays, turn);
  turn.fed_mm += record.tool >= 0 ? record.move.e_mm : 0.0;
  turn.melted_mm += feed.fresh_mm;
  is_landing_ = is_landing_ && !lays;
  if (feed.use == swaps::Use::purge) {
    // What is laid behind the part keeps a tower standing; what is fed at rest is a swap's.
    const bool is_filler = lays && laid_since_swap_;
    (is_filler ? turn.filler_mm : turn.purge_mm) += feed.fresh_mm + feed.earlier_mm;
    (is_filler ? turn.filler_s : turn.purge_s) += record.motion_s;
    turn.purge_stands = turn.purge_stands || (lays && feed.mark == swaps::Mark::comment);
    return;
  }
  if (feed.use == swaps::Use::start_up)
    turn.start_up_mm += feed.fresh_mm + feed.earlier_mm;
  if (record.move.is_stationary())
    turn.rest_s += record.motion_s;
  else
    (lays ? turn.print_s : turn.travel_s) += record.motion_s;
  if (is_landing_)
    (record.move.is_stationary() ? turn.landing_rest_s : turn.landing_travel_s) += record.motion_s;
  laid_since_swap_ = laid_since_swap_ || (lays && feed.use == swaps::Use::part);
}

/// The turn in [first, end) that fits. They are asked for in the order of printing but for a few,
/// so the search goes on where the last one was found, and begins anew if that finds none.
template <typename Fits>
Turn* TurnLedger::find(std::size_t first, std::size_t end, std::size_t& last_found,
                       const Fits& fits) {
  const auto at = [this](std::size_t i) { return turns_.begin() + static_cast<std::ptrdiff_t>(i); };
  auto found = std::find_if(at(std::clamp(last_found, first, end)), at(end), fits);
  if (found == at(end))
    found = std::find_if(at(first), at(end), fits);
  if (found == at(end))
    return nullptr;
  last_found = static_cast<std::size_t>(found - turns_.begin());
  return &*found;
}

Turn* TurnLedger::turn_of(const swaps::Recounted& filament) {
  const auto has = [&filament](const Turn& turn) {
    const bool was_start_up = filament.was == swaps::Use::start_up;
    const double mm = was_start_up ? turn.start_up_mm : turn.part_mm();
    return turn.layer == filament.layer && mm + kRounding_mm >= filament.mm;
  };
  if (!filament.segment)
    return find(0, turns_.size(), found_of_tool_, [&](const Turn& turn) {
      return turn.tool == static_cast<std::int16_t>(filament.tool) && has(turn);
    });
  const auto of_segment = std::ranges::equal_range(turns_, *filament.segment, {}, &Turn::segment);
  const auto index_of = [this](auto turn) {
    return static_cast<std::size_t>(turn - turns_.begin());
  };
  return find(index_of(of_segment.begin()), index_of(of_segment.end()), found_of_segment_, has);
}

void TurnLedger::recount(const swaps::Recounted& filament) {
  Turn* const turn = turn_of(filament);
  if (turn == nullptr)
    return;
  const bool was_start_up = filament.was == swaps::Use::start_up;
  if (was_start_up)
    turn->start_up_mm -= filament.mm;
  turn->print_s -= filament.print_s;
  if (filament.is == swaps::Use::start_up) {
    turn->start_up_mm += filament.mm;
    return;
  }
  // Start-up that is purge was laid where a tower stands later: its foot.
  const bool is_filler = was_start_up || filament.only_keeps_standing;
  (is_filler ? turn->filler_mm : turn->purge_mm) += filament.mm;
  (is_filler ? turn->filler_s : turn->purge_s) += filament.print_s;
  turn->purge_stands = turn->purge_stands || was_start_up || filament.mark == swaps::Mark::tower;
}

std::vector<Turn> TurnLedger::take() {
  if (overflows_)
    return {};
  return std::exchange(turns_, std::vector<Turn>(1));
}

}  // namespace platetally::ledgers
