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

void TimeLedger::add(const motion::TimedRecord& timed, const timeline::Duration& duration,
                     const swaps::Feed& feed) {
  const interpreter::Record& record = timed.record;
  TimeBy& layer = layer_of(record);
  total_ += duration.time_s;
  add_causes(duration);
  if (record.kind == RecordKind::move) {
    seconds_of_move(layer, record, feed.use) += timed.motion_s;
    layer.other_s += duration.time_s.expected - timed.motion_s;
    return;
  }
  pauses_ += record.kind == RecordKind::pause ? 1U : 0U;
  const double expected_s = duration.time_s.expected;
  if (duration.cause == timeline::Cause::swap)
    layer.swap_s += expected_s;
  else
    layer.other_s += expected_s;
}

void TimeLedger::add_move(const motion::TimedRecord& timed, const swaps::Feed& feed) {
  const Range seconds = Range::exactly(timed.motion_s);
  total_ += seconds;
  by_cause_[static_cast<std::size_t>(timeline::Cause::motion)] += seconds;
  seconds_of_move(layer_of(timed.record), timed.record, feed.use) += timed.motion_s;
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

void TimeLedger::merge(const TimeLedger& other) {
  if (layers_.size() < other.layers_.size())
    layers_.resize(other.layers_.size());
  for (std::size_t i = 0; i < other.layers_.size(); ++i) {
    layers_[i].print_s += other.layers_[i].print_s;
    layers_[i].travel_s += other.layers_[i].travel_s;
    layers_[i].swap_s += other.layers_[i].swap_s;
    layers_[i].heat_wait_s += other.layers_[i].heat_wait_s;
    layers_[i].other_s += other.layers_[i].other_s;
  }
  if (!prints_ && other.prints_) {
    before_print_ = counted();
    before_print_ += other.before_print_;
    motion_before_print_s_ = motion_s() + other.motion_before_print_s_;
    prints_ = true;
  }
  pauses_ += other.pauses_;
  total_ += other.total_;
  start_ += other.start_;
  for (std::size_t cause = 0; cause < by_cause_.size(); ++cause)
    by_cause_[cause] += other.by_cause_[cause];
}

}  // namespace platetally::ledgers
