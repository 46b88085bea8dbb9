#include "motion/planning/planner.hpp"

#include <algorithm>
#include <cmath>

#include "motion/planning/arc_chords.hpp"
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
    gather(count == rows.size ? rows : rows.part(done, count));
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

/// No more than there is room for in the block.
void Planner::gather(const Rows& rows) {
  switch (rows.run.kind) {
    case RunKind::stroke:
    case RunKind::path:
    case RunKind::feed:
      gather_rows(rows, rows.run.kind);
      break;
    case RunKind::arc:
      gather_arc(rows);
      break;
    case RunKind::idle:
      gather_idle(rows, interpreter::is_broken(rows));
      break;
  }
  if (block_.is_full())
    plan_block();
}

/// Rows that are planned as moves of that kind, as a run.
void Planner::gather_rows(const Rows& rows, RunKind kind) {
  rows_.begin_run(rows.run);
  plan_as(kind, rows);
}

/// Rows of the last run.
void Planner::plan_as(RunKind kind, const Rows& rows) {
  open_block();
  const std::size_t first_slot = block_.count + 1;
  if (!block_.add(rows, rows_.room())) [[unlikely]]
    for (std::size_t i = 0; i < rows.size; ++i)
      remark_on_feed(rows.feed_mm_s[i], rows.run.first_line + i);
  rows_.add_rows(rows.size);
  if (kind == RunKind::stroke) [[likely]]
    return;
  block_is_mixed_ = true;
  if (kind == RunKind::path) {
    fit_to_use(first_slot, rows);
    return;
  }
  const UseLimits& limits = limits_.of_use(Use::retract);
  for (std::size_t i = 0; i < rows.size; ++i) {
    const std::size_t slot = first_slot + i;
    block_.least_feed_mm_s[slot] = limits.minimum_feed_mm_s;
    block_.most_acceleration_mm_s2[slot] = limits.acceleration_mm_s2;
    block_feeds_.push_back(slot);
    fill_in(slot, rows.e_mm[i]);
  }
}

/// Paths without filament travel, the others print.
void Planner::fit_to_use(std::size_t first_slot, const Rows& rows) {
  for (std::size_t i = 0; i < rows.size; ++i) {
    const bool extrudes = rows.e_mm[i] != 0.0 || rows.run.extrudes_by_switch();
    const UseLimits& limits = limits_.of_use(extrudes ? Use::print : Use::travel);
    block_.least_feed_mm_s[first_slot + i] = limits.minimum_feed_mm_s;
    block_.most_acceleration_mm_s2[first_slot + i] = limits.acceleration_mm_s2;
  }
}

void Planner::remark_on_feed(double feed_mm_s, std::uint64_t line) {
  if (feed_mm_s > 0.0 && feed_mm_s < Limits::kLeast)
    remark("feed-too-low", Severity::warning, line,
           "the feed is below 6e-5 mm/min; the move is planned at that feed", "check the F word");
}

void Planner::gather_arc(const Rows& arc) {
  const Record record = arc.record(0);
  Bend bend;
  const Path path = arc_path(record.move, bend);
  switch (path.kind) {
    case PathKind::none:
    case PathKind::broken:
      gather_idle(arc, path.kind == PathKind::broken);
      return;
    case PathKind::feed:
      gather_rows(arc, RunKind::feed);
      return;
    case PathKind::line:
      gather_rows(arc, RunKind::path);
      return;
    case PathKind::arc:
      break;
  }
  if (gather_chords(arc, record, path))
    return;
  gather_rows(arc, RunKind::path);
  const std::size_t slot = block_.count;
  const Use use =
      record.move.e_mm != 0.0 || arc.run.extrudes_by_switch() ? Use::print : Use::travel;
  block_arcs_.push_back({slot, path, limits_.arc_pace(path, bend, record.move.feed_mm_s, use)});
  block_.leaves_level = block_.leaves_level || path.exit[2] != 0.0;
  fill_in(slot, path.length_mm);
}

/// The moves that the controller makes of an arc; false: it makes none of it.
bool Planner::gather_chords(const Rows& rows, const Record& arc, const Path& path) {
  const double chord_mm = limits_.present().arc_chord_mm;
  if (!(chord_mm > 0.0))
    return false;
  const ArcChords chords(arc.move, path.length_mm, chord_mm);
  if (chords.are_too_many()) {
    remark("arc-not-cut", Severity::warning, arc.line,
           "an arc has more than 10000 chords (arc_chord_mm); it was planned as an arc",
           "check the arc's radius, or the machine file's chord");
    return false;
  }
  remark_on_feed(arc.move.feed_mm_s, arc.line);
  begin_cut(rows);
  interpreter::Move chord = arc.move;
  if (chord.feed_mm_s > 0.0)
    chord.feed_mm_s = std::max(chord.feed_mm_s, Limits::kLeast);
  chord.e_mm = arc.move.e_mm / static_cast<double>(chords.count());
  for (std::size_t k = 1; k <= chords.count(); ++k) {
    chord.to_mm = chords.end_mm(k);
    gather_chord(chord, rows.run);
    chord.from_mm = chord.to_mm;
  }
  return true;
}

/// A chord as a row of the arc's run.
void Planner::gather_chord(const interpreter::Move& chord, const interpreter::Run& arc) {
  interpreter::Run run = arc;
  run.from_mm = chord.from_mm;
  run.kind = interpreter::kind_of(chord.from_mm, chord.to_mm, chord.e_mm, arc.flags);
  if (run.kind == RunKind::idle)
    return;
  const Rows row{
      run,    1, &chord.to_mm[0], &chord.to_mm[1], &chord.to_mm[2], &chord.e_mm, &chord.feed_mm_s,
      nullptr};
  if (block_.is_full())
    plan_block();
  plan_as(run.kind, row);
}

/// A move that takes no time.
void Planner::gather_idle(const Rows& idle, bool is_broken) {
  remark_on_feed(idle.feed_mm_s[0], idle.run.first_line);
  if (is_broken)
    remark("move-too-long", Severity::error, idle.run.first_line,
           "a move is longer than a million kilometres; it takes no time in the account",
           "check the coordinates and E of this line");
  begin_cut(idle);
}

/// A move whose rows, which follow, are not its own.
void Planner::begin_cut(const Rows& move) {
  rows_.begin_run(move.run);
  cut_.push({rows_.runs().end() - 1, move.record(0)});
}
/// Some way, so that the arithmetic goes through before what it gives is mended.
void Planner::fill_in(std::size_t slot, double way_mm) {
  block_.way_mm[0][slot] = way_mm;
  block_.way_mm[1][slot] = block_.way_mm[2][slot] = 0.0;
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
    remark("look-ahead-cut", Severity::warning, first_pending_line(),
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

std::uint64_t Planner::first_pending_line() const {
  std::uint64_t run = rows_.runs().first();
  while (rows_.runs()[run].end() <= settled_)
    ++run;
  const interpreter::RowQueue::Entry& pending = rows_.runs()[run];
  return pending.run.first_line + (pending.run.kind == RunKind::arc ? 0 : settled_ - pending.first);
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
