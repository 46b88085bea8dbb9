// Gives every record the time that the machine's motion takes for it.
//
// Joins the parts: path (shape) -> limits (speed, acceleration) -> corner -> cruise share, if any
// -> look-ahead -> profile. Records come out once each, in program order, as soon as nothing that
// may follow can change their times. The machine stands still at the start, at the end, and at
// every record that needs it to: all but moves, set points, fans and limits. Limits that the plate
// sets hold for the moves after.
#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "base/diagnostics.hpp"
#include "motion/planning/cruise_share.hpp"
#include "motion/planning/limits.hpp"
#include "motion/planning/lookahead.hpp"
#include "motion/planning/move_block.hpp"
#include "motion/planning/profile.hpp"
#include "motion/planning/record_buffer.hpp"
#include "motion/planning/timed_strokes.hpp"
#include "motion/planning/waiting_moves.hpp"
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
  void gather_straight(const interpreter::Record& record);
  void gather_arc(const interpreter::Record& record, const Path& path, const Bend& bend);
  bool gather_chords(const interpreter::Record& record, const Path& path);
  std::size_t gather(const interpreter::Record& record, Use use);
  void fill_in(std::size_t slot, double way_mm);
  void take_event(const interpreter::Record& record);
  void set_limits(const interpreter::Record& record);
  void gather_strokes(const interpreter::Strokes& strokes);
  void open_block();
  void plan_block();
  BlockColumns columns_of_block();
  void find_corners(bool as_asked, const BlockColumns& columns);
  void mend(std::size_t slot, const Path& path, const Pace& pace, const BlockColumns& columns);
  void mend_feeds(const BlockColumns& columns);
  void mend_arcs(const BlockColumns& columns);
  void mend_arc_corners(const BlockColumns& columns);
  void mend_feed_corners(const BlockColumns& columns);
  void clear_block();
  void settle(LookAhead::End end);
  void settle_pending(LookAhead::End end);
  void share_cruise(std::uint64_t line);
  void hand_out_times();
  std::uint64_t first_pending_line() const;
  void emit(std::size_t at_least);
  void emit_records(std::uint64_t end);
  std::size_t waiting() const { return records_.size() + moves_.strokes(); }
  void bound_memory();
  void remark_on_broken(const interpreter::Record& record);
  void remark(const char* code, Severity severity, std::uint64_t line, const char* message,
              const char* help);

  TimedSink& sink_;
  Procedures procedures_;
  Limits limits_;
  base::Diagnostics diagnostics_;

  struct BlockArc {
    std::size_t slot;
    Path path;
    Pace pace;
  };

  RecordBuffer records_;
  WaitingMoves moves_;
  WaitingMoves::Number settled_ = 0;  // moves before this one have their times
  CruiseShare cruise_;
  LookAhead look_ahead_;
  MoveBlock block_{};                     // the last moves, which are not pending yet
  bool block_is_mixed_ = false;           // with moves that have records of their own
  std::vector<std::size_t> block_feeds_;  // slots of E alone
  std::vector<BlockArc> block_arcs_;
  // Of each pending move: the square of the speed that it allows, twice its acceleration.
  static constexpr std::size_t kTopSquare = 0, kTwoAccel = 1;
  ColumnQueue<2> paces_;
  ColumnQueue<1> junctions_;  // room for the speeds at those that just settled
  bool has_news_ = false;     // something settled since the last look at what may go on
  bool last_feeds_ = false;   // the move before the block is of E alone
};

}  // namespace platetally::motion
