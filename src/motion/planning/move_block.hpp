// Moves side by side, so that the arithmetic which every move needs is done for several at once:
// shape (length, directions), pace (speed, acceleration) and corners. The same operations in the
// same order as for a single straight move (path.hpp, limits.hpp, corner.hpp), so the same bits,
// which a test holds. Written twice, as a function of one move with its choices is not done for
// several. Of E alone and of arcs the block knows nothing: who puts one in mends what is found of
// it.
#pragma once

#include <array>
#include <cstddef>

#include "motion/planning/corner.hpp"
#include "motion/planning/limits.hpp"
#include "reading/interpreter/row_queue.hpp"

namespace platetally::motion {

struct MoveBlock {
  static constexpr std::size_t kMoves = 64;
  /// Rows are written in fours, the last ones with whatever is behind them.
  static constexpr std::size_t kWritableBehind = interpreter::kReadableBehind;
  /// Slot 0 is the move before the block, for the first corner.
  using Column = std::array<double, 1 + kMoves + kWritableBehind>;

  std::size_t count = 0;      ///< moves are in slots 1 .. count
  bool leaves_level = false;  ///< one of them, or the one before, goes along Z

  // Given, but filament and feed, which are where they wait for their times.
  std::array<Column, 3> way_mm;    ///< X Y Z; where Z is not written, as assume_level() says
  Column least_feed_mm_s;          ///< where not written, as assume_prints() says
  Column most_acceleration_mm_s2;  ///< the same

  // Found.
  std::array<Column, 4> share;  ///< of each axis X Y Z E in a millimetre of the path; Z is 0 in a
                                ///< block that does not leave its level
  Column speed_mm_s;
  Column acceleration_mm_s2;
  Column length_mm;           ///< in X Y Z
  Column right_square;        ///< by the corner speed: CornerLegs, of each leg
  double reach_before = 0.0;  ///< of the move before the block, the same

  bool is_full() const { return count == kMoves; }
  /// Appends `size` rows from number `first` on, one at least, for which there is room, and copies
  /// their columns to where they wait, with kWritableBehind numbers more at most.
  void add(const interpreter::Rows& rows, std::size_t first, std::size_t size,
           const interpreter::RowRoom& room);
  void climb(const interpreter::Rows& rows, std::size_t first, std::size_t size);
  /// The last move becomes the move before, and the block is empty.
  void restart();
  /// What the first slots say where nothing else is written, as of nearly all moves: that they
  /// print, and that they do not go along Z.
  void assume_prints(const UseLimits& print, std::size_t slots = kMoves);
  void assume_level(std::size_t slots = kMoves);
};

/// Where a block's moves wait: columns from its first move on.
struct BlockColumns {
  const double* e_mm;
  const double* feed_mm_s;  ///< 0 where none is stated
  double* top_square;       ///< of the speed that the move itself allows
  double* two_accel;        ///< 2 a
  double* reach;            ///< 2 a L
  double* entry_cap;        ///< square of the speed at the corner before
};

/// Lengths, shares, speeds, accelerations and reaches. False: an axis was at its limit, or a move
/// had no feed, or one below Limits::kLeast.
bool find_paces(const PathLimits& limits, MoveBlock& block, const BlockColumns& columns);

/// Corners in X Y Z by junction deviation, and by the steps of all axes.
void find_deviation_corners(double deviation_mm, const MoveBlock& block, double* entry_cap);
void find_step_corners(const std::array<double, kAxisCount>& step_mm_s, const MoveBlock& block,
                       double* entry_cap);

/// The same by the corner speed, given as right_angle_square(). `as_asked`: every move has the
/// acceleration of its kind.
void find_speed_corners(double right_square, bool as_asked, double e_step_mm_s, MoveBlock& block,
                        const BlockColumns& columns);

/// Moves whose junctions are settled; squares: of the speeds, count + 1 of them.
struct SettledMoves {
  std::size_t count;
  const double* reach;
  const double* top_square;
  const double* two_accel;
  const double* squares;
};

/// Speeds at their count + 1 junctions, and travel_time_s() of each, to the bit: the lesser of two
/// squares has the lesser root, and the root of a rounded square is what was squared.
void find_times(const SettledMoves& moves, double* speeds_mm_s, double* seconds);

}  // namespace platetally::motion
