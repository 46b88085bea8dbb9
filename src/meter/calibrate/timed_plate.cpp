#include "meter/calibrate/timed_plate.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <numeric>

#include "base/run_each.hpp"
#include "motion/planning/planner.hpp"
#include "motion/timeline/durations.hpp"
#include "platetally/analyze.hpp"
#include "reading/interpreter/interpreter.hpp"
#include "reading/interpreter/plate_reader.hpp"
#include "reading/source/block_reader.hpp"
#include "reading/source/open.hpp"

namespace platetally::calibrate {

namespace {

using interpreter::RecordKind;
using timeline::Cause;

class Keeper : public interpreter::RowSink {
 public:
  explicit Keeper(interpreter::RowQueue& rows) : rows_(rows) {}
  void take(const interpreter::Rows& rows) override { rows_.append(rows); }
  void take(const interpreter::Record& event) override { rows_.append(event); }

 private:
  interpreter::RowQueue& rows_;
};

/// Adds up seconds as the time ledger does, and nothing else.
class Clock : public interpreter::RowSink {
 public:
  explicit Clock(const Machine& machine)
      : machine_(machine), durations_(machine), planner_(machine, *this) {}

  interpreter::RowSink& planner() { return planner_; }
  void take(const interpreter::Record& event) override { take_one(event); }
  void take(const interpreter::Rows& rows) override {
    // What is a swap depends on who has laid material: of a run's strokes, the first one tells.
    const std::size_t alone = rows.run.kind == interpreter::RunKind::stroke ? 1 : rows.size;
    for (std::size_t i = 0; i < alone; ++i)
      take_one(rows.record(i));
    double sum_s = 0.0;
    for (std::size_t i = alone; i < rows.size; ++i)
      sum_s += rows.motion_s[i];
    add(sum_s, true);
  }
  void finish() { planner_.finish(); }

  const PlateTimes& times() const { return times_; }

 private:
  void take_one(const interpreter::Record& record);
  void add(double seconds, bool counts_as_print) {
    times_.all_s += seconds;
    if (counts_as_print && extrudes_)
      times_.of_print_s += seconds;
  }

  const Machine& machine_;
  PlateTimes times_;
  bool extrudes_ = false;
  timeline::Durations durations_;
  motion::Planner planner_;
};

void Clock::take_one(const interpreter::Record& record) {
  if (record.kind == RecordKind::move && record.move.e_mm > 0.0)
    extrudes_ = true;
  if (durations_.take_plain_move(record)) {
    add(record.motion_s, true);
    return;
  }
  const timeline::Duration duration = durations_.of(record);
  if (duration.cause == Cause::swap) {
    const SwapKind kind =
        timeline::Durations::swap_kind(machine_, duration.swap.from, duration.swap.to);
    (kind == SwapKind::head_change ? times_.has_head_changes : times_.has_filament_changes) = true;
  }
  add(duration.start_s.expected, false);
  const bool is_aside = duration.cause == Cause::homing || duration.cause == Cause::probing;
  if (duration.cause != Cause::pause)
    add(duration.time_s.expected - duration.start_s.expected, !is_aside);
}

}  // namespace

TimedPlate::TimedPlate(const std::string& path, const Machine& machine) {
  Keeper keeper(rows_);
  try {
    const auto plates = source::open_path(path);
    const auto bytes = plates->next();
    if (!bytes)
      throw UnreadablePlate(fmt::format("{}: holds no plate", path));
    source::BlockReader blocks(*bytes);
    const Machine fed = filaments_by_hand(machine);
    interpreter::Interpreter interpreter(fed, keeper);
    interpreter::PlateReader feed(interpreter);
    for (source::Block block; blocks.next(block);) {
      if (block.too_long)
        feed.take_too_long(block.text);
      else
        feed.take(block.text);
    }
    interpreter.finish();
    if (feed.commands() == 0)
      throw UnreadablePlate(fmt::format("{}: no G-code command in it", path));
  } catch (const source::SourceError& error) {
    throw UnreadablePlate(fmt::format("{}: {}", path, error.what()));
  }
}

PlateTimes TimedPlate::times(const Machine& as_it_is) const {
  const Machine machine = filaments_by_hand(as_it_is);
  Clock clock(machine);
  rows_.give_all(clock.planner());
  clock.finish();
  return clock.times();
}

std::vector<PlateTimes> times_of(const std::vector<TimedPlate>& plates, const Machine& machine) {
  std::vector<PlateTimes> result(plates.size());
  std::vector<std::size_t> order(plates.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::sort(order.begin(), order.end(),
            [&](std::size_t a, std::size_t b) { return plates[a].bytes() > plates[b].bytes(); });
  base::run_each(order.size(), base::all_cores(),
                 [&](std::size_t i) { result[order[i]] = plates[order[i]].times(machine); });
  return result;
}

}  // namespace platetally::calibrate
