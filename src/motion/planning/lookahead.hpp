// Speeds at the junctions of moves: as fast as every later stop and corner allows.
//
// Problem: with w = v^2 at junction i, the largest solution of 0 <= w_i <= cap_i and
// |w_i - w_(i-1)| <= r_i, r_i = 2 a_i L_i. Solutions are closed under the componentwise maximum, so
// one is largest everywhere, and it is also the fastest. Two passes over the whole file give it:
//   backward from the last stop   b_i = min(cap_i, b_(i+1) + r_i)
//   forward from the first start  w_(i+1) = min(b_(i+1), w_i + r_i)
// Source: D. Verscheure et al., IEEE Transactions on Automatic Control 54 (2009) 2318-2327;
// L. Consolini et al., Systems & Control Letters 103 (2017) 50-57 (from memory); checked by linear
// programming.
//
// All moves (window 0): exactly that, without the whole file. With the future unknown, b of the
// last junction lies between 0 and no limit. Both are run backward at once; rounding is monotone,
// so the true b lies between them, and from where they meet it is known to the last bit. Forward,
// a junction that w + r reaches below the lower b is known as well. What is known flows on; a pass
// is due when twice what was left over has gathered, so a move is passed over twice at most in the
// mean.
//
// A window of W moves: when it starts move i the controller knows moves i .. i+W-1 and must be able
// to stop behind them: w_(i+1) = min(w_i + r_i, b) with b run backward from rest behind move i+W-1.
// Laid open, that b is the least of cap_j + r_(i+1) + .. + r_(j-1) over the junctions j inside the
// window, and of R = r_(i+1) + .. + r_(i+W-1). What junctions behind the window would add to the
// least is at least R. So b = min(b of all that is pending, R): one backward pass, and sums over a
// sliding window (window_sums.hpp), for any W at the same cost. While no more than W moves are
// pending, the exact pass serves: what it settles is the same, for it sees no further.
//
// Memory: at most kMostPending moves. A plate whose braking distance holds more (moves of
// nanometres) is cut: the first half of the pending moves is settled as if the plate ended with
// them, which is feasible and never faster.
// Range: caps >= 0 (infinite allowed), r >= 0, finite sums.
#pragma once

#include <cstddef>
#include <functional>
#include <span>

#include "base/column_queue.hpp"
#include "motion/planning/window_sums.hpp"

namespace platetally::motion {

class LookAhead {
 public:
  static constexpr std::size_t kMostPending = 65536;

  /// `window_moves` 0: all moves.
  explicit LookAhead(std::size_t window_moves);

  /// Moves are appended by writing them where they belong. An entry cap is of the junction before
  /// its move; the first move after a stop starts from rest whatever the cap.
  struct Room {
    double* entry_caps;
    double* reaches;
  };
  /// Room for so many ...
  Room room_for(std::size_t moves) {
    pending_.make_room(moves);
    return {pending_.behind(kCap), pending_.behind(kReach)};
  }
  /// ... and so many are written.
  void add(std::size_t moves) { pending_.append(moves); }

  std::size_t pending() const { return pending_.size(); }
  /// Worth calling settle().
  bool due() const { return pending() >= due_at_; }

  enum class End : unsigned char {
    open,  ///< more moves may follow
    stop,  ///< the machine stands after the last pending move: all settle
    cut,   ///< at least half must settle, for memory's sake
  };

  /// What wants to know of settled moves `first` to `end` - 1 while more are being settled, so that
  /// a processor works at both at once.
  using Follower = std::function<void(std::size_t first, std::size_t end)>;

  /// Number of first pending moves that are settled; squares()[i] and [i + 1] are entry and exit of
  /// move i of them. Valid until drop(), which must follow with the same count.
  std::size_t settle(End end, const Follower& follow);
  const double* squares() const { return passes_.column(kSquare); }
  /// Of the pending moves.
  std::span<const double> reaches() const { return {pending_.column(kReach), pending()}; }
  std::span<const double> caps() const { return {pending_.column(kCap), pending()}; }
  void drop(std::size_t settled);
  /// Another one, of all moves, with what is pending here; none is left, and what comes next begins
  /// where they would have.
  LookAhead take_out();

  /// How often memory forced a cut.
  std::size_t cuts() const { return cuts_; }

 private:
  std::size_t settle_exactly(End end, const Follower& follow);
  std::size_t settle_window(bool stops, const Follower& follow);
  void pass_forward(std::size_t first, std::size_t end, const Follower& follow);
  std::size_t pass_backward(bool stops);
  void pass_in_quarters(std::size_t junction);
  void plan_next_pass();

  std::size_t window_;
  std::size_t most_;    // pending moves at which memory forces a cut
  std::size_t due_at_;  // pending moves at which a pass pays
  std::size_t cuts_ = 0;
  static constexpr std::size_t kCap = 0;  // of the junction before each pending move; [0]: any
  static constexpr std::size_t kReach = 1;
  base::ColumnQueue<2> pending_;
  double entry_square_ = 0.0;                // of the first pending move
  static constexpr std::size_t kBack = 0;    // the backward pass, by junction
  static constexpr std::size_t kSquare = 1;  // what is settled, by junction
  base::ColumnQueue<2> passes_;              // room alone
  WindowSums window_sums_;                   // of what follows in a window
};

}  // namespace platetally::motion
