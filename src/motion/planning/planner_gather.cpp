// How rows come into the planner's block: strokes as they are, other paths and E alone with the
// limits of their use, arcs as themselves or as the chords that the machine makes of them.
#include <algorithm>

#include "motion/planning/arc_chords.hpp"
#include "motion/planning/planner.hpp"

namespace platetally::motion {

using interpreter::Record;
using interpreter::Rows;
using interpreter::RunKind;

/// Rows `first` to `first` + `count` - 1, no more than there is room for in the block.
void Planner::gather(const Rows& rows, std::size_t first, std::size_t count) {
  switch (rows.run.kind) {
    case RunKind::stroke:
    case RunKind::path:
    case RunKind::feed:
      rows_.begin_run(first == 0 ? rows.run : rows.part(first, count).run);
      plan_as(rows.run.kind, rows, first, count);
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

/// A run of one, which is planned as a move of that kind.
void Planner::gather_one(const Rows& row, RunKind kind) {
  rows_.begin_run(row.run);
  plan_as(kind, row, 0, 1);
}

/// Rows of the last run.
void Planner::plan_as(RunKind kind, const Rows& rows, std::size_t first, std::size_t count) {
  open_block();
  const std::size_t first_slot = block_.count + 1;
  block_.add(rows, first, count, rows_.room());
  rows_.add_rows(count);
  if (kind == RunKind::stroke) [[likely]]
    return;
  block_is_mixed_ = true;
  if (kind == RunKind::path)
    fit_to_use(first_slot, rows, first, count);
  else
    feed_from(first_slot, rows.e_mm + first, count);
}

/// Moves of E alone.
void Planner::feed_from(std::size_t first_slot, const double* e_mm, std::size_t count) {
  const UseLimits& limits = limits_.of_use(Use::retract);
  for (std::size_t i = 0; i < count; ++i) {
    const std::size_t slot = first_slot + i;
    block_.least_feed_mm_s[slot] = limits.minimum_feed_mm_s;
    block_.most_acceleration_mm_s2[slot] = limits.acceleration_mm_s2;
    block_feeds_.push_back(slot);
    fill_in(slot, e_mm[i]);
  }
}

/// Paths without filament travel, the others print.
void Planner::fit_to_use(std::size_t first_slot, const Rows& rows, std::size_t first,
                         std::size_t count) {
  for (std::size_t i = 0; i < count; ++i) {
    const bool extrudes = rows.e_mm[first + i] != 0.0 || rows.run.extrudes_by_switch();
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

/// Of what is gathered since the last look.
void Planner::remark_on_feeds() {
  for (Number row = std::max(feeds_seen_, rows_.end() - block_.count); row < rows_.end(); ++row) {
    const double feed_mm_s = *rows_.feed_mm_s(row);
    if (feed_mm_s > 0.0 && feed_mm_s < Limits::kLeast)
      remark_on_feed(feed_mm_s, line_of(row));
  }
  feeds_seen_ = rows_.end();
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
      gather_one(arc, RunKind::feed);
      return;
    case PathKind::line:
      gather_one(arc, RunKind::path);
      return;
    case PathKind::arc:
      break;
  }
  if (gather_chords(arc, record, path))
    return;
  gather_one(arc, RunKind::path);
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
    remark_on_feeds();
    remark("arc-not-cut", Severity::warning, arc.line,
           "an arc has more than 10000 chords (arc_chord_mm); it was planned as an arc",
           "check the arc's radius, or the machine file's chord");
    return false;
  }
  remark_on_feeds();
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
  run.is_level = chord.from_mm[2] == chord.to_mm[2];
  run.kind = interpreter::kind_of(chord.from_mm, chord.to_mm, chord.e_mm, arc.flags);
  if (run.kind == RunKind::idle)
    return;
  const Rows row{
      run,    1, &chord.to_mm[0], &chord.to_mm[1], &chord.to_mm[2], &chord.e_mm, &chord.feed_mm_s,
      nullptr};
  if (block_.is_full())
    plan_block();
  plan_as(run.kind, row, 0, 1);
}

/// A move that takes no time.
void Planner::gather_idle(const Rows& idle, bool is_broken) {
  remark_on_feeds();
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
/// A placeholder that the arithmetic of all moves accepts; its results are overwritten.
void Planner::fill_in(std::size_t slot, double way_mm) {
  block_.way_mm[0][slot] = way_mm;
  block_.way_mm[1][slot] = block_.way_mm[2][slot] = 0.0;
}

}  // namespace platetally::motion
