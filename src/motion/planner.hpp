// Gives every record the time that the machine's motion takes for it.
//
// Joins the parts: course (shape) -> limits (speed, acceleration) -> corner -> look-ahead ->
// profile. Records come out once each, in program order, as soon as nothing that may follow can
// change their times. The machine stands still at the start, at the end, and at every record that
// needs it to: all but moves, set points, fans and limits. Limits that the plate sets hold for the
// moves after.
#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "base/diagnostics.hpp"
#include "motion/limits.hpp"
#include "motion/lookahead.hpp"
#include "motion/profile.hpp"
#include "motion/record_buffer.hpp"
#include "motion/timed_record.hpp"
#include "platetally/machine.hpp"

namespace platetally::motion {

class TimedSink {
 public:
  virtual ~TimedSink() = default;
  /// The records are only valid during the call.
  virtual void take(std::span<const TimedRecord> batch) = 0;
};

class Planner {
 public:
  Planner(const Machine& machine, TimedSink& sink);

  void take(std::span<const interpreter::Record> batch);
  /// After the last record: everything that is pending flows on.
  void finish();

  const base::Diagnostics& diagnostics() const { return diagnostics_; }

 private:
  void take_move(const interpreter::Record& record);
  void take_event(const interpreter::Record& record);
  double standing_s(const interpreter::Record& record) const;
  void set_limits(const interpreter::Record& record);
  void plan(const Course& course, const Pace& pace, std::uint64_t number);
  void settle(LookAhead::End end);
  void emit(std::size_t at_least);
  void bound_memory();
  void remark(const char* code, Severity severity, std::uint64_t line, const char* message,
              const char* help);

  TimedSink& sink_;
  Procedures procedures_;
  Limits limits_;
  base::Diagnostics diagnostics_;

  RecordBuffer records_;
  LookAhead look_ahead_;
  std::vector<Reach> reaches_;          // of each pending move
  std::vector<std::uint64_t> numbers_;  // its record

  // The move before, for the corner; meaningful only while moves are pending or just settled.
  Direction last_exit_{};
  Pace last_pace_{};
  bool last_feeds_ = false;
};

}  // namespace platetally::motion
