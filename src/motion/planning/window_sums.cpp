// Built as move_block.cpp is.
#include "motion/planning/window_sums.hpp"

#include <algorithm>

#include "base/columns.hpp"
#include "base/simd.hpp"

namespace platetally::motion {

namespace {

constexpr std::size_t kNarrow = 64;
constexpr std::size_t kGroup = 64;  // bounds that are looked at together
constexpr std::size_t kPart = 128;  // bounds whose sums stay in the nearest cache
/// Narrow sums cost little more than the quick look: where one was in vain, so many parts go
/// without.
constexpr std::size_t kPartsWithoutLook = 8;

}  // namespace

void WindowSums::bound(std::span<double> bounds, const double* numbers) {
  if (width_ == 0) {
    std::ranges::fill(bounds, 0.0);
    return;
  }
  const bool narrow = width_ <= kNarrow;
  const std::size_t part = narrow ? kPart : width_;
  sums_.make_room(part + width_);
  for (std::size_t first = 0; first < bounds.size(); first += part) {
    double* const from = bounds.data() + first;
    const std::size_t count = std::min(part, bounds.size() - first);
    if (parts_without_look_ > 0)
      --parts_without_look_;
    else if (are_within(from, count, numbers + first))
      continue;
    else
      parts_without_look_ = narrow ? kPartsWithoutLook : 0;
    if (narrow)
      bound_narrow(from, count, numbers + first);
    else
      bound_block(from, count, numbers + first);
  }
}

PLATETALLY_WIDE void WindowSums::bound_narrow(double* bounds, std::size_t count,
                                              const double* numbers) {
  double* const sums = sums_.column(0);     // of `size` numbers
  double* const windows = sums_.column(1);  // as far as they are put together
  const double* from = numbers;
  std::size_t many = count + width_ - 1;
  std::size_t done = 0;
  std::fill_n(windows, count, 0.0);
  for (std::size_t size = 1;; size *= 4) {
    const double* const first = from + done;
    const double* const second = first + size;
    const double* const third = second + size;
    const std::size_t digit = width_ / size % 4;
    if (digit == 1) {
      PLATETALLY_APART
      for (std::size_t i = 0; i < count; ++i)
        windows[i] += first[i];
    } else if (digit == 2) {
      PLATETALLY_APART
      for (std::size_t i = 0; i < count; ++i)
        windows[i] += first[i] + second[i];
    } else if (digit == 3) {
      PLATETALLY_APART
      for (std::size_t i = 0; i < count; ++i)
        windows[i] += (first[i] + second[i]) + third[i];
    }
    done += digit * size;
    if (done == width_)
      break;
    many -= 3 * size;
    PLATETALLY_APART
    for (std::size_t i = 0; i < many; ++i)
      sums[i] = (from[i] + from[i + size]) + (from[i + 2 * size] + from[i + 3 * size]);
    from = sums;
  }
  PLATETALLY_APART
  for (std::size_t i = 0; i < count; ++i)
    bounds[i] = windows[i] < bounds[i] ? windows[i] : bounds[i];
}

/// A quick look: what the least number does, as often as a window has numbers.
bool WindowSums::are_within(const double* bounds, std::size_t count, const double* numbers) const {
  const std::size_t seen = std::min(width_, kGroup);
  for (std::size_t first = 0; first < count; first += kGroup) {
    const std::size_t group = std::min(kGroup, count - first);
    const double least = base::extent_of(numbers + first, group - 1 + seen).least;
    if (static_cast<double>(seen) * least < base::extent_of(bounds + first, group).most)
      return false;
  }
  return true;
}

/// No more than a width of them.
PLATETALLY_WIDE void WindowSums::bound_block(double* bounds, std::size_t count,
                                             const double* numbers) {
  const double* const next_block = numbers + width_;
  double* const to_end = sums_.column(0);
  double* const from_begin = sums_.column(1);
  double rest = 0.0;
  for (std::size_t i = width_; i > count;)
    rest += numbers[--i];
  double begun = from_begin[0] = 0.0;
  for (std::size_t i = 1; i < count; ++i) {
    begun += next_block[i - 1];
    from_begin[i] = begun;
    rest += numbers[count - i];
    to_end[count - i] = rest;
  }
  to_end[0] = rest + numbers[0];
  PLATETALLY_APART
  for (std::size_t i = 0; i < count; ++i) {
    const double sum = to_end[i] + from_begin[i];
    bounds[i] = sum < bounds[i] ? sum : bounds[i];
  }
}

}  // namespace platetally::motion
