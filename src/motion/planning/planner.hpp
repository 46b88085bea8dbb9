// Gives every move the time that the machine's motion takes for it, beside its row.
//
// Joins the parts: path (shape) -> limits (speed, acceleration) -> corner -> cruise share, if any
// -> look-ahead -> profile. Rows and events come out once each, in program order, as soon as
// nothing that may follow can change their times. The machine stands still at the start, at the
// end, and at every event that needs it to: all but set points, fans and limits. Limits that the
// plate sets hold for the moves after.
#pragma once

#include <cstdint>
#include <vector>

#include "base/column_queue.hpp"
#include "base/diagnostics.hpp"
#include "base/list_queue.hpp"
#include "motion/planning/cruise_share.hpp"
#include "motion/planning/limits.hpp"
#include "motion/planning/lookahead.hpp"
#include "motion/planning/move_block.hpp"
#include "motion/planning/profile.hpp"
#include "platetally/machine.hpp"
#include "reading/interpreter/row_queue.hpp"

namespace platetally::motion {

class Planner : public interpreter::RowSink {
 public:
  Planner(const Machine& machine, interpreter::RowSink& sink);

  void take(const interpreter::Rows& rows) override;
  void take(const interpreter::Record& event) override;
  /// After the last one: everything that is pending flows on.
  void finish();

  const base::Diagnostics& diagnostics() const { return diagnostics_; }

 private:
  using Number = interpreter::RowQueue::Number;

  void gather(const interpreter::Rows& rows, std::size_t first, std::size_t count);
  void gather_one(const interpreter::Rows& row, interpreter::RunKind kind);
  void plan_as(interpreter::RunKind kind, const interpreter::Rows& rows, std::size_t first,
               std::size_t count);
  void fit_to_use(std::size_t first_slot, const interpreter::Rows& rows, std::size_t first,
                  std::size_t count);
  void feed_from(std::size_t first_slot, const double* e_mm, std::size_t count);
  void gather_arc(const interpreter::Rows& arc);
  bool gather_chords(const interpreter::Rows& rows, const interpreter::Record& arc,
                     const Path& path);
  void gather_chord(const interpreter::Move& chord, const interpreter::Run& arc);
  void gather_idle(const interpreter::Rows& idle, bool is_broken);
  void begin_cut(const interpreter::Rows& move);
  void remark_on_feed(double feed_mm_s, std::uint64_t line);
  void remark_on_feeds();
  void fill_in(std::size_t slot, double way_mm);
  void set_limits(const interpreter::Record& record);
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
  std::uint64_t line_of(Number row) const;
  void emit(std::size_t at_least);
  void emit_run();
  void emit_events(std::uint64_t end);
  std::size_t waiting() const { return rows_.rows() + rows_.events().size() + cut_.size(); }
  void bound_memory();
  void remark(const char* code, Severity severity, std::uint64_t line, const char* message,
              const char* help);

  interpreter::RowSink& sink_;
  Procedures procedures_;
  Limits limits_;
  base::Diagnostics diagnostics_;

  struct BlockArc {
    std::size_t slot;
    Path path;
    Pace pace;
  };

  /// Every planned move has a row here, from gathering to its time.
  interpreter::RowQueue rows_;
  Number settled_ = 0;  // rows before this one have their times
  /// A move whose rows are not its own: the chords of an arc, or none.
  struct Cut {
    std::uint64_t run;  ///< its number
    interpreter::Record move;
  };
  base::ListQueue<Cut> cut_;
  CruiseShare cruise_;
  LookAhead look_ahead_;
  MoveBlock block_{};                     // the last moves, which are not pending yet
  bool block_is_mixed_ = false;           // with moves that are no strokes
  std::vector<std::size_t> block_feeds_;  // slots of E alone
  std::vector<BlockArc> block_arcs_;
  // Of each pending move: the square of the speed that it allows, twice its acceleration.
  static constexpr std::size_t kTopSquare = 0, kTwoAccel = 1;
  base::ColumnQueue<2> paces_;
  base::ColumnQueue<1> junctions_;  // room for the speeds at those that just settled
  bool has_news_ = false;           // something settled since the last look at what may go on
  Number feeds_seen_ = 0;           // rows before this one have been remarked on
  bool last_feeds_ = false;         // the move before the block is of E alone
};

}  // namespace platetally::motion
