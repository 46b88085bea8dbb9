#include "motion/planning/lookahead.hpp"

#include <algorithm>
#include <array>
#include <limits>
#include <utility>

namespace platetally::motion {

namespace {

constexpr std::size_t kLeastPass = 512;
constexpr std::size_t kStretch = 256;  // moves that are settled between two looks of the follower
constexpr double kUnlimited = std::numeric_limits<double>::infinity();

}  // namespace

LookAhead::LookAhead(std::size_t window_moves)
    : window_(window_moves),
      most_(kMostPending),
      due_at_(0),
      window_sums_(std::max<std::size_t>(window_moves, 1) - 1) {
  // A pass over a window wants two windows pending. Where memory does not allow that, no more than
  // one window gathers, so the exact pass never sees beyond it.
  if (window_ > kMostPending / 2)
    most_ = std::min(window_, kMostPending);
  plan_next_pass();
}

void LookAhead::plan_next_pass() {
  // The more gather the less is passed over twice, and the less of it stays in the cache.
  const auto some_of = [](std::size_t moves) {
    return std::max(kLeastPass, 2 * moves + std::min(moves, 4 * kLeastPass));
  };
  due_at_ = some_of(pending());
  if (window_ > 0 && due_at_ > window_)
    due_at_ = some_of(window_);
  due_at_ = std::min(due_at_, most_);
}

std::size_t LookAhead::settle(End end, const Follower& follow) {
  const std::size_t count = pending();
  if (count == 0)
    return 0;
  if (end == End::open && count >= most_)
    end = End::cut;
  passes_.make_room(count + 1);
  passes_.column(kSquare)[0] = entry_square_;
  const bool sees_all = window_ == 0 || count <= window_;
  return sees_all ? settle_exactly(end, follow) : settle_window(end == End::stop, follow);
}

/// The backward pass, from rest behind the last pending move. Returns the last junction whose value
/// no continuation can change (0: none).
std::size_t LookAhead::pass_backward(bool stops) {
  const std::size_t count = pending();
  const double* const cap = pending_.column(kCap);
  const double* const reach = pending_.column(kReach);
  double* const back = passes_.column(kBack);
  back[count] = 0.0;
  double lower = 0.0;
  std::size_t junction = count;
  std::size_t known = stops ? count : 0;
  for (double upper = stops ? 0.0 : kUnlimited; known == 0 && --junction > 0;) {
    lower = std::min(cap[junction], lower + reach[junction]);
    upper = std::min(cap[junction], upper + reach[junction]);
    back[junction] = lower;
    if (lower == upper)
      known = junction;
  }
  pass_in_quarters(junction);
  return known;
}

/// The backward pass from `junction`, where it is known, down to the first one. A sum waits for the
/// one before; so four quarters are run at once, three of them from rest, and where they meet what
/// comes from behind they hold, as what follows depends on nothing else.
void LookAhead::pass_in_quarters(std::size_t junction) {
  const double* const cap = pending_.column(kCap);
  const double* const reach = pending_.column(kReach);
  double* const back = passes_.column(kBack);
  const std::size_t quarter = junction / 4;
  std::array<double, 4> squares{0.0, 0.0, 0.0, back[junction]};
  std::array<std::size_t, 4> at{quarter, 2 * quarter, 3 * quarter, 4 * quarter};
  for (std::size_t j = junction; j > 4 * quarter;) {
    --j;
    back[j] = squares[3] = std::min(cap[j], squares[3] + reach[j]);
  }
  for (std::size_t step = 1; step <= quarter; ++step)
    for (std::size_t chain = 0; chain < 4; ++chain) {
      const std::size_t j = at[chain] - step;
      squares[chain] = std::min(cap[j], squares[chain] + reach[j]);
      back[j] = squares[chain];
    }
  for (std::size_t chain = 3; chain-- > 0;) {
    double square = back[at[chain]];
    for (std::size_t j = at[chain]; j-- > at[chain] - quarter;) {
      square = std::min(cap[j], square + reach[j]);
      if (back[j] == square)
        break;
      back[j] = square;
    }
  }
}

/// From `first`, whose entry is settled, as the backward pass allows. A sum waits for the one
/// before here too; so four quarters are run at once, three of them as fast as may be, and each is
/// mended from the front up to where it agrees.
void LookAhead::pass_forward(std::size_t first, std::size_t end, const Follower& follow) {
  const double* const reach = pending_.column(kReach);
  const double* const back = passes_.column(kBack);
  double* const squares = passes_.column(kSquare);
  const std::size_t quarter = (end - first) / 4;
  std::array<std::size_t, 4> at{};
  std::array<double, 4> square{};
  for (std::size_t chain = 0; chain < 4; ++chain) {
    at[chain] = first + chain * quarter;
    square[chain] = chain == 0 ? squares[first] : back[at[chain]];
  }
  for (std::size_t step = 0; step < quarter; ++step)
    for (std::size_t chain = 0; chain < 4; ++chain) {
      const std::size_t move = at[chain] + step;
      square[chain] = std::min(back[move + 1], square[chain] + reach[move]);
      squares[move + 1] = square[chain];
    }
  for (std::size_t chain = 1; chain < 4; ++chain) {
    double known = squares[at[chain]];
    for (std::size_t move = at[chain]; move < at[chain] + quarter; ++move) {
      known = std::min(back[move + 1], known + reach[move]);
      if (squares[move + 1] == known)
        break;
      squares[move + 1] = known;
    }
  }
  for (std::size_t move = first + 4 * quarter; move < end; ++move)
    squares[move + 1] = std::min(back[move + 1], squares[move] + reach[move]);
  for (; first < end; first = std::min(end, first + kStretch))
    follow(first, std::min(end, first + kStretch));
}

std::size_t LookAhead::settle_exactly(End end, const Follower& follow) {
  const std::size_t count = pending();
  const std::size_t known = pass_backward(end == End::stop);
  pass_forward(0, known, follow);
  const double* const reach = pending_.column(kReach);
  const double* const back = passes_.column(kBack);
  double* const squares = passes_.column(kSquare);
  std::size_t move = known;
  for (; move + 1 < count && squares[move] + reach[move] <= back[move + 1]; ++move)
    squares[move + 1] = squares[move] + reach[move];
  follow(known, move);
  const std::size_t at_least = end == End::cut ? (count + 1) / 2 : 0;
  if (move >= at_least)
    return move;
  ++cuts_;
  pass_forward(move, at_least, follow);
  return at_least;
}

std::size_t LookAhead::settle_window(bool stops, const Follower& follow) {
  const std::size_t count = pending();
  if (window_ > 1)  // else every move ends at rest, which the sums say by themselves
    pass_backward(true);
  const std::size_t full = count - (window_ - 1);  // moves with a whole window before them
  // The first of them must be able to stop within what it sees.
  window_sums_.bound({passes_.column(kBack) + 1, full}, pending_.column(kReach) + 1);
  const std::size_t settled = stops ? count : full;
  pass_forward(0, settled, follow);
  return settled;
}

void LookAhead::drop(std::size_t settled) {
  if (settled > 0) {
    entry_square_ = squares()[settled];
    pending_.drop(settled);
  }
  plan_next_pass();
}

LookAhead LookAhead::take_out() {
  LookAhead other(0);
  std::swap(other.pending_, pending_);
  other.entry_square_ = entry_square_;
  other.plan_next_pass();
  plan_next_pass();
  return other;
}

}  // namespace platetally::motion
