// What each tool lays, visit by visit: the material for finding a prime tower from motion alone.
//
// A visit is what a tool lays between two travels. A segment is what happens between two swaps. The
// log is bounded: when it is full, visits to places where tools hardly ever land after a swap are
// joined, because they are on no tower; only if that is not enough, the oldest ones are dropped, a
// segment at a time, and how much that was is kept.
#pragma once

#include <cstdint>
#include <vector>

#include "material/swaps/box.hpp"
#include "material/swaps/deposit_map.hpp"
#include "material/swaps/purge_book.hpp"
#include "motion/timeline/swap_watch.hpp"
#include "platetally/machine.hpp"
#include "reading/interpreter/record.hpp"
#include "reading/interpreter/rows.hpp"

namespace platetally::swaps {

struct Visit {
  std::uint32_t layer = 0;
  std::uint32_t segment = 0;
  std::int16_t tool = 0;
  std::uint8_t rank = kNoRank;  ///< of a landing and what follows it there: see Layer
  bool leads = false;           ///< the first of a segment that begins with a swap
  bool closed = false;          ///< ends where it began, as a wall does
  bool elsewhere = false;       ///< joined from visits to places where tools do not land
  Box box;
  float x_mm = 0.0F;  ///< where it begins
  float y_mm = 0.0F;
  float z_mm = 0.0F;
  double print_s = 0.0;  ///< seconds counted as print so far
  double part_mm = 0.0;  ///< filament counted as part so far
  Relaid relaid;
};

struct Segment {
  int from = -1;  ///< -1: before the first swap
  int to = -1;
  std::size_t first_visit = 0;
  double purged_mm = 0.0;      ///< known purge behind the swap, before anything is laid
  bool marked_on_bed = false;  ///< purge that comments mark was laid behind it
};

/// What was laid at once between marks of purge.
struct MarkedDeposit {
  float x_mm = 0.0F;  ///< where it begins
  float y_mm = 0.0F;
  double mm = 0.0;  ///< of filament
};

/// What was laid on an island before the first swap and could not be kept.
struct DroppedDeposit {
  float x_mm = 0.0F;  ///< on the island
  float y_mm = 0.0F;
  double mm = 0.0;  ///< of filament
};

class DepositLog {
 public:
  explicit DepositLog(const Machine& machine);

  /// The next record, with what it did to the tool in hand and where its filament goes.
  void take(const interpreter::Record& record, const timeline::Swap& swap, const Feed& feed);

  /// Whether strokes that follow the last one only widen and add to its visit.
  bool is_plain() const { return laying_; }
  /// Several such strokes at once, the last of which ends at x, y; draw() is told them before.
  void add_strokes(const Box& box, double part_mm, double print_s, double x_mm, double y_mm);
  /// Strokes `first` to `last` - 1, which add_strokes() is to be told.
  void draw(const interpreter::Rows& rows, std::size_t first, std::size_t last);

  const std::vector<Visit>& visits() const { return visits_; }
  const std::vector<Segment>& segments() const { return segments_; }
  /// Swaps before a visit was laid, those included whose segments were dropped.
  std::uint32_t swaps_before(const Visit& visit) const {
    return visit.segment == 0 ? 0 : visit.segment + dropped_segments_;
  }
  const std::vector<MarkedDeposit>& marked() const { return marked_; }
  /// Islands of what was laid; in a plate of few layers the first one counts too.
  Islands islands() const { return map_.islands(newest_layer_ <= kFewLayers); }
  /// Nothing more is asked: gives its memory back.
  void forget();
  /// The mean height of a layer; volume of a mm of filament of the machine's first tool.
  double layer_mm() const { return layer_mm_; }
  double mm3_per_mm() const { return mm3_per_mm_; }
  /// Filament of visits behind swaps that had to be left out though they might be on a tower.
  double dropped_mm() const { return dropped_mm_; }
  /// The same of those before the first swap, island by island.
  const std::vector<DroppedDeposit>& dropped_before_swaps() const { return dropped_early_; }

 private:
  static constexpr std::uint32_t kFewLayers = 3;

  void begin_segment(const timeline::Swap& swap);
  void take_purge(const interpreter::Record& record, const Feed& feed);
  void begin_visit(const interpreter::Record& record);
  void end_visit();
  void draw_move(const interpreter::Move& move);
  void draw_line(double from_x_mm, double from_y_mm, double to_x_mm, double to_y_mm);
  bool draws_in(std::uint32_t layer) const;
  void compact();
  void join_elsewhere(const Islands& found);
  void drop_oldest(const Islands& found);
  void drop_visits(std::size_t count, const Islands& found);
  void drop_segments();

  double mm3_per_mm_;
  double layer_mm_ = 0.2;
  bool keeps_;  ///< a machine of one tool swaps nothing
  DepositMap map_;
  std::vector<Visit> visits_;
  std::vector<Segment> segments_;
  std::vector<MarkedDeposit> marked_;
  bool laying_marked_ = false;
  Box landing_;           ///< of the landing, while the tool has not gone elsewhere
  bool laying_ = false;   ///< the last move laid: the present visit goes on
  bool leading_ = false;  ///< the next visit is the first after a swap
  bool draws_ = false;    ///< the present visit
  std::uint32_t newest_layer_ = 0;
  std::uint32_t first_swap_layer_ = 0;
  std::uint8_t landings_in_layer_ = 0;
  double x_mm_ = 0.0;  ///< where the last stroke ended
  double y_mm_ = 0.0;
  double dropped_mm_ = 0.0;
  std::vector<DroppedDeposit> dropped_early_;
  std::uint32_t dropped_segments_ = 0;
};

}  // namespace platetally::swaps
