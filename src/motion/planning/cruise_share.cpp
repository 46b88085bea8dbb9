// Built as move_block.cpp is.
#include "motion/planning/cruise_share.hpp"

#include <algorithm>
#include <array>
#include <bit>
#include <cstdint>
#include <cstring>
#include <limits>

#include "base/simd.hpp"

namespace platetally::motion {

namespace {

constexpr double kNearlyAll = 1.0 - 1e-9;
constexpr double kUnlimited = std::numeric_limits<double>::infinity();
constexpr std::size_t kStretch = 64;  // moves that are looked at together

PLATETALLY_WIDE void soften(const double* caps, const double* reaches, double left,
                            std::size_t count, const LookAhead::Room& room) {
  double* const soft_caps = room.entry_caps;
  double* const soft_reaches = room.reaches;
  PLATETALLY_APART
  for (std::size_t i = 0; i < count; ++i) {
    soft_caps[i] = caps[i];
    soft_reaches[i] = left * reaches[i];
  }
}

constexpr std::size_t kFour = 4;
using Four [[gnu::vector_size(kFour * sizeof(double))]] = double;
using FourFlags [[gnu::vector_size(kFour * sizeof(double))]] = std::int64_t;  // all bits, or none

/// What is known of the move before.
struct Before {
  double peak_square;
  std::int64_t rises;
};

/// Moves side by side: squares of peaks, and which of them rise.
struct Summits {
  std::array<double, kStretch> peak_square;
  std::array<std::int64_t, kStretch> rises;
};

/// Where `taken` says so, a move has what the one before it has, which may have it from another: in
/// steps of one and two within four moves, and then from the four before.
inline __attribute__((always_inline)) void pass_on(const FourFlags& taken, const FourFlags& last,
                                                   FourFlags& bits) {
  FourFlags takes = taken;
  constexpr FourFlags kNone{0, 0, 0, 0};
  bits &= ~takes;
  bits |= takes & __builtin_shufflevector(kNone, bits, 3, 4, 5, 6);
  takes &= __builtin_shufflevector(~kNone, takes, 3, 4, 5, 6);
  bits |= takes & __builtin_shufflevector(kNone, bits, 2, 3, 4, 5);
  takes &= __builtin_shufflevector(~kNone, takes, 2, 3, 4, 5);
  bits |= takes & last;
}

/// The same from the back.
inline __attribute__((always_inline)) void pass_back(const FourFlags& taken, const FourFlags& last,
                                                     FourFlags& bits) {
  FourFlags takes = taken;
  constexpr FourFlags kNone{0, 0, 0, 0};
  bits &= ~takes;
  bits |= takes & __builtin_shufflevector(bits, kNone, 1, 2, 3, 4);
  takes &= __builtin_shufflevector(takes, ~kNone, 1, 2, 3, 4);
  bits |= takes & __builtin_shufflevector(bits, kNone, 2, 3, 4, 5);
  takes &= __builtin_shufflevector(takes, ~kNone, 2, 3, 4, 5);
  bits |= takes & last;
}

template <typename To, typename From>
inline __attribute__((always_inline)) void copy_bits(const From* from, To* to) {
  std::memcpy(to, from, sizeof(Four));
}

/// Columns that a move's shape follows from; squares: one more than moves.
struct Profile {
  const double* squares;
  const double* reaches;
  const double* top_square;
};

/// A move's own peak, or where it falls behind a summit, that summit's. `count`: a multiple of
/// four.
PLATETALLY_WIDE void find_peaks(const Profile& profile, std::size_t count, const Before& known,
                                double* peak_square, std::int64_t* all_rises) {
  FourFlags last_bits{};
  FourFlags last_rises{};
  last_bits += std::bit_cast<std::int64_t>(known.peak_square);
  last_rises += known.rises;
  for (std::size_t i = 0; i < count; i += kFour) {
    Four before, after, reach, top;
    copy_bits(profile.squares + i, &before);
    copy_bits(profile.squares + i + 1, &after);
    copy_bits(profile.reaches + i, &reach);
    copy_bits(profile.top_square + i, &top);
    const Four nearly = kNearlyAll * reach;
    const Four free = 0.5 * (reach + before + after);
    const Four own = free < top ? free : top;
    const FourFlags rises = after >= before + nearly;
    const FourFlags falls = before >= after + nearly;
    FourFlags bits;
    std::memcpy(&bits, &own, sizeof bits);
    pass_on(falls & ~__builtin_shufflevector(last_rises, rises, 3, 4, 5, 6), last_bits, bits);
    last_bits = __builtin_shufflevector(bits, bits, 3, 3, 3, 3);
    last_rises = rises;
    copy_bits(&bits, peak_square + i);
    copy_bits(&rises, all_rises + i);
  }
}

/// The same of any count; the last few padded.
void find_all_peaks(const Profile& profile, std::size_t count, const Before& known,
                    Summits& summits) {
  const std::size_t fours = count / kFour * kFour;
  find_peaks(profile, fours, known, summits.peak_square.data(), summits.rises.data());
  if (fours == count)
    return;
  std::array<double, kFour + 1> squares{};
  std::array<double, kFour> reaches{}, top_square{};
  std::copy_n(profile.squares + fours, count - fours + 1, squares.begin());
  std::copy_n(profile.reaches + fours, count - fours, reaches.begin());
  std::copy_n(profile.top_square + fours, count - fours, top_square.begin());
  const Before before =
      fours == 0 ? known : Before{summits.peak_square[fours - 1], summits.rises[fours - 1]};
  find_peaks({squares.data(), reaches.data(), top_square.data()}, kFour, before,
             summits.peak_square.data() + fours, summits.rises.data() + fours);
}

/// Moves that rise have the peak of the summit behind them, as far as it is among these.
PLATETALLY_WIDE void pass_peaks_back(std::size_t count, Summits& summits) {
  FourFlags last{};
  for (std::size_t i = (count + kFour - 1) / kFour * kFour; i > 0;) {
    i -= kFour;
    FourFlags bits, rises;
    copy_bits(summits.peak_square.data() + i, &bits);
    copy_bits(summits.rises.data() + i, &rises);
    pass_back(rises, last, bits);
    last = __builtin_shufflevector(bits, bits, 0, 0, 0, 0);
    copy_bits(&bits, summits.peak_square.data() + i);
  }
}

/// peaks: count of them, and the one before.
PLATETALLY_WIDE void hold_to_peaks(const double* peaks, const double* caps, const double* reaches,
                                   std::size_t count, const LookAhead::Room& room,
                                   double* top_square) {
  double* const entry_caps = room.entry_caps;
  double* const kept_reaches = room.reaches;
  PLATETALLY_APART
  for (std::size_t i = 0; i < count; ++i) {
    kept_reaches[i] = reaches[i];
    const double slower = peaks[i + 1] < peaks[i] ? peaks[i + 1] : peaks[i];
    entry_caps[i] = slower < caps[i] ? slower : caps[i];
    top_square[i] = peaks[i + 1] < top_square[i] ? peaks[i + 1] : top_square[i];
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
  soften(held_.behind(kCap), held_.behind(kReach), 1.0 - share, moves, smooth_.room_for(moves));
  smooth_.add(moves);
  held_.append(moves);
}

void CruiseShare::settle(LookAhead::End end, double* top_square, LookAhead& look_ahead) {
  const std::size_t settled = smooth_.settle(
      end, [&](std::size_t first, std::size_t last) { follow(first, last, top_square); });
  smooth_.drop(settled);
  known_ += settled;
  if (end != LookAhead::End::open || rising_ > LookAhead::kMostPending) {
    cuts_ += rising_ > 0 && end != LookAhead::End::stop ? 1 : 0;
    rising_ = 0;
  }
  hand_over(known_ - rising_, top_square, look_ahead);
}

/// What settled moves do, as far as it is known.
void CruiseShare::follow(std::size_t first, std::size_t end, const double* top_square) {
  while (first < end) {
    const std::size_t held = known_ + first;
    std::size_t count = std::min(end - first, kStretch);
    if (held == early_)
      rises_ = kAll;  // a rise and fall begins
    else if (held < early_)
      count = std::min(count, early_ - held);
    find_summits(first, count, top_square);
    first += count;
  }
}

void CruiseShare::find_summits(std::size_t first, std::size_t count, const double* top_square) {
  Summits summits;
  find_all_peaks(
      {smooth_.squares() + first, smooth_.reaches().data() + first, top_square + known_ + first},
      count, {peak_square_, rises_}, summits);
  peak_square_ = summits.peak_square[count - 1];
  rises_ = summits.rises[count - 1];
  pass_peaks_back(count, summits);
  double* const peaks = held_.column(kPeak) + known_ + first;
  std::copy_n(summits.peak_square.data(), count, peaks);
  std::size_t rising = 0;
  while (rising < count && summits.rises[count - 1 - rising] != 0)
    ++rising;
  if (rising == count) {
    rising_ += rising;
    return;
  }
  std::fill(peaks - rising_, peaks, peaks[0]);
  rising_ = rising;
}

void CruiseShare::hand_over(std::size_t moves, double* top_square, LookAhead& look_ahead) {
  if (moves == 0)
    return;
  double* const peaks = held_.column(kPeak);
  const std::size_t early = std::min(early_, moves);
  std::fill_n(peaks, early, kUnlimited);
  const double* const caps = held_.column(kCap);
  const double* const reaches = held_.column(kReach);
  const LookAhead::Room room = look_ahead.room_for(moves);
  room.entry_caps[0] = std::min(caps[0], std::min(handed_square_, peaks[0]));
  room.reaches[0] = reaches[0];
  top_square[0] = std::min(top_square[0], peaks[0]);
  hold_to_peaks(peaks, caps + 1, reaches + 1, moves - 1, {room.entry_caps + 1, room.reaches + 1},
                top_square + 1);
  handed_square_ = peaks[moves - 1];
  look_ahead.add(moves);
  held_.drop(moves);
  known_ -= moves;
  early_ -= early;
}

}  // namespace platetally::motion
