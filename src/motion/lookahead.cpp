#include "motion/lookahead.hpp"

#include <algorithm>
#include <limits>

namespace platetally::motion {

namespace {

constexpr std::size_t kLeastPass = 1024;
constexpr double kUnlimited = std::numeric_limits<double>::infinity();

}  // namespace

LookAhead::LookAhead(std::size_t window_moves)
    : window_(window_moves), most_(kMostPending), due_at_(0) {
  // A pass over a window wants two windows pending. Where memory does not allow that, no more than
  // one window gathers, so the exact pass never sees beyond it.
  if (window_ > kMostPending / 2)
    most_ = std::min(window_, kMostPending);
  plan_next_pass();
}

void LookAhead::plan_next_pass() {
  due_at_ = std::max(kLeastPass, 2 * pending());
  if (window_ > 0 && due_at_ > window_)
    due_at_ = std::max(kLeastPass, 2 * window_);
  due_at_ = std::min(due_at_, most_);
}

void LookAhead::push(std::span<const double> entry_caps, std::span<const double> reaches) {
  const bool from_rest = cap_.empty() && !entry_caps.empty();
  if (entry_caps.size() == 1) {
    cap_.push_back(entry_caps[0]);
    reach_.push_back(reaches[0]);
  } else {
    cap_.insert(cap_.end(), entry_caps.begin(), entry_caps.end());
    reach_.insert(reach_.end(), reaches.begin(), reaches.end());
  }
  if (from_rest)
    cap_[0] = 0.0;
}

std::size_t LookAhead::settle(End end) {
  const std::size_t count = pending();
  if (count == 0)
    return 0;
  if (end == End::open && count >= most_)
    end = End::cut;
  squares_.resize(count + 1);
  squares_[0] = cap_[0];
  const bool sees_all = window_ == 0 || count <= window_;
  return sees_all ? settle_exactly(end) : settle_window(end == End::stop);
}

/// The backward pass, from rest behind the last pending move. Returns the last junction whose value
/// no continuation can change (0: none).
std::size_t LookAhead::pass_backward(bool stops) {
  const std::size_t count = pending();
  back_.resize(count + 1);
  back_[count] = 0.0;
  double lower = 0.0;
  std::size_t junction = count;
  std::size_t known = stops ? count : 0;
  for (double upper = stops ? 0.0 : kUnlimited; known == 0 && --junction > 0;) {
    lower = std::min(cap_[junction], lower + reach_[junction]);
    upper = std::min(cap_[junction], upper + reach_[junction]);
    back_[junction] = lower;
    if (lower == upper)
      known = junction;
  }
  for (std::size_t j = junction; j-- > 1;) {
    lower = std::min(cap_[j], lower + reach_[j]);
    back_[j] = lower;
  }
  return known;
}

std::size_t LookAhead::settle_exactly(End end) {
  const std::size_t count = pending();
  const std::size_t known = pass_backward(end == End::stop);
  double square = squares_[0];
  std::size_t move = 0;
  for (; move < known; ++move) {
    square = std::min(back_[move + 1], square + reach_[move]);
    squares_[move + 1] = square;
  }
  for (; move + 1 < count && square + reach_[move] <= back_[move + 1]; ++move) {
    square += reach_[move];
    squares_[move + 1] = square;
  }
  const std::size_t at_least = end == End::cut ? (count + 1) / 2 : 0;
  cuts_ += move < at_least ? 1 : 0;
  for (; move < at_least; ++move) {
    square = std::min(back_[move + 1], square + reach_[move]);
    squares_[move + 1] = square;
  }
  return move;
}

/// Suffix folds of the maps of junctions first .. last - 1.
void LookAhead::fold_block(std::size_t first, std::size_t last) {
  double cap = kUnlimited;
  double reach = 0.0;
  for (std::size_t junction = last; junction-- > first;) {
    cap = std::min(cap_[junction], cap + reach_[junction]);
    reach += reach_[junction];
    fold_cap_[junction - first] = cap;
    fold_reach_[junction - first] = reach;
  }
}

std::size_t LookAhead::settle_window(bool stops) {
  const std::size_t count = pending();
  const std::size_t width = window_ - 1;   // junctions inside a window
  const std::size_t full = count - width;  // moves with a whole window before them
  fold_cap_.resize(width);
  fold_reach_.resize(width);
  double square = squares_[0];
  std::size_t move = 0;
  if (width == 0) {
    std::fill(squares_.begin() + 1, squares_.end(), 0.0);
    return count;
  }
  while (move < full) {
    const std::size_t first = move + 1;
    fold_block(first, first + width);
    double ahead_cap = kUnlimited;  // prefix folds of the next block
    double ahead_reach = 0.0;
    const std::size_t stretch = std::min(width, full - move);
    for (std::size_t k = 0; k < stretch; ++k, ++move) {
      const double behind_block = std::min(ahead_cap, ahead_reach);
      const double bound = std::min(fold_cap_[k], behind_block + fold_reach_[k]);
      square = std::min(bound, square + reach_[move]);
      squares_[move + 1] = square;
      const std::size_t next = first + width + k;
      if (next < count) {
        ahead_cap = std::min(ahead_cap, cap_[next] + ahead_reach);
        ahead_reach += reach_[next];
      }
    }
  }
  if (!stops)
    return move;
  pass_backward(true);
  for (; move < count; ++move) {
    square = std::min(back_[move + 1], square + reach_[move]);
    squares_[move + 1] = square;
  }
  return move;
}

void LookAhead::drop(std::size_t settled) {
  if (settled > 0) {
    const auto count = static_cast<std::ptrdiff_t>(settled);
    cap_.erase(cap_.begin(), cap_.begin() + count);
    reach_.erase(reach_.begin(), reach_.begin() + count);
    if (!cap_.empty())
      cap_[0] = squares_[settled];
  }
  plan_next_pass();
}

}  // namespace platetally::motion
