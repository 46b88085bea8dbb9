// What each tool lays, visit by visit: the material for finding a prime tower from motion alone.
//
// A visit is what a tool lays between two travels. A segment is what happens between two swaps. The
// log is bounded; when it is full, visits that can belong to no tower are dropped.
#pragma once

#include <algorithm>
#include <cstdint>
#include <vector>

#include "motion/timed_record.hpp"
#include "platetally/machine.hpp"
#include "swaps/purge_book.hpp"
#include "timeline/swap_watch.hpp"

namespace platetally::swaps {

/// An axis-parallel rectangle of the bed plane.
struct Box {
  float x_min_mm = 1e9F, x_max_mm = -1e9F, y_min_mm = 1e9F, y_max_mm = -1e9F;

  void include(double x_mm, double y_mm) {
    x_min_mm = std::min(x_min_mm, static_cast<float>(x_mm));
    x_max_mm = std::max(x_max_mm, static_cast<float>(x_mm));
    y_min_mm = std::min(y_min_mm, static_cast<float>(y_mm));
    y_max_mm = std::max(y_max_mm, static_cast<float>(y_mm));
  }
  void include(const Box& other) {
    include(other.x_min_mm, other.y_min_mm);
    include(other.x_max_mm, other.y_max_mm);
  }
  bool empty() const { return x_max_mm < x_min_mm; }
  bool lies_in(const Box& other, float margin_mm) const {
    return x_min_mm >= other.x_min_mm - margin_mm && x_max_mm <= other.x_max_mm + margin_mm &&
           y_min_mm >= other.y_min_mm - margin_mm && y_max_mm <= other.y_max_mm + margin_mm;
  }
  bool meets(const Box& other, float margin_mm) const {
    return x_min_mm <= other.x_max_mm + margin_mm && x_max_mm >= other.x_min_mm - margin_mm &&
           y_min_mm <= other.y_max_mm + margin_mm && y_max_mm >= other.y_min_mm - margin_mm;
  }
  float width_mm() const { return x_max_mm - x_min_mm; }
  float depth_mm() const { return y_max_mm - y_min_mm; }
};

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

class VisitLog {
 public:
  explicit VisitLog(const Machine& machine);

  /// The next record, with what it did to the tool in hand and where its filament goes.
  void take(const motion::TimedRecord& timed, const timeline::Swap& swap, const Feed& feed);

  const std::vector<Visit>& visits() const { return visits_; }
  const std::vector<Segment>& segments() const { return segments_; }
  /// True once visits had to be left out that might have mattered.
  bool overflowed() const { return overflowed_; }

  /// Share of the cells in `box`, among those that leading visits laid on, that two tools or more
  /// laid on. Cells are kCellMm wide.
  double mixed_share(const Box& box) const;

 private:
  void begin_visit(const interpreter::Record& record);
  void mark_cells(const interpreter::Record& record);
  void compact();

  std::vector<Visit> visits_;
  std::vector<Segment> segments_;
  std::vector<std::uint32_t> tools_by_cell_;  ///< bit t: tool t laid on it in a leading visit
  double cells_x_min_mm_;
  double cells_y_min_mm_;
  int cell_columns_;
  int cell_rows_;
  bool laying_ = false;   ///< the last move laid: the present visit goes on
  bool leading_ = false;  ///< the next visit is the first after a swap
  bool overflowed_ = false;
};

}  // namespace platetally::swaps
