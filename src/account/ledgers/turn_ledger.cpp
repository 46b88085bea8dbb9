#include "account/ledgers/turn_ledger.hpp"

#include <algorithm>
#include <utility>

namespace platetally::ledgers {

using interpreter::RecordKind;

std::uint32_t TurnLedger::add(const motion::TimedRecord& timed, const timeline::Duration& duration,
                              const swaps::Feed& feed) {
  const interpreter::Record& record = timed.record;
  const bool takes_tool = duration.swap.selection != timeline::Selection::none;
  const auto tool = takes_tool ? static_cast<std::int16_t>(duration.swap.to) : record.tool;
  const bool swaps = duration.swap.selection == timeline::Selection::swap;
  if (swaps || tool != turns_.back().tool || record.layer != turns_.back().layer)
    begin(tool, record.layer, swaps ? static_cast<std::int16_t>(duration.swap.from) : -1);
  Turn& turn = turns_.back();
  if (record.kind == RecordKind::move) {
    add_motion(timed, feed);
    turn.still_s += duration.time_s.expected - timed.motion_s;
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
  }
  turns_.push_back(turn);
}

void TurnLedger::add_motion(const motion::TimedRecord& timed, const swaps::Feed& feed) {
  const interpreter::Record& record = timed.record;
  const bool lays = interpreter::lays_material(record);
  Turn& turn = turns_.back();
  turn.fed_mm += record.tool >= 0 ? record.move.e_mm : 0.0;
  turn.melted_mm += feed.fresh_mm;
  is_landing_ = is_landing_ && !lays;
  if (feed.use == swaps::Use::purge) {
    // What is laid behind the part keeps a tower standing; what is fed at rest is a swap's.
    const bool is_filler = lays && laid_since_swap_;
    (is_filler ? turn.filler_mm : turn.purge_mm) += feed.fresh_mm + feed.earlier_mm;
    (is_filler ? turn.filler_s : turn.purge_s) += timed.motion_s;
    turn.purge_stands = turn.purge_stands || (lays && feed.mark == swaps::Mark::comment);
    return;
  }
  if (feed.use == swaps::Use::start_up)
    turn.start_up_mm += feed.fresh_mm + feed.earlier_mm;
  if (record.move.is_stationary())
    turn.rest_s += timed.motion_s;
  else
    (lays ? turn.print_s : turn.travel_s) += timed.motion_s;
  if (is_landing_)
    (record.move.is_stationary() ? turn.landing_rest_s : turn.landing_travel_s) += timed.motion_s;
  laid_since_swap_ = laid_since_swap_ || (lays && feed.use == swaps::Use::part);
}

std::size_t TurnLedger::find_with_part(std::size_t from, std::uint32_t segment, std::uint32_t layer,
                                       double part_mm) const {
  constexpr double kRounding_mm = 1e-9;
  for (std::size_t i = from; i < turns_.size() && turns_[i].segment == segment; ++i)
    if (turns_[i].layer == layer && turns_[i].part_mm() + kRounding_mm >= part_mm)
      return i;
  return turns_.size();
}

void TurnLedger::move_to_tower(std::uint32_t segment, std::uint32_t layer, bool is_filler,
                               double part_mm, double print_s) {
  const auto first = static_cast<std::size_t>(
      std::ranges::lower_bound(turns_, segment, {}, &Turn::segment) - turns_.begin());
  // Visits come in the order of turns, but for a tool that lays on the tower twice in one layer.
  std::size_t at = find_with_part(std::max(first, looked_at_), segment, layer, part_mm);
  if (at == turns_.size())
    at = find_with_part(first, segment, layer, part_mm);
  if (at == turns_.size())
    return;
  looked_at_ = at;
  Turn& turn = turns_[at];
  turn.print_s -= print_s;
  (is_filler ? turn.filler_s : turn.purge_s) += print_s;
  (is_filler ? turn.filler_mm : turn.purge_mm) += part_mm;
  turn.purge_stands = true;
}

void TurnLedger::move_start_up_to_purge(std::uint32_t layer, std::size_t tool, double start_up_mm) {
  for (Turn& turn : turns_)
    if (turn.layer == layer && turn.tool == static_cast<std::int16_t>(tool) &&
        turn.start_up_mm + 1e-9 >= start_up_mm) {
      turn.start_up_mm -= start_up_mm;
      turn.filler_mm += start_up_mm;
      turn.purge_stands = true;
      return;
    }
}

Turn* TurnLedger::find_early(std::uint32_t layer, std::size_t tool, double part_mm) {
  constexpr double kRounding_mm = 1e-9;
  const auto fits = [&](const Turn& turn) {
    return turn.layer == layer && turn.tool == static_cast<std::int16_t>(tool) &&
           turn.part_mm() + kRounding_mm >= part_mm;
  };
  // They come in the order of turns, so the search goes on where the last one was found.
  auto found =
      std::find_if(turns_.begin() + static_cast<std::ptrdiff_t>(early_at_), turns_.end(), fits);
  if (found == turns_.end())
    found = std::find_if(turns_.begin(), turns_.end(), fits);
  if (found == turns_.end())
    return nullptr;
  early_at_ = static_cast<std::size_t>(found - turns_.begin());
  return &*found;
}

void TurnLedger::move_part_to_purge(std::uint32_t layer, std::size_t tool, double part_mm) {
  if (Turn* turn = find_early(layer, tool, part_mm))
    turn->purge_mm += part_mm;
}

void TurnLedger::move_part_to_start_up(std::uint32_t layer, std::size_t tool, double part_mm) {
  if (Turn* turn = find_early(layer, tool, part_mm))
    turn->start_up_mm += part_mm;
}

std::vector<Turn> TurnLedger::take() {
  if (overflows_)
    return {};
  return std::exchange(turns_, std::vector<Turn>(1));
}

}  // namespace platetally::ledgers
