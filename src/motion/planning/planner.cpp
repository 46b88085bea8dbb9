#include "motion/planning/planner.hpp"

#include <algorithm>
#include <cmath>

#include "motion/planning/standing.hpp"

namespace platetally::motion {

using interpreter::Record;
using interpreter::RecordKind;
using interpreter::Rows;
using interpreter::RunKind;

namespace {

/// Rows go on when so many of them have their times.
constexpr std::size_t kEmitAtLeast = 256;

/// The machine comes to rest for it.
bool stands_still(RecordKind kind) {
  switch (kind) {
    case RecordKind::set_heater:
    case RecordKind::set_fan:
    case RecordKind::set_limits:
    case RecordKind::object:
      return false;
    case RecordKind::move:
    case RecordKind::dwell:
    case RecordKind::wait_heater:
    case RecordKind::select_tool:
    case RecordKind::firmware_retract:
    case RecordKind::firmware_return:
    case RecordKind::pause:
    case RecordKind::home:
    case RecordKind::probe:
    case RecordKind::takes_seconds:
    case RecordKind::motors:
    case RecordKind::end_of_plate:
      break;
  }
  return true;
}

}  // namespace

Planner::Planner(const Machine& machine, interpreter::RowSink& sink)
    : sink_(sink),
      procedures_(machine.procedures),
      limits_(machine.motion),
      look_ahead_(static_cast<std::size_t>(std::max(0, machine.motion.look_ahead_moves))) {
  share_cruise(0);
  block_.assume_prints(limits_.of_use(Use::print));
  block_.assume_level();
}

void Planner::take(const Rows& rows) {
  // Blocks are always filled, so that the bits of a window's sums do not depend on the runs.
  for (std::size_t done = 0; done < rows.size;) {
    std::size_t count = std::min(rows.size - done, MoveBlock::kMoves - block_.count);
    if (waiting() + count >= LookAhead::kMostPending) [[unlikely]]
      count = 1;
    gather(rows, done, count);
    if (waiting() >= LookAhead::kMostPending) [[unlikely]]
      bound_memory();
    done += count;
  }
  if (has_news_ || settled_ == rows_.end())
    emit(kEmitAtLeast);
}

void Planner::take(const Record& event) {
  const auto append = [this, &event](double seconds) {
    Record timed = event;
    timed.motion_s = seconds;
    rows_.append(timed);
  };
  if (!stands_still(event.kind)) {
    if (event.kind == RecordKind::set_limits)
      plan_block();
    append(0.0);
    if (event.kind == RecordKind::set_limits) {
      set_limits(event);
      share_cruise(event.line);
      block_.assume_prints(limits_.of_use(Use::print));
    }
  } else {
    settle(LookAhead::End::stop);
    append(standing_s(event, limits_.present(), procedures_));
  }
  if (waiting() >= LookAhead::kMostPending)
    bound_memory();
  if (has_news_ || settled_ == rows_.end())
    emit(kEmitAtLeast);
}

void Planner::finish() {
  settle(LookAhead::End::stop);
  emit(1);
}

void Planner::open_block() {
  if (block_.count == 0)
    rows_.make_room(MoveBlock::kMoves + MoveBlock::kWritableBehind);
}

BlockColumns Planner::columns_of_block() {
  const Number first = rows_.end() - block_.count;
  const LookAhead::Room junctions =
      cruise_.is_on() ? cruise_.room_for(block_.count) : look_ahead_.room_for(block_.count);
  paces_.make_room(block_.count);
  return {rows_.e_mm(first),        rows_.feed_mm_s(first), paces_.behind(kTopSquare),
          paces_.behind(kTwoAccel), junctions.reaches,      junctions.entry_caps};
}

/// What is gathered becomes pending, and the block empty.
void Planner::plan_block() {
  if (block_.count == 0)
    return;
  const BlockColumns columns = columns_of_block();
  const bool as_asked = find_paces(limits_.of_paths(), block_, columns);
  if (!as_asked)
    remark_on_feeds();
  mend_feeds(columns);
  mend_arcs(columns);
  find_corners(as_asked && block_arcs_.empty(), columns);
  if (cruise_.is_on())
    cruise_.add(block_.count, limits_.present().least_cruise_share);
  else
    look_ahead_.add(block_.count);
  paces_.append(block_.count);
  block_.reach_before = columns.reach[block_.count - 1];
  clear_block();
  if (cruise_.is_on() ? cruise_.due() : look_ahead_.due())
    settle_pending(LookAhead::End::open);
}

void Planner::find_corners(bool as_asked, const BlockColumns& columns) {
  const MotionLimits& limits = limits_.present();
  switch (limits.corner_model) {
    case CornerModel::junction_deviation:
      find_deviation_corners(limits.junction_deviation_mm, block_, columns.entry_cap);
      break;
    case CornerModel::speed_step:
      find_step_corners(limits.corner_step_mm_s, block_, columns.entry_cap);
      break;
    case CornerModel::corner_speed:
      find_speed_corners(right_angle_square(limits.corner_speed_mm_s), as_asked,
                         limits.corner_step_mm_s[3], block_, columns);
      break;
  }
  mend_arc_corners(columns);
  if (limits.corner_model != CornerModel::speed_step)
    mend_feed_corners(columns);
}

void Planner::clear_block() {
  last_feeds_ = !block_feeds_.empty() && block_feeds_.back() == block_.count;
  block_feeds_.clear();
  block_arcs_.clear();
  const std::size_t count = block_.count;
  if (block_is_mixed_)
    block_.assume_prints(limits_.of_use(Use::print), count);
  const bool left_level = block_.leaves_level;
  block_.restart();
  if (left_level)
    block_.assume_level(count);
  block_is_mixed_ = false;
}

/// Instead of what was found of that slot.
void Planner::mend(std::size_t slot, const Path& path, const Pace& pace,
                   const BlockColumns& columns) {
  const std::size_t i = slot - 1;
  for (std::size_t axis = 0; axis < kAxisCount; ++axis)
    block_.share[axis][slot] = path.exit[axis];
  block_.speed_mm_s[slot] = pace.speed_mm_s;
  columns.top_square[i] = pace.speed_mm_s * pace.speed_mm_s;
  block_.acceleration_mm_s2[slot] = pace.acceleration_mm_s2;
  columns.two_accel[i] = 2.0 * pace.acceleration_mm_s2;
  columns.reach[i] = columns.two_accel[i] * path.length_mm;
}

/// E alone goes its own way, which the block knows nothing of.
void Planner::mend_feeds(const BlockColumns& columns) {
  for (const std::size_t slot : block_feeds_) {
    const Path path = feed_path(columns.e_mm[slot - 1]);
    mend(slot, path, limits_.line_pace(path, columns.feed_mm_s[slot - 1], Use::retract), columns);
  }
}

void Planner::mend_arcs(const BlockColumns& columns) {
  for (const BlockArc& arc : block_arcs_)
    mend(arc.slot, arc.path, arc.pace, columns);
}

/// An arc begins in another direction than it ends in, which is all that the block knows.
void Planner::mend_arc_corners(const BlockColumns& columns) {
  for (const BlockArc& arc : block_arcs_) {
    Direction before{};
    for (std::size_t axis = 0; axis < kAxisCount; ++axis)
      before[axis] = block_.share[axis][arc.slot - 1];
    const double slower = std::min(arc.pace.speed_mm_s, block_.speed_mm_s[arc.slot - 1]);
    const double softer =
        std::min(arc.pace.acceleration_mm_s2, block_.acceleration_mm_s2[arc.slot - 1]);
    const CornerLegs legs{
        std::min(block_.right_square[arc.slot], block_.right_square[arc.slot - 1]),
        std::min(columns.reach[arc.slot - 1],
                 arc.slot > 1 ? columns.reach[arc.slot - 2] : block_.reach_before)};
    columns.entry_cap[arc.slot - 1] =
        std::min(slower * slower, limits_.corner_square({before, arc.path.entry}, softer, legs));
  }
}

/// E alone shares no path with its neighbours: their corner by the circle is a stop, or straight
/// on.
void Planner::mend_feed_corners(const BlockColumns& columns) {
  const auto stop_behind = [&](std::size_t slot) {
    if (slot < block_.count)
      columns.entry_cap[slot] = 0.0;
  };
  const bool feeds_go_on = limits_.present().corner_model == CornerModel::junction_deviation;
  std::size_t before = block_.count;  // the feed met last; none
  if (last_feeds_)
    stop_behind(before = 0);
  for (const std::size_t slot : block_feeds_) {
    const bool goes_on =
        feeds_go_on && before + 1 == slot && block_.share[3][before] == block_.share[3][slot];
    const double slower = std::min(block_.speed_mm_s[slot], block_.speed_mm_s[before]);
    columns.entry_cap[slot - 1] = goes_on ? slower * slower : 0.0;
    stop_behind(before = slot);
  }
}

void Planner::settle(LookAhead::End end) {
  plan_block();
  settle_pending(end);
}

void Planner::settle_pending(LookAhead::End end) {
  const std::size_t cuts = look_ahead_.cuts() + cruise_.cuts();
  if (cruise_.is_on()) {
    cruise_.settle(end, paces_.column(kTopSquare) + look_ahead_.pending(), look_ahead_);
    if (end == LookAhead::End::open && !look_ahead_.due())
      return;
  }
  double* const seconds = rows_.seconds(settled_);
  junctions_.make_room(look_ahead_.pending() + 1);
  const std::size_t settled = look_ahead_.settle(end, [&](std::size_t first, std::size_t last) {
    find_times(
        {last - first, look_ahead_.reaches().data() + first, paces_.column(kTopSquare) + first,
         paces_.column(kTwoAccel) + first, look_ahead_.squares() + first},
        junctions_.column(0), seconds + first);
  });
  if (look_ahead_.cuts() + cruise_.cuts() > cuts)
    remark("look-ahead-cut", Severity::warning, line_of(settled_),
           "more moves than fit into memory depend on what comes after them; the first half was "
           "planned as if the plate ended there, which is slower, never faster",
           "extremely short moves do this; the plate's resolution is far below any machine's");
  look_ahead_.drop(settled);
  if (settled == 0)
    return;
  paces_.drop(settled);
  settled_ += settled;
  has_news_ = true;
}

/// The line of a planned move.
std::uint64_t Planner::line_of(Number row) const {
  std::uint64_t run = rows_.runs().first();
  while (rows_.runs()[run].end() <= row)
    ++run;
  const interpreter::RowQueue::Entry& entry = rows_.runs()[run];
  return entry.run.first_line + (entry.run.kind == RunKind::arc ? 0 : row - entry.first);
}

/// Passes on what is timed, if that is at least so much.
void Planner::emit(std::size_t at_least) {
  has_news_ = false;
  const bool all = settled_ == rows_.end();
  if (settled_ - rows_.first() + (all ? rows_.events().size() + cut_.size() : 0) < at_least)
    return;
  const auto& runs = rows_.runs();
  while (!runs.empty() && runs.front().end() <= settled_)
    emit_run();
  emit_events(runs.empty() ? rows_.events().end() : runs.front().events_before);
  rows_.drop_rows_before(runs.empty() ? settled_ : std::min(settled_, runs.front().first));
}

void Planner::emit_run() {
  const interpreter::RowQueue::Entry& front = rows_.runs().front();
  emit_events(front.events_before);
  if (cut_.empty() || cut_.front().run != rows_.runs().first()) [[likely]] {
    sink_.take(rows_.rows_of(front));
  } else {
    const interpreter::Move& move = cut_.front().move.move;
    double motion_s = 0.0;
    for (Number row = front.first; row < front.end(); ++row)
      motion_s += *rows_.seconds(row);
    sink_.take(Rows{front.run, 1, &move.to_mm[0], &move.to_mm[1], &move.to_mm[2], &move.e_mm,
                    &move.feed_mm_s, &motion_s});
    cut_.drop_front();
  }
  rows_.runs().drop_front();
}

void Planner::emit_events(std::uint64_t end) {
  while (rows_.events().first() < end) {
    sink_.take(rows_.events().front());
    rows_.events().drop_front();
  }
}

/// Rows and events gather behind a move that cannot settle: let it.
void Planner::bound_memory() {
  plan_block();
  emit(1);
  while (waiting() >= LookAhead::kMostPending) {
    settle_pending(LookAhead::End::cut);
    emit(1);
  }
}

/// Turns the cruise share on once there is one.
void Planner::share_cruise(std::uint64_t line) {
  const MotionLimits& limits = limits_.present();
  if (cruise_.is_on() || !(limits.least_cruise_share > 0.0))
    return;
  if (limits.look_ahead_moves == 0) {
    cruise_.turn_on(look_ahead_);
    return;
  }
  limits_.leave_out_cruise_share();
  remark("cruise-and-window", Severity::warning, line,
         "the plate sets a least cruise share, but the machine file says how many moves the "
         "controller sees; the two exclude one another, and the share was left out",
         "set look_ahead_moves = 0 under [motion]");
}

void Planner::set_limits(const Record& record) {
  if (limits_.set(record.event))
    return;
  remark("limit-refused", Severity::warning, record.line,
         "the plate sets a limit of the motion to a value that no machine has; expected a positive "
         "number up to 1e9, kept the value before",
         "check the numbers of this line");
}

void Planner::remark(const char* code, Severity severity, std::uint64_t line, const char* message,
                     const char* help) {
  if (diagnostics_.count_again(code))
    return;
  Diagnostic diagnostic;
  diagnostic.code = code;
  diagnostic.severity = severity;
  diagnostic.line = line;
  diagnostic.message = message;
  diagnostic.help = help;
  diagnostics_.add(std::move(diagnostic));
}

}  // namespace platetally::motion
