#include "motion/planning/planner.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "motion/planning/arc_chords.hpp"
#include "motion/planning/standing.hpp"

namespace platetally::motion {

using interpreter::Record;
using interpreter::RecordKind;

namespace {

/// Records go on in batches of about this size.
constexpr std::size_t kEmitAtLeast = 256;

/// Of a move in X Y Z.
Use use_of(const Record& record) {
  const bool extrudes = record.move.e_mm != 0.0 || (record.flags & interpreter::kExtruderOn) != 0;
  return extrudes ? Use::print : Use::travel;
}

}  // namespace

Planner::Planner(const Machine& machine, TimedSink& sink)
    : sink_(sink),
      procedures_(machine.procedures),
      limits_(machine.motion),
      look_ahead_(static_cast<std::size_t>(std::max(0, machine.motion.look_ahead_moves))) {
  share_cruise(0);
  block_.assume_prints(limits_.of_use(Use::print));
  block_.assume_level();
}

void Planner::take(std::span<const Record> batch) {
  for (const Record& record : batch) {
    if (record.kind == RecordKind::move)
      take_move(record);
    else
      take_event(record);
    if (waiting() >= LookAhead::kMostPending)
      bound_memory();
  }
  if (has_news_ || settled_ == moves_.end())
    emit(kEmitAtLeast);
}

void Planner::take(const interpreter::Strokes& strokes) {
  if (strokes.size == 0)
    return;
  // Blocks are always filled, so that the bits of a window's sums do not depend on the runs.
  std::size_t room = MoveBlock::kMoves - block_.count;
  if (strokes.size <= room) {
    gather_strokes(strokes);
  } else {
    for (std::size_t done = 0; done < strokes.size; room = MoveBlock::kMoves - block_.count) {
      const std::size_t count = std::min(strokes.size - done, room);
      gather_strokes(strokes.part(done, count));
      done += count;
    }
  }
  if (has_news_)
    emit(kEmitAtLeast);
}

void Planner::finish() {
  settle(LookAhead::End::stop);
  emit(1);
}

void Planner::take_move(const Record& record) {
  const std::uint64_t number = records_.append(record);
  const interpreter::Move& move = record.move;
  if (move.feed_mm_s > 0.0 && move.feed_mm_s < Limits::kLeast) [[unlikely]]
    remark("feed-too-low", Severity::warning, record.line,
           "the feed is below 6e-5 mm/min; the move is planned at that feed", "check the F word");
  moves_.open_single(number);
  if (move.is_arc()) {
    Bend bend;
    const Path path = arc_path(move, bend);
    if (path.kind == PathKind::broken)
      remark_on_broken(record);
    else if (path.kind != PathKind::arc)
      gather_straight(record);
    else if (!gather_chords(record, path))
      gather_arc(record, path, bend);
  } else {
    gather_straight(record);
  }
  moves_.close_single();
  if (block_.is_full())
    plan_block();
  else if (settled_ == moves_.end())
    hand_out_times();  // to a record without moves
}

inline void Planner::gather_straight(const Record& record) {
  const interpreter::Move& move = record.move;
  const double x_mm = move.to_mm[0] - move.from_mm[0];
  const double y_mm = move.to_mm[1] - move.from_mm[1];
  const double z_mm = move.to_mm[2] - move.from_mm[2];
  const double square_mm2 = x_mm * x_mm + y_mm * y_mm + z_mm * z_mm;
  if (!(square_mm2 < kLeastLength_mm * kLeastLength_mm)) [[likely]] {  // also what is no number
    if (!(square_mm2 < kMostLength_mm * kMostLength_mm && std::abs(move.e_mm) < kMostLength_mm)) {
      remark_on_broken(record);
      return;
    }
    const std::size_t slot = gather(record, use_of(record));
    block_.way_mm[0][slot] = x_mm;
    block_.way_mm[1][slot] = y_mm;
    block_.way_mm[2][slot] = z_mm;
    block_.leaves_level = block_.leaves_level || z_mm != 0.0;
  } else {
    const PathKind kind = feed_path(move.e_mm).kind;
    if (kind == PathKind::none)
      return;
    if (kind == PathKind::broken) {
      remark_on_broken(record);
      return;
    }
    const std::size_t slot = gather(record, Use::retract);
    block_feeds_.push_back(slot);
    fill_in(slot, move.e_mm);
  }
}

void Planner::gather_arc(const Record& record, const Path& path, const Bend& bend) {
  const Use use = use_of(record);
  const Pace pace = limits_.arc_pace(path, bend, record.move.feed_mm_s, use);
  const std::size_t slot = gather(record, use);
  block_arcs_.push_back({slot, path, pace});
  block_.leaves_level = block_.leaves_level || path.exit[2] != 0.0;
  fill_in(slot, path.length_mm);
}

/// The moves that the controller makes of an arc; false: it makes none of it.
bool Planner::gather_chords(const Record& record, const Path& path) {
  const double chord_mm = limits_.present().arc_chord_mm;
  if (!(chord_mm > 0.0))
    return false;
  const ArcChords chords(record.move, path.length_mm, chord_mm);
  if (chords.are_too_many()) {
    remark("arc-not-cut", Severity::warning, record.line,
           "an arc has more than 10000 chords (arc_chord_mm); it was planned as an arc",
           "check the arc's radius, or the machine file's chord");
    return false;
  }
  Record chord = record;
  chord.move.sweep_rad = 0.0;
  chord.move.e_mm = record.move.e_mm / static_cast<double>(chords.count());
  for (std::size_t k = 1; k <= chords.count(); ++k) {
    chord.move.to_mm = chords.end_mm(k);
    if (block_.is_full())
      plan_block();
    gather_straight(chord);
    chord.move.from_mm = chord.move.to_mm;
  }
  return true;
}

/// A move with a record of its own joins the block. Returns its slot, whose way is still to be
/// said.
inline std::size_t Planner::gather(const Record& record, Use use) {
  open_block();
  block_is_mixed_ = true;
  const std::size_t slot = ++block_.count;
  const double feed_mm_s = record.move.feed_mm_s;
  moves_.append(record.move.e_mm,
                feed_mm_s > 0.0 ? feed_mm_s : std::numeric_limits<double>::infinity());
  const UseLimits& limits = limits_.of_use(use);
  block_.least_feed_mm_s[slot] = limits.minimum_feed_mm_s;
  block_.most_acceleration_mm_s2[slot] = limits.acceleration_mm_s2;
  return slot;
}

/// A placeholder that the arithmetic of all moves accepts; its results are overwritten.
void Planner::fill_in(std::size_t slot, double way_mm) {
  block_.way_mm[0][slot] = way_mm;
  block_.way_mm[1][slot] = 0.0;
}

static_assert(interpreter::kLeastStroke_mm >= kLeastLength_mm &&
              interpreter::kLeastStrokeFeed_mm_s >= Limits::kLeast);

/// No more than there is room for in the block.
void Planner::gather_strokes(const interpreter::Strokes& strokes) {
  if (waiting() + strokes.size < LookAhead::kMostPending) [[likely]] {
    open_block();
    block_.add(strokes, moves_.append(strokes, records_.end()));
    if (block_.is_full())
      plan_block();
    return;
  }
  for (std::size_t i = 0; i < strokes.size; ++i) {
    take_move(strokes.record(i));
    if (waiting() >= LookAhead::kMostPending)
      bound_memory();
  }
}

void Planner::open_block() {
  if (block_.count == 0)
    moves_.make_room(MoveBlock::kMoves + MoveBlock::kWritableBehind);
}

BlockColumns Planner::columns_of_block() {
  const WaitingMoves::Number first = moves_.end() - block_.count;
  const LookAhead::Room junctions =
      cruise_.is_on() ? cruise_.room_for(block_.count) : look_ahead_.room_for(block_.count);
  paces_.make_room(block_.count);
  return {moves_.e_mm(first),        moves_.feed_mm_s(first),  moves_.length_mm(first),
          paces_.behind(kTopSquare), paces_.behind(kTwoAccel), junctions.reaches,
          junctions.entry_caps};
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
  columns.length_mm[i] = path.kind == PathKind::feed ? 0.0 : path.length_mm;  // in X Y Z
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
  double* const seconds = moves_.seconds(settled_);
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
  hand_out_times();
}

void Planner::hand_out_times() {
  auto& singles = moves_.singles();
  for (; !singles.empty(); singles.drop_front()) {
    WaitingMoves::Single& single = singles.front();
    TimedRecord& timed = records_[single.record];
    for (; single.next < std::min(single.end, settled_); ++single.next) {
      timed.motion_s += *moves_.seconds(single.next);
      timed.length_mm += *moves_.length_mm(single.next);
    }
    if (single.next < single.end)
      break;
  }
}

std::uint64_t Planner::first_pending_line() const {
  if (!moves_.singles().empty() && moves_.singles().front().next == settled_)
    return records_[moves_.singles().front().record].record.line;
  auto run = moves_.runs().begin();
  while (run->end() <= settled_)
    ++run;
  return run->head.first_line + (settled_ - run->first);
}

/// Passes on what is timed, if that is at least so much.
void Planner::emit(std::size_t at_least) {
  has_news_ = false;
  const bool all = settled_ == moves_.end();
  if (settled_ - moves_.first() + (all ? records_.size() : 0) < at_least)
    return;
  auto& runs = moves_.runs();
  while (!runs.empty() && runs.front().end() <= settled_) {
    emit_records(runs.front().behind_records);
    sink_.take(moves_.front_strokes());
    moves_.drop_front_strokes();
  }
  std::uint64_t ready = records_.end();
  if (!moves_.singles().empty())
    ready = std::min(ready, moves_.singles().front().record);
  if (!runs.empty())
    ready = std::min(ready, runs.front().behind_records);
  emit_records(ready);
  moves_.drop_until(runs.empty() ? settled_ : std::min(settled_, runs.front().first));
}

void Planner::emit_records(std::uint64_t end) {
  const auto count = static_cast<std::size_t>(end - records_.first());
  if (count == 0)
    return;
  sink_.take(records_.front(count));
  records_.drop(count);
}

/// Records gather behind a move that cannot settle: let it.
void Planner::bound_memory() {
  plan_block();
  emit(1);
  while (waiting() >= LookAhead::kMostPending) {
    settle_pending(LookAhead::End::cut);
    emit(1);
  }
}

void Planner::take_event(const Record& record) {
  switch (record.kind) {
    case RecordKind::set_heater:
    case RecordKind::set_fan:
      records_.append(record);
      return;
    case RecordKind::set_limits:
      plan_block();
      records_.append(record);
      set_limits(record);
      share_cruise(record.line);
      block_.assume_prints(limits_.of_use(Use::print));
      return;
    default:
      break;
  }
  settle(LookAhead::End::stop);
  records_[records_.append(record)].motion_s = standing_s(record, limits_.present(), procedures_);
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

void Planner::remark_on_broken(const Record& record) {
  remark("move-too-long", Severity::error, record.line,
         "a move is longer than a million kilometres; it takes no time in the account",
         "check the coordinates and E of this line");
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
