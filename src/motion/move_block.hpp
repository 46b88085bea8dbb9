// Straight moves side by side, so that the arithmetic which every move needs is done for several at
// once: shape (length, directions), pace (speed, acceleration) and corners. The same operations in
// the same order as for a single move (course.hpp, limits.hpp, corner.hpp), so the same bits, which
// a test holds. Written twice, as a function of one move with its choices is not done for several.
#pragma once

#include <array>
#include <cstddef>

#include "interpreter/strokes.hpp"
#include "motion/corner.hpp"
#include "motion/limits.hpp"

namespace platetally::motion {

struct MoveBlock {
  static constexpr std::size_t kMoves = 64;
  /// Slot 0 is the move before the block, for the first corner.
  using Column = std::array<double, kMoves + 1>;

  std::size_t count = 0;  ///< moves are in slots 1 .. count

  // Given. E alone has no x, y, z, and its length is that of the filament.
  std::array<Column, 4> way_mm;  ///< X Y Z E
  Column square_mm2;             ///< of the length
  Column feed_mm_s;              ///< infinite where none is stated
  Column least_feed_mm_s;
  Column most_acceleration_mm_s2;

  // Found.
  Column length_mm;
  std::array<Column, 4> share;  ///< of each axis in a millimetre of the path
  Column speed_mm_s;
  Column acceleration_mm_s2;
  Column reach;      ///< 2 a L
  Column two_accel;  ///< 2 a
  Column entry_cap;  ///< square of the speed at the corner before

  bool is_full() const { return count == kMoves; }
  /// The last move becomes the move before, and the block is empty.
  void restart();
};

/// Appends strokes, for which there is room. False, and none appended, where one is too short or
/// too long for arithmetic or has no feed.
bool add_strokes(const interpreter::Strokes& strokes, const UseLimits& limits, MoveBlock& block);

/// Lengths and shares. Moves of E alone get a share of about 1, not exactly.
void find_shapes(MoveBlock& block);

/// Speeds, accelerations and reaches from lengths and shares.
void find_paces(const PathLimits& limits, MoveBlock& block);

/// Corners in X Y Z by junction deviation, and by the steps of all axes. E alone is not minded.
void find_deviation_corners(double deviation_mm, MoveBlock& block);
void find_step_corners(const std::array<double, kAxisCount>& step_mm_s, MoveBlock& block);

/// Moves whose junctions are settled; squares: of the speeds, count + 1 of them.
struct SettledMoves {
  std::size_t count;
  const double* reach;
  const double* speed_mm_s;
  const double* two_accel;
  const double* squares;
};

/// Speeds at their count + 1 junctions, and travel_time_s() of each.
void find_times(const SettledMoves& moves, double* speeds_mm_s, double* seconds);

}  // namespace platetally::motion
