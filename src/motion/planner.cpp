#include "motion/planner.hpp"

#include <algorithm>
#include <cmath>

namespace platetally::motion {

using interpreter::Record;
using interpreter::RecordKind;

namespace {

/// Records go on in batches of about this size.
constexpr std::size_t kEmitAtLeast = interpreter::kBatchSize;

Use use_of(const Record& record, CourseKind kind) {
  if (kind == CourseKind::feed)
    return Use::retract;
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
    if (records_.size() >= LookAhead::kMostPending)
      bound_memory();
  }
  emit(kEmitAtLeast);
}

void Planner::finish() {
  settle(LookAhead::End::stop);
  emit(1);
}

void Planner::take_move(const Record& record) {
  const std::uint64_t number = records_.append(record);
  Bend bend;
  const Course course =
      record.move.is_arc() ? arc_course(record.move, bend) : straight_course(record.move);
  switch (course.kind) {
    case CourseKind::none:
      return;
    case CourseKind::broken:
      remark("move-too-long", Severity::error, record.line,
             "a move is longer than a million kilometres; it takes no time in the account",
             "check the coordinates and E of this line");
      return;
    default:
      break;
  }
  const Use use = use_of(record, course.kind);
  const double feed_mm_s = record.move.feed_mm_s;
  if (feed_mm_s > 0.0 && feed_mm_s < Limits::kLeast)
    remark("feed-too-low", Severity::warning, record.line,
           "the feed is below 6e-5 mm/min; the move is planned at that feed", "check the F word");
  if (course.kind != CourseKind::feed)
    records_[number].length_mm = course.length_mm;
  plan(course,
       course.kind == CourseKind::arc ? limits_.arc_pace(course, bend, feed_mm_s, use)
                                      : limits_.line_pace(course, feed_mm_s, use),
       number);
}

void Planner::plan(const Course& course, const Pace& pace, std::uint64_t number) {
  const bool feeds = course.kind == CourseKind::feed;
  double cap = 0.0;
  if (look_ahead_.pending() > 0) {
    const double slower = std::min(pace.speed_mm_s, last_pace_.speed_mm_s);
    const double softer = std::min(pace.acceleration_mm_s2, last_pace_.acceleration_mm_s2);
    const Corner corner{last_exit_, course.entry, last_feeds_, feeds};
    cap = std::min(slower * slower, limits_.corner_square(corner, softer));
  }
  last_exit_ = course.exit;
  last_pace_ = pace;
  last_feeds_ = feeds;

  const double two_accel = 2.0 * pace.acceleration_mm_s2;
  const Reach reach{two_accel * course.length_mm, pace.speed_mm_s, two_accel};
  look_ahead_.push(cap, reach.square);
  reaches_.push_back(reach);
  numbers_.push_back(number);
  if (look_ahead_.due())
    settle(LookAhead::End::open);
}

void Planner::settle(LookAhead::End end) {
  const std::size_t cuts = look_ahead_.cuts();
  const std::size_t settled = look_ahead_.settle(end);
  if (look_ahead_.cuts() > cuts)
    remark("look-ahead-cut", Severity::warning, records_[numbers_.front()].record.line,
           "more moves than fit into memory depend on what comes after them; the first half was "
           "planned as if the plate ended there, which is slower, never faster",
           "extremely short moves do this; the plate's resolution is far below any machine's");
  const std::span<const double> squares = look_ahead_.squares();
  double entry_square = settled > 0 ? squares[0] : 0.0;
  double entry = std::sqrt(entry_square);
  for (std::size_t i = 0; i < settled; ++i) {
    const double exit_square = squares[i + 1];
    const double exit = std::sqrt(exit_square);
    records_[numbers_[i]].motion_s =
        travel_time_s(reaches_[i], entry, entry_square, exit, exit_square);
    entry_square = exit_square;
    entry = exit;
  }
  look_ahead_.drop(settled);
  const auto count = static_cast<std::ptrdiff_t>(settled);
  reaches_.erase(reaches_.begin(), reaches_.begin() + count);
  numbers_.erase(numbers_.begin(), numbers_.begin() + count);
}

/// Passes on what is timed, if that is at least so much.
void Planner::emit(std::size_t at_least) {
  const std::uint64_t waiting = numbers_.empty() ? records_.end() : numbers_.front();
  const auto ready = static_cast<std::size_t>(waiting - records_.first());
  if (ready < at_least)
    return;
  sink_.take(records_.front(ready));
  records_.drop(ready);
}

/// Records gather behind a move that cannot settle: let it.
void Planner::bound_memory() {
  emit(1);
  while (records_.size() >= LookAhead::kMostPending) {
    settle(LookAhead::End::cut);
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
