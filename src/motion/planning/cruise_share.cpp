// Built as move_block.cpp is.
#include "motion/planning/cruise_share.hpp"

#include <algorithm>
#include <array>
#include <bit>
#include <cmath>
#include <limits>

#include "base/simd.hpp"

namespace platetally::motion {

namespace {

constexpr double kNearlyAll = 1.0 - 1e-9;
constexpr double kUnlimited = std::numeric_limits<double>::infinity();
constexpr std::size_t kStretch = 64;  // moves that are looked at together

double as_number(std::uint64_t bits) {
  return std::bit_cast<double>(bits);
}
std::uint64_t as_bits(double number) {
  return std::bit_cast<std::uint64_t>(number);
}

PLATETALLY_WIDE void find_soft_reaches(const double* reaches, double left, std::size_t count,
                                       double* soft) {
  PLATETALLY_APART
  for (std::size_t i = 0; i < count; ++i)
    soft[i] = left * reaches[i];
}

struct Shapes {
  std::array<double, kStretch> peak;          // its own, squared
  std::array<std::uint64_t, kStretch> rises;  // all bits, or none
  std::array<std::uint64_t, kStretch> falls;
};

/// squares: count + 1 of them.
PLATETALLY_WIDE void find_shapes(const double* squares, const double* reaches,
                                 const double* speed_mm_s, std::size_t count, Shapes& shapes) {
  PLATETALLY_APART
  for (std::size_t i = 0; i < count; ++i) {
    const double before = squares[i];
    const double after = squares[i + 1];
    const double most = kNearlyAll * reaches[i];
    const double free = 0.5 * (reaches[i] + before + after);
    const double fastest = speed_mm_s[i] * speed_mm_s[i];
    shapes.peak[i] = free < fastest ? free : fastest;
    shapes.rises[i] = after >= before + most ? ~std::uint64_t{0} : 0;
    shapes.falls[i] = before >= after + most ? ~std::uint64_t{0} : 0;
  }
}

/// peaks: count of them, and the one before.
PLATETALLY_WIDE void hold_to_peaks(const double* peaks, const double* caps, std::size_t count,
                                   double* entry_caps, double* speed_mm_s) {
  PLATETALLY_APART
  for (std::size_t i = 0; i < count; ++i) {
    const double slower = peaks[i + 1] < peaks[i] ? peaks[i + 1] : peaks[i];
    entry_caps[i] = slower < caps[i] ? slower : caps[i];
    const double most = std::sqrt(peaks[i + 1]);
    speed_mm_s[i] = most < speed_mm_s[i] ? most : speed_mm_s[i];
  }
}

}  // namespace

void CruiseShare::turn_on(LookAhead& look_ahead) {
  is_on_ = true;
  early_ = look_ahead.pending();
  handed_square_ = kUnlimited;
  const LookAhead::Room room = room_for(early_);
  std::copy_n(look_ahead.caps().data(), early_, room.entry_caps);
  std::copy_n(look_ahead.reaches().data(), early_, room.reaches);
  held_.append(early_);
  smooth_ = look_ahead.take_out();
}

void CruiseShare::add(std::size_t moves, double share) {
  const LookAhead::Room room = smooth_.room_for(moves);
  std::copy_n(held_.behind(kCap), moves, room.entry_caps);
  find_soft_reaches(held_.behind(kReach), 1.0 - share, moves, room.reaches);
  smooth_.add(moves);
  held_.append(moves);
}

void CruiseShare::settle(LookAhead::End end, double* speed_mm_s, LookAhead& look_ahead) {
  const std::size_t settled = smooth_.settle(
      end, [&](std::size_t first, std::size_t last) { follow(first, last, speed_mm_s + known_); });
  smooth_.drop(settled);
  known_ += settled;
  std::size_t moves = moves_with_summit();
  if (end != LookAhead::End::open || known_ - moves > LookAhead::kMostPending) {
    cuts_ += moves < known_ && end != LookAhead::End::stop ? 1 : 0;
    moves = known_;
  }
  hand_over(moves, speed_mm_s, look_ahead);
}

/// Of settled moves: what each of them does, as far as it is known. `speed_mm_s`: of the first
/// pending one.
void CruiseShare::follow(std::size_t first, std::size_t end, const double* speed_mm_s) {
  while (first < end) {
    const std::size_t held = known_ + first;
    std::size_t count = std::min(end - first, kStretch);
    if (held == early_)
      rises_ = kAll;  // a rise and fall begins
    else if (held < early_)
      count = std::min(count, early_ - held);
    find_summits(first, first + count, speed_mm_s);
    first += count;
  }
}

void CruiseShare::find_summits(std::size_t first, std::size_t end, const double* speed_mm_s) {
  Shapes shapes;
  const std::size_t count = end - first;
  find_shapes(smooth_.squares() + first, smooth_.reaches().data() + first, speed_mm_s + first,
              count, shapes);
  double* const peaks = held_.column(kPeak) + known_ + first;
  double* const rises = held_.column(kRises) + known_ + first;
  std::uint64_t peak = as_bits(peak_square_);
  std::uint64_t before_rises = rises_;
  for (std::size_t i = 0; i < count; ++i) {
    const std::uint64_t is_behind = shapes.falls[i] & ~before_rises;
    peak = (peak & is_behind) | (as_bits(shapes.peak[i]) & ~is_behind);
    before_rises = shapes.rises[i];
    peaks[i] = as_number(peak);
    rises[i] = as_number(before_rises);
  }
  peak_square_ = as_number(peak);
  rises_ = before_rises;
}

/// Known ones up to the last that does not rise.
std::size_t CruiseShare::moves_with_summit() const {
  const double* const rises = held_.column(kRises);
  std::size_t moves = known_;
  while (moves > 0 && as_bits(rises[moves - 1]) != 0)
    --moves;
  return moves;
}

void CruiseShare::hand_over(std::size_t moves, double* speed_mm_s, LookAhead& look_ahead) {
  if (moves == 0)
    return;
  double* const peaks = held_.column(kPeak);
  const double* const rises = held_.column(kRises);
  std::uint64_t peak = as_bits(peaks[moves - 1]);
  for (std::size_t i = moves - 1; i-- > 0;) {
    const std::uint64_t is_before = as_bits(rises[i]);
    peak = (peak & is_before) | (as_bits(peaks[i]) & ~is_before);
    peaks[i] = as_number(peak);
  }
  const std::size_t early = std::min(early_, moves);
  std::fill_n(peaks, early, kUnlimited);
  const double* const caps = held_.column(kCap);
  const LookAhead::Room room = look_ahead.room_for(moves);
  std::copy_n(held_.column(kReach), moves, room.reaches);
  room.entry_caps[0] = std::min(caps[0], std::min(handed_square_, peaks[0]));
  speed_mm_s[0] = std::min(speed_mm_s[0], std::sqrt(peaks[0]));
  hold_to_peaks(peaks, caps + 1, moves - 1, room.entry_caps + 1, speed_mm_s + 1);
  handed_square_ = peaks[moves - 1];
  look_ahead.add(moves);
  held_.drop(moves);
  known_ -= moves;
  early_ -= early;
}

}  // namespace platetally::motion
