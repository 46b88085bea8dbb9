// The speed that short moves between slow corners reach: some of their length is to be cruised.
//
// With a share s in force, a move may use 1 - s of its length to gain and lose speed. With w = v^2
// at the junctions, caps by corners and feeds, and r = (1 - s) 2 a L, look-ahead (lookahead.hpp)
// gives the smoothed profile: the fastest with those reaches. It is a row of rises and falls: moves
// that use all of r to gain speed, one summit that does neither or begins to fall, moves that use
// all of r to lose it. The summit's own peak, min(v_max^2, (w0 + w1 + r) / 2), is the highest of
// them, and no move of that rise and fall goes faster in the profile that is run, whose reaches are
// 2 a L as ever. So a zigzag is not run at full peak, while a long move, which reaches its feed
// anyway, is as fast as without.
//   gains: w1 >= w0 + (1 - 1e-9) r    loses: w0 >= w1 + (1 - 1e-9) r
//   summit: the first of a rise and fall that does not gain; the next rise and fall begins with
//   the first move behind it that does not lose
// Moves before the plate's first share belong to none and are not held back.
//
// Streaming: look-ahead says which squares no continuation can change; a rise waits for its summit.
// Memory: as look-ahead's; a rise that is longer is cut, as if it ended there (slower, never
// faster). Range: 0 <= s < 1; a window of moves and a share exclude one another, for a controller
// with a window sees other ends. Source: common practice of open motion controllers (from memory);
// the profile is look-ahead's own.
#pragma once

#include <cstddef>
#include <cstdint>

#include "base/column_queue.hpp"
#include "motion/planning/lookahead.hpp"

namespace platetally::motion {

class CruiseShare {
 public:
  bool is_on() const { return is_on_; }
  /// From now on moves pass through here. Those that `look_ahead` has pending are taken over; they
  /// are not held back.
  void turn_on(LookAhead& look_ahead);

  /// As LookAhead has it, for moves of the same share.
  LookAhead::Room room_for(std::size_t moves) {
    held_.make_room(moves);
    return {held_.behind(kCap), held_.behind(kReach)};
  }
  void add(std::size_t moves, double share);
  bool due() const { return smooth_.due(); }

  /// Hands moves whose summit is known over to `look_ahead` and lowers their top squares, and the
  /// caps beside them, to its peak. `top_square`: of the first move that is held.
  void settle(LookAhead::End end, double* top_square, LookAhead& look_ahead);

  /// How often memory forced a cut.
  std::size_t cuts() const { return cuts_ + smooth_.cuts(); }

 private:
  void follow(std::size_t first, std::size_t end, const double* top_square);
  void find_summits(std::size_t first, std::size_t count, const double* top_square);
  void hand_over(std::size_t moves, double* top_square, LookAhead& look_ahead);

  bool is_on_ = false;
  LookAhead smooth_{0};
  std::size_t known_ = 0;   // held moves whose smoothed squares are settled
  std::size_t rising_ = 0;  // the last of them, whose summit is not known yet
  std::size_t early_ = 0;   // first held moves that were planned before there was a share
  std::size_t cuts_ = 0;
  // Of each held move: its corner's cap, its reach, the square of its summit's peak.
  static constexpr std::size_t kCap = 0, kReach = 1, kPeak = 2;
  base::ColumnQueue<3> held_;
  double peak_square_ = 0.0;    // of the last known move
  std::int64_t rises_ = kAll;   // the last known one does: all bits, or none
  double handed_square_ = 0.0;  // of the last one that was handed over
  static constexpr std::int64_t kAll = -1;
};

}  // namespace platetally::motion
