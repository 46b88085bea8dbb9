#include "motion/planner.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

namespace platetally::motion {

using interpreter::Record;
using interpreter::RecordKind;

namespace {

/// Records go on in batches of about this size.
constexpr std::size_t kEmitAtLeast = interpreter::kBatchSize;

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
      look_ahead_(static_cast<std::size_t>(std::max(0, machine.motion.look_ahead_moves))) {}

void Planner::take(std::span<const Record> batch) {
  for (const Record& record : batch) {
    if (record.kind == RecordKind::move)
      take_move(record);
    else
      take_event(record);
    if (waiting() >= LookAhead::kMostPending)
      bound_memory();
  }
  if (has_news_ || pending_.empty())
    emit(kEmitAtLeast);
}

void Planner::take(const interpreter::Strokes& strokes) {
  // Blocks are always filled, so that the bits of a window's sums do not depend on the runs.
  for (std::size_t done = 0; done < strokes.size;) {
    const std::size_t room = MoveBlock::kMoves - block_.count;
    const interpreter::Strokes part = strokes.part(done, std::min(strokes.size - done, room));
    gather_strokes(part);
    done += part.size;
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
  const double feed_mm_s = record.move.feed_mm_s;
  if (feed_mm_s > 0.0 && feed_mm_s < Limits::kLeast) [[unlikely]]
    remark("feed-too-low", Severity::warning, record.line,
           "the feed is below 6e-5 mm/min; the move is planned at that feed", "check the F word");
  if (record.move.is_arc())
    take_arc(record, number);
  else
    gather(record, number);
}

void Planner::gather(const Record& record, std::uint64_t number) {
  const interpreter::Move& move = record.move;
  const double x_mm = move.to_mm[0] - move.from_mm[0];
  const double y_mm = move.to_mm[1] - move.from_mm[1];
  const double z_mm = move.to_mm[2] - move.from_mm[2];
  const double square_mm2 = x_mm * x_mm + y_mm * y_mm + z_mm * z_mm;
  const std::size_t slot = block_.count + 1;
  Use use = Use::retract;
  if (!(square_mm2 < kLeastLength_mm * kLeastLength_mm)) [[likely]] {  // also what is no number
    if (!(square_mm2 < kMostLength_mm * kMostLength_mm && std::abs(move.e_mm) < kMostLength_mm)) {
      remark_on_broken(record);
      return;
    }
    use = use_of(record);
    block_.way_mm[0][slot] = x_mm;
    block_.way_mm[1][slot] = y_mm;
    block_.way_mm[2][slot] = z_mm;
    block_.square_mm2[slot] = square_mm2;
  } else {
    const Course course = feed_course(move.e_mm);
    if (course.kind == CourseKind::none)
      return;
    if (course.kind == CourseKind::broken) {
      remark_on_broken(record);
      return;
    }
    block_feeds_.push_back(slot);
    block_.way_mm[0][slot] = block_.way_mm[1][slot] = block_.way_mm[2][slot] = 0.0;
    block_.square_mm2[slot] = move.e_mm * move.e_mm;
  }
  block_.count = slot;
  const UseLimits& limits = limits_.of_use(use);
  block_.way_mm[3][slot] = move.e_mm;
  block_.feed_mm_s[slot] =
      move.feed_mm_s > 0.0 ? move.feed_mm_s : std::numeric_limits<double>::infinity();
  block_.least_feed_mm_s[slot] = limits.minimum_feed_mm_s;
  block_.most_acceleration_mm_s2[slot] = limits.acceleration_mm_s2;
  block_records_.push_back({slot, number, use == Use::retract});
  pending_.push_back({number, 1, false});
  if (block_.is_full())
    plan_block();
}

/// No more than there is room for in the block.
void Planner::gather_strokes(const interpreter::Strokes& strokes) {
  if (waiting() + strokes.size < LookAhead::kMostPending &&
      add_strokes(strokes, limits_.of_use(Use::print), block_)) [[likely]] {
    pending_.push_back({strokes_.append(strokes, records_.end()), strokes.size, true});
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

/// What is gathered becomes pending.
void Planner::plan_block() {
  if (block_.count == 0)
    return;
  find_shapes(block_);
  for (const std::size_t i : block_feeds_)
    block_.share[3][i] = std::copysign(1.0, block_.way_mm[3][i]);
  for (const BlockRecord& of : block_records_)
    records_[of.number].length_mm = of.feeds ? 0.0 : block_.length_mm[of.slot];  // in X Y Z
  find_paces(limits_.of_paths(), block_);
  if (limits_.present().corner_model == CornerModel::junction_deviation) {
    find_deviation_corners(limits_.present().junction_deviation_mm, block_);
    mend_feed_corners();
  } else {
    find_step_corners(limits_.present().corner_step_mm_s, block_);
  }
  push_block();
}

/// The block's moves become pending, and the block empty.
void Planner::push_block() {
  const auto append = [this](const auto& column, auto& pending) {
    if (block_.count == 1) {  // arcs come one by one
      pending.push_back(column[1]);
      return;
    }
    const auto first = column.begin() + 1;
    pending.insert(pending.end(), first, first + static_cast<std::ptrdiff_t>(block_.count));
  };
  append(block_.speed_mm_s, speeds_mm_s_);
  append(block_.two_accel, two_accels_);
  look_ahead_.push({block_.entry_cap.data() + 1, block_.count},
                   {block_.reach.data() + 1, block_.count});
  last_feeds_ = !block_feeds_.empty() && block_feeds_.back() == block_.count;
  block_feeds_.clear();
  block_records_.clear();
  block_.restart();
  if (look_ahead_.due())
    settle_pending(LookAhead::End::open);
}

/// E alone shares no path with its neighbours: their corner by the circle is a stop, or straight
/// on.
void Planner::mend_feed_corners() {
  const auto speed_square = [this](std::size_t i) {
    const double slower = std::min(block_.speed_mm_s[i], block_.speed_mm_s[i - 1]);
    return slower * slower;
  };
  std::size_t before = last_feeds_ ? 0 : block_.count + 1;  // the feed met last
  for (const std::size_t i : block_feeds_) {
    if (before + 1 < i && before <= block_.count)
      block_.entry_cap[before + 1] = 0.0;
    const bool goes_on = before + 1 == i && block_.share[3][before] == block_.share[3][i];
    block_.entry_cap[i] = goes_on ? speed_square(i) : 0.0;
    before = i;
  }
  if (before < block_.count)
    block_.entry_cap[before + 1] = 0.0;
}

/// A block of its own, worked out move by move.
void Planner::take_arc(const Record& record, std::uint64_t number) {
  plan_block();
  Bend bend;
  const Course course = arc_course(record.move, bend);
  if (course.kind == CourseKind::none)
    return;
  if (course.kind == CourseKind::broken) {
    remark_on_broken(record);
    return;
  }
  const bool feeds = course.kind == CourseKind::feed;
  const Use use = feeds ? Use::retract : use_of(record);
  const double feed_mm_s = record.move.feed_mm_s;
  const Pace pace = course.kind == CourseKind::arc ? limits_.arc_pace(course, bend, feed_mm_s, use)
                                                   : limits_.line_pace(course, feed_mm_s, use);
  if (!feeds)
    records_[number].length_mm = course.length_mm;
  Direction before{};
  for (std::size_t axis = 0; axis < kAxisCount; ++axis) {
    before[axis] = block_.share[axis][0];
    block_.share[axis][1] = course.exit[axis];
  }
  const double slower = std::min(pace.speed_mm_s, block_.speed_mm_s[0]);
  const double softer = std::min(pace.acceleration_mm_s2, block_.acceleration_mm_s2[0]);
  block_.entry_cap[1] = std::min(
      slower * slower, limits_.corner_square({before, course.entry, last_feeds_, feeds}, softer));
  block_.speed_mm_s[1] = pace.speed_mm_s;
  block_.acceleration_mm_s2[1] = pace.acceleration_mm_s2;
  block_.two_accel[1] = 2.0 * pace.acceleration_mm_s2;
  block_.reach[1] = block_.two_accel[1] * course.length_mm;
  pending_.push_back({number, 1, false});
  if (feeds)
    block_feeds_.push_back(1);
  block_.count = 1;
  push_block();
}

void Planner::settle(LookAhead::End end) {
  plan_block();
  settle_pending(end);
}

void Planner::settle_pending(LookAhead::End end) {
  const std::size_t cuts = look_ahead_.cuts();
  const std::size_t settled = look_ahead_.settle(end);
  if (look_ahead_.cuts() > cuts)
    remark("look-ahead-cut", Severity::warning, first_pending_line(),
           "more moves than fit into memory depend on what comes after them; the first half was "
           "planned as if the plate ended there, which is slower, never faster",
           "extremely short moves do this; the plate's resolution is far below any machine's");
  if (settled == 0) {
    look_ahead_.drop(0);
    return;
  }
  seconds_.resize(settled);
  junctions_mm_s_.resize(settled + 1);
  find_times({settled, look_ahead_.reaches().data(), speeds_mm_s_.data(), two_accels_.data(),
              look_ahead_.squares().data()},
             junctions_mm_s_.data(), seconds_.data());
  hand_out_times(settled);
  look_ahead_.drop(settled);
  const auto drop = [settled](auto& pending) {
    pending.erase(pending.begin(), pending.begin() + static_cast<std::ptrdiff_t>(settled));
  };
  drop(speeds_mm_s_);
  drop(two_accels_);
}

void Planner::hand_out_times(std::size_t settled) {
  has_news_ = true;
  std::size_t gone = 0;
  for (std::size_t done = 0; done < settled;) {
    Pending& next = pending_[gone];
    if (!next.is_run) {
      records_[next.number].motion_s = seconds_[done++];
      ++gone;
      continue;
    }
    const std::size_t count = std::min(next.count, settled - done);
    strokes_.set_times(next.number, seconds_.data() + done, count);
    done += count;
    next.number += count;
    next.count -= count;
    gone += next.count == 0 ? 1 : 0;
  }
  pending_.erase(pending_.begin(), pending_.begin() + static_cast<std::ptrdiff_t>(gone));
}

std::uint64_t Planner::first_pending_line() const {
  const Pending& first = pending_.front();
  if (!first.is_run)
    return records_[first.number].record.line;
  const StrokeBuffer::Run& run = strokes_.run_of(first.number);
  return run.head.first_line + (first.number - run.first);
}

/// Passes on what is timed, if that is at least so much.
void Planner::emit(std::size_t at_least) {
  has_news_ = false;
  std::uint64_t ready_records = records_.end();
  std::uint64_t ready_strokes = strokes_.end();
  if (!pending_.empty()) {
    const Pending& first = pending_.front();
    if (first.is_run) {
      const StrokeBuffer::Run& run = strokes_.run_of(first.number);
      ready_strokes = run.first;
      ready_records = run.behind_records;
    } else {
      ready_records = first.number;
      ready_strokes = strokes_.first_behind(first.number);
    }
  }
  if (ready_records - records_.first() + (ready_strokes - strokes_.first()) < at_least)
    return;
  while (strokes_.first() < ready_strokes) {
    emit_records(strokes_.front().behind_records);
    sink_.take(strokes_.front_strokes());
    strokes_.drop_front();
  }
  emit_records(ready_records);
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
      return;
    default:
      break;
  }
  settle(LookAhead::End::stop);
  records_[records_.append(record)].motion_s = standing_s(record);
}

/// Seconds that the record itself states, or that follow from the machine's own motion.
double Planner::standing_s(const Record& record) const {
  const MotionLimits& machine = limits_.present();
  const auto feed_s = [&](double length_mm, double speed_mm_s) {
    return rest_to_rest_s(
        std::abs(length_mm), std::min(speed_mm_s, machine.speed_mm_s[3]),
        std::min(machine.retract_acceleration_mm_s2, machine.acceleration_mm_s2[3]));
  };
  const auto lift_s = [&] {
    return rest_to_rest_s(
        procedures_.retract_lift_mm, machine.speed_mm_s[2],
        std::min(machine.travel_acceleration_mm_s2, machine.acceleration_mm_s2[2]));
  };
  switch (record.kind) {
    case RecordKind::dwell:
    case RecordKind::takes_seconds:
      return std::isfinite(record.event.value) ? std::max(0.0, record.event.value) : 0.0;
    case RecordKind::firmware_retract:
      return feed_s(procedures_.retract_mm, procedures_.retract_speed_mm_s) + lift_s();
    case RecordKind::firmware_return:
      return feed_s(procedures_.retract_mm + procedures_.return_extra_mm,
                    procedures_.return_speed_mm_s) +
             lift_s();
    default:
      return 0.0;
  }
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
