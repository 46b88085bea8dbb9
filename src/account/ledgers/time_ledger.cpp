#include "account/ledgers/time_ledger.hpp"

namespace platetally::ledgers {

namespace {

using interpreter::RecordKind;

double& seconds_of_move(TimeBy& layer, const interpreter::Record& record, swaps::Use use) {
  if (use == swaps::Use::purge)
    return layer.swap_s;
  if (record.move.is_stationary())
    return layer.other_s;
  return interpreter::lays_material(record) ? layer.print_s : layer.travel_s;
}

}  // namespace

void TimeLedger::add(const interpreter::Record& record, const timeline::Duration& duration,
                     const swaps::Feed& feed) {
  TimeBy& layer = layer_of(record);
  total_ += duration.time_s;
  add_causes(duration);
  if (record.kind == RecordKind::move) {
    seconds_of_move(layer, record, feed.use) += record.motion_s;
    layer.other_s += duration.time_s.expected - record.motion_s;
    return;
  }
  pauses_ += record.kind == RecordKind::pause ? 1U : 0U;
  const double expected_s = duration.time_s.expected;
  if (duration.cause == timeline::Cause::swap)
    layer.swap_s += expected_s;
  else
    layer.other_s += expected_s;
}

void TimeLedger::add_move(const interpreter::Record& record, const swaps::Feed& feed) {
  const Range seconds = Range::exactly(record.motion_s);
  total_ += seconds;
  by_cause_[static_cast<std::size_t>(timeline::Cause::motion)] += seconds;
  seconds_of_move(layer_of(record), record, feed.use) += record.motion_s;
}

void TimeLedger::add_strokes(std::uint32_t layer, double motion_s) {
  const Range seconds = Range::exactly(motion_s);
  total_ += seconds;
  by_cause_[static_cast<std::size_t>(timeline::Cause::motion)] += seconds;
  layers_[layer].print_s += motion_s;
}

void TimeLedger::add_causes(const timeline::Duration& duration) {
  Range& main = by_cause_[static_cast<std::size_t>(duration.cause)];
  main += duration.time_s;
  main += -1.0 * duration.long_swap_s;
  main += -1.0 * duration.start_s;
  by_cause_[static_cast<std::size_t>(timeline::Cause::long_swap)] += duration.long_swap_s;
  by_cause_[static_cast<std::size_t>(timeline::Cause::start_and_end)] += duration.start_s;
  start_ += duration.start_s;
}

void TimeLedger::note_stop(Stop of, std::uint32_t layer) {
  if (++stops_in_all_ > kMostStops)
    return;
  of.layer = layer;
  of.after = total_;
  of.after += band_of_motion(motion_s());
  stops_.push_back(std::move(of));
}

void TimeLedger::begin_print() {
  if (prints_)
    return;
  prints_ = true;
  before_print_ = counted();
  motion_before_print_s_ = motion_s();
}

/// What print logs count of all seconds so far, heat waits apart.
Range TimeLedger::counted() const {
  Range counted = total_;
  counted += -1.0 * start_;
  for (const timeline::Cause cause :
       {timeline::Cause::homing, timeline::Cause::probing, timeline::Cause::pause})
    counted += -1.0 * of_cause(cause);
  return counted;
}

/// Told from 72 timed prints of six machines whose limits were known (docs/accuracy.md): nine of
/// ten lie within these. Nearly all took somewhat longer than their moves; what the seconds more
/// are, end macros and the log's own, does not grow with the print.
Range TimeLedger::band_of_motion(double motion_s) {
  constexpr double kShare = 0.012;
  constexpr double kMore_s = 3.0;
  if (!(motion_s > 0.0))
    return {};
  return {-kShare * motion_s, 0.0, kShare * motion_s + kMore_s};
}

Range TimeLedger::of_print() const {
  if (!prints_)
    return {};
  Range seconds = counted();
  seconds += -1.0 * before_print_;
  return seconds;
}

void TimeLedger::move_to_swap(std::uint32_t layer, double print_s) {
  layers_[layer].print_s -= print_s;
  layers_[layer].swap_s += print_s;
}

}  // namespace platetally::ledgers
