// Gives every record the time that the machine's motion takes for it.
//
// Joins the parts: course (shape) -> limits (speed, acceleration) -> corner -> look-ahead ->
// profile. Records come out once each, in program order, as soon as nothing that may follow can
// change their times. The machine stands still at the start, at the end, and at every record that
// needs it to: all but moves, set points, fans and limits. Limits that the plate sets hold for the
// moves after.
#pragma once

#include <array>
#include <cstdint>
#include <span>
#include <vector>

#include "base/diagnostics.hpp"
#include "motion/limits.hpp"
#include "motion/lookahead.hpp"
#include "motion/move_block.hpp"
#include "motion/profile.hpp"
#include "motion/record_buffer.hpp"
#include "motion/stroke_buffer.hpp"
#include "motion/timed_strokes.hpp"
#include "platetally/machine.hpp"

namespace platetally::motion {

class Planner {
 public:
  Planner(const Machine& machine, TimedSink& sink);

  void take(std::span<const interpreter::Record> batch);
  void take(const interpreter::Strokes& strokes);
  /// After the last record: everything that is pending flows on.
  void finish();

  const base::Diagnostics& diagnostics() const { return diagnostics_; }

 private:
  void take_move(const interpreter::Record& record);
  void take_arc(const interpreter::Record& record, std::uint64_t number);
  void gather(const interpreter::Record& record, std::uint64_t number);
  void take_event(const interpreter::Record& record);
  double standing_s(const interpreter::Record& record) const;
  void set_limits(const interpreter::Record& record);
  void gather_strokes(const interpreter::Strokes& strokes);
  void plan_block();
  void push_block();
  void mend_feed_corners();
  void settle(LookAhead::End end);
  void settle_pending(LookAhead::End end);
  void hand_out_times(std::size_t settled);
  std::uint64_t first_pending_line() const;
  void emit(std::size_t at_least);
  void emit_records(std::uint64_t end);
  std::size_t waiting() const { return records_.size() + strokes_.size(); }
  void bound_memory();
  void remark_on_broken(const interpreter::Record& record);
  void remark(const char* code, Severity severity, std::uint64_t line, const char* message,
              const char* help);

  TimedSink& sink_;
  Procedures procedures_;
  Limits limits_;
  base::Diagnostics diagnostics_;

  /// Moves that wait for their times: one record's, or some of a run.
  struct Pending {
    std::uint64_t number;  // of the record, or of the first stroke
    std::size_t count;
    bool is_run;
  };

  /// A move of the block that is no stroke.
  struct BlockRecord {
    std::size_t slot;
    std::uint64_t number;
    bool feeds;  // E alone
  };

  RecordBuffer records_;
  StrokeBuffer strokes_;
  std::vector<Pending> pending_;
  LookAhead look_ahead_;
  MoveBlock block_{};  // straight moves that are not pending yet
  std::vector<BlockRecord> block_records_;
  std::vector<std::size_t> block_feeds_;  // slots of E alone
  // Of each pending move: its own speed, twice its acceleration.
  std::vector<double> speeds_mm_s_;
  std::vector<double> two_accels_;
  std::vector<double> seconds_;         // of those that just settled,
  std::vector<double> junctions_mm_s_;  // and their speeds from end to end
  bool has_news_ = false;               // something settled since the last look at what may go on
  bool last_feeds_ = false;             // the move before the block is of E alone
};

}  // namespace platetally::motion
