// What each tool lays, visit by visit: the material for finding a prime tower from motion alone.
//
// A visit is what a tool lays between two travels. A segment is what happens between two swaps. The
// log is bounded; when it is full, visits that can belong to no tower are dropped.
#pragma once

#include <cstdint>
#include <vector>

#include "material/swaps/box.hpp"
#include "material/swaps/purge_book.hpp"
#include "motion/planning/timed_record.hpp"
#include "motion/timeline/swap_watch.hpp"
#include "platetally/machine.hpp"

namespace platetally::swaps {

struct Visit {
  std::uint32_t layer = 0;
  std::uint32_t segment = 0;
  std::int16_t tool = 0;
  bool leads = false;  ///< the first of a segment that begins with a swap
  Box box;
  double part_mm = 0.0;  ///< filament counted as part so far
  double print_s = 0.0;  ///< seconds counted as print so far
};

struct Segment {
  int from = -1;  ///< -1: before the first swap
  int to = -1;
  std::size_t first_visit = 0;
  Box elsewhere;  ///< all that is laid after the leading visit
};

class DepositLog {
 public:
  explicit DepositLog(const Machine& machine);

  /// The next record, with what it did to the tool in hand and where its filament goes.
  void take(const motion::TimedRecord& timed, const timeline::Swap& swap, const Feed& feed);

  /// Whether strokes that follow the last one only widen and add to its visit.
  bool is_plain() const { return laying_ && landing_.empty() && !visits_.back().leads; }
  /// Several such strokes at once.
  void add_strokes(const Box& box, double part_mm, double print_s) {
    Visit& visit = visits_.back();
    visit.box.include(box);
    visit.part_mm += part_mm;
    visit.print_s += print_s;
    segments_.back().elsewhere.include(box);
  }

  const std::vector<Visit>& visits() const { return visits_; }
  const std::vector<Segment>& segments() const { return segments_; }
  /// Nothing more is asked: gives its memory back.
  void forget() {
    visits_ = {};
    segments_ = {};
    tools_by_cell_ = {};
  }
  /// True once visits had to be left out that might have mattered.
  bool overflowed() const { return overflowed_; }

  /// Share of the cells in `box` that two tools or more laid on, among those that tools laid on
  /// between landing there and going elsewhere. Cells are kCellMm wide.
  double mixed_share(const Box& box) const;

 private:
  void begin_visit(const interpreter::Record& record);
  void mark_cells(const interpreter::Record& record);
  void compact();

  std::vector<Visit> visits_;
  std::vector<Segment> segments_;
  std::vector<std::uint32_t> tools_by_cell_;  ///< bit t: tool t laid on it since it landed there
  double cells_x_min_mm_;
  double cells_y_min_mm_;
  int cell_columns_;
  int cell_rows_;
  Box landing_;           ///< of the leading visit, while the tool has not gone elsewhere
  bool laying_ = false;   ///< the last move laid: the present visit goes on
  bool leading_ = false;  ///< the next visit is the first after a swap
  bool overflowed_ = false;
};

}  // namespace platetally::swaps
