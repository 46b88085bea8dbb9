// Loops of plain arithmetic over columns, for the compiler to do several moves at once: the build
// gives this file -O3 and lets it assume that errno and floating-point traps are not looked at,
// which changes no result.
#include "motion/planning/move_block.hpp"

#include <array>
#include <bit>
#include <cmath>
#include <cstdint>
#include <cstring>

#include "base/simd.hpp"
#include "motion/planning/profile.hpp"

namespace platetally::motion {

namespace {

double larger(double a, double b) {
  return a < b ? b : a;
}
double smaller(double a, double b) {
  return b < a ? b : a;
}

constexpr std::size_t kFour = 4;
using Four [[gnu::vector_size(kFour * sizeof(double))]] = double;

inline __attribute__((always_inline)) void copy_four(const double* from, double* to) {
  std::memcpy(to, from, sizeof(Four));
}
/// From each number before to each.
inline __attribute__((always_inline)) void step_four(const double* numbers, double* steps) {
  Four before, after;
  std::memcpy(&before, numbers - 1, sizeof before);
  std::memcpy(&after, numbers, sizeof after);
  after -= before;
  std::memcpy(steps, &after, sizeof after);
}

}  // namespace

PLATETALLY_WIDE void MoveBlock::add(const interpreter::Rows& rows, std::size_t first,
                                    std::size_t size, const interpreter::RowRoom& room) {
  static_assert(kWritableBehind == kFour - 1);
  const double* const from_x_mm = rows.to_x_mm + first;
  const double* const from_y_mm = rows.to_y_mm + first;
  const double* const from_z_mm = rows.to_z_mm + first;
  const double* const from_e_mm = rows.e_mm + first;
  const double* const from_feed_mm_s = rows.feed_mm_s + first;
  const interpreter::RowRoom to = room;
  double* const way_x_mm = way_mm[0].data() + count + 1;
  double* const way_y_mm = way_mm[1].data() + count + 1;
  way_x_mm[0] = from_x_mm[0] - rows.from_x_mm(first);
  way_y_mm[0] = from_y_mm[0] - rows.from_y_mm(first);
  to.to_x_mm[0] = from_x_mm[0];
  to.to_y_mm[0] = from_y_mm[0];
  to.to_z_mm[0] = from_z_mm[0];
  to.e_mm[0] = from_e_mm[0];
  to.feed_mm_s[0] = from_feed_mm_s[0];
  for (std::size_t i = 1; i < size; i += kFour) {
    copy_four(from_x_mm + i, to.to_x_mm + i);
    copy_four(from_y_mm + i, to.to_y_mm + i);
    copy_four(from_z_mm + i, to.to_z_mm + i);
    copy_four(from_e_mm + i, to.e_mm + i);
    copy_four(from_feed_mm_s + i, to.feed_mm_s + i);
    step_four(from_x_mm + i, way_x_mm + i);
    step_four(from_y_mm + i, way_y_mm + i);
  }
  if (!rows.run.is_level) [[unlikely]]
    climb(rows, first, size);
  count += size;
}

/// The ways of the next rows along Z.
void MoveBlock::climb(const interpreter::Rows& rows, std::size_t first, std::size_t size) {
  leaves_level = true;
  for (std::size_t i = 0; i < size; ++i)
    way_mm[2][count + 1 + i] = rows.to_z_mm[first + i] - rows.from_z_mm(first + i);
}

void MoveBlock::restart() {
  for (Column& shares : share)
    shares[0] = shares[count];
  speed_mm_s[0] = speed_mm_s[count];
  acceleration_mm_s2[0] = acceleration_mm_s2[count];
  right_square[0] = right_square[count];
  leaves_level = share[2][0] != 0.0;
  count = 0;
}

PLATETALLY_WIDE void MoveBlock::assume_prints(const UseLimits& print, std::size_t slots) {
  for (std::size_t i = 1; i <= slots; ++i) {
    least_feed_mm_s[i] = print.minimum_feed_mm_s;
    most_acceleration_mm_s2[i] = print.acceleration_mm_s2;
  }
}

PLATETALLY_WIDE void MoveBlock::assume_level(std::size_t slots) {
  for (std::size_t i = 1; i <= slots; ++i)
    way_mm[2][i] = share[2][i] = 0.0;
}

namespace {

/// As if no axis were at its limit and every move had a feed; false where that is not so. A level
/// block has no Z.
template <bool kLevel>
inline __attribute__((always_inline)) bool find_free_paces(const PathLimits& path_limits,
                                                           MoveBlock& block,
                                                           const BlockColumns& columns) {
  const PathLimits limits = path_limits;  // which nothing that is written can change
  const double* const way_x_mm = block.way_mm[0].data() + 1;
  const double* const way_y_mm = block.way_mm[1].data() + 1;
  const double* const way_z_mm = block.way_mm[2].data() + 1;
  const double* const e_mm = columns.e_mm;
  const double* const feed_mm_s = columns.feed_mm_s;
  const double* const least_feed_mm_s = block.least_feed_mm_s.data() + 1;
  const double* const most_acceleration_mm_s2 = block.most_acceleration_mm_s2.data() + 1;
  double* const lengths_mm = block.length_mm.data() + 1;
  double* const share_x = block.share[0].data() + 1;
  double* const share_y = block.share[1].data() + 1;
  double* const share_z = block.share[2].data() + 1;
  double* const share_e = block.share[3].data() + 1;
  double* const speeds_mm_s = block.speed_mm_s.data() + 1;
  double* const accelerations_mm_s2 = block.acceleration_mm_s2.data() + 1;
  double* const top_square = columns.top_square;
  double* const two_accel = columns.two_accel;
  double* const reach = columns.reach;
  std::uint64_t beyond = 0;  // its uppermost bit: some difference was negative
  const std::size_t count = block.count;
  PLATETALLY_APART
  for (std::size_t i = 0; i < count; ++i) {
    double square_mm2 = way_x_mm[i] * way_x_mm[i] + way_y_mm[i] * way_y_mm[i];
    if (!kLevel)
      square_mm2 += way_z_mm[i] * way_z_mm[i];
    const double length_mm = std::sqrt(square_mm2);
    const double per_mm = 1.0 / length_mm;
    const double x = way_x_mm[i] * per_mm;
    const double y = way_y_mm[i] * per_mm;
    const double e = e_mm[i] * per_mm;
    lengths_mm[i] = length_mm;
    share_x[i] = x;
    share_y[i] = y;
    share_e[i] = e;
    double per_speed =
        larger(larger(std::abs(x) * limits.per_speed[0], std::abs(y) * limits.per_speed[1]),
               std::abs(e) * limits.per_speed[3]);
    double per_acceleration = larger(
        larger(std::abs(x) * limits.per_acceleration[0], std::abs(y) * limits.per_acceleration[1]),
        std::abs(e) * limits.per_acceleration[3]);
    if (!kLevel) {
      const double z = way_z_mm[i] * per_mm;
      share_z[i] = z;
      per_speed = larger(per_speed, std::abs(z) * limits.per_speed[2]);
      per_acceleration = larger(per_acceleration, std::abs(z) * limits.per_acceleration[2]);
    }
    const double speed_mm_s = larger(feed_mm_s[i], least_feed_mm_s[i]);
    const double acceleration_mm_s2 = most_acceleration_mm_s2[i];
    beyond |= std::bit_cast<std::uint64_t>(1.0 - speed_mm_s * per_speed) |
              std::bit_cast<std::uint64_t>(1.0 - acceleration_mm_s2 * per_acceleration) |
              std::bit_cast<std::uint64_t>(feed_mm_s[i] >= Limits::kLeast ? 1.0 : -1.0);
    speeds_mm_s[i] = speed_mm_s;
    accelerations_mm_s2[i] = acceleration_mm_s2;
    top_square[i] = speed_mm_s * speed_mm_s;
    two_accel[i] = 2.0 * acceleration_mm_s2;
    reach[i] = 2.0 * acceleration_mm_s2 * length_mm;
  }
  return beyond >> 63U == 0;
}

/// From lengths and shares. Dividing costs more than all the rest.
inline __attribute__((always_inline)) void limit_paces(const PathLimits& limits, MoveBlock& block,
                                                       const BlockColumns& columns) {
  const double* const feed_mm_s = columns.feed_mm_s;
  double* const speed_mm_s = columns.top_square;  // squared at last
  double* const two_accel = columns.two_accel;
  double* const reach = columns.reach;
  const double* const length_mm = block.length_mm.data() + 1;
  const std::size_t count = block.count;
  PLATETALLY_APART
  for (std::size_t i = 0; i < count; ++i)
    speed_mm_s[i] = larger(asked_feed(feed_mm_s[i]), block.least_feed_mm_s[i + 1]);
  if (limits.minimum_segment_time_s > 0.0) {
    PLATETALLY_APART
    for (std::size_t i = 0; i < count; ++i)
      speed_mm_s[i] = in_segment(speed_mm_s[i], length_mm[i], limits.minimum_segment_time_s);
  }
  PLATETALLY_APART
  for (std::size_t i = 0; i < count; ++i) {
    const double x = std::abs(block.share[0][i + 1]);
    const double y = std::abs(block.share[1][i + 1]);
    const double z = std::abs(block.share[2][i + 1]);
    const double e = std::abs(block.share[3][i + 1]);
    const double per_speed = larger(larger(x * limits.per_speed[0], y * limits.per_speed[1]),
                                    larger(z * limits.per_speed[2], e * limits.per_speed[3]));
    const double per_acceleration =
        larger(larger(x * limits.per_acceleration[0], y * limits.per_acceleration[1]),
               larger(z * limits.per_acceleration[2], e * limits.per_acceleration[3]));
    const double speed = within(larger(speed_mm_s[i], Limits::kLeast), per_speed);
    const double acceleration = within(block.most_acceleration_mm_s2[i + 1], per_acceleration);
    block.speed_mm_s[i + 1] = speed;
    block.acceleration_mm_s2[i + 1] = acceleration;
    speed_mm_s[i] = speed * speed;
    two_accel[i] = 2.0 * acceleration;
    reach[i] = 2.0 * acceleration * length_mm[i];
  }
}

template <bool kLevel>
inline __attribute__((always_inline)) void find_deviation_caps(double deviation_mm,
                                                               const MoveBlock& block,
                                                               double* entry_cap) {
  const std::size_t count = block.count;
  PLATETALLY_APART
  for (std::size_t i = 1; i <= count; ++i) {
    const double plus_x = block.share[0][i] + block.share[0][i - 1];
    const double plus_y = block.share[1][i] + block.share[1][i - 1];
    const double minus_x = block.share[0][i] - block.share[0][i - 1];
    const double minus_y = block.share[1][i] - block.share[1][i - 1];
    double sum = plus_x * plus_x + plus_y * plus_y;
    double difference = minus_x * minus_x + minus_y * minus_y;
    if (!kLevel) {
      const double plus_z = block.share[2][i] + block.share[2][i - 1];
      const double minus_z = block.share[2][i] - block.share[2][i - 1];
      sum += plus_z * plus_z;
      difference += minus_z * minus_z;
    }
    const double slower = smaller(block.speed_mm_s[i], block.speed_mm_s[i - 1]);
    const double softer = smaller(block.acceleration_mm_s2[i], block.acceleration_mm_s2[i - 1]);
    entry_cap[i - 1] =
        smaller(slower * slower, circle_square(softer * deviation_mm, sum, difference));
  }
}

inline __attribute__((always_inline)) void find_right_squares(double right_square, bool as_asked,
                                                              MoveBlock& block) {
  const std::size_t count = block.count;
  if (as_asked) {
    PLATETALLY_APART
    for (std::size_t i = 1; i <= count; ++i)
      block.right_square[i] = right_square;
    return;
  }
  PLATETALLY_APART
  for (std::size_t i = 1; i <= count; ++i)
    block.right_square[i] =
        right_square * (block.acceleration_mm_s2[i] / block.most_acceleration_mm_s2[i]);
}

struct SpeedCap {
  double square;
  std::uint64_t beyond;  ///< its uppermost bit: the filament's step may limit it further
};

/// By the circles alone, before the move in slot `i`.
template <bool kLevel>
inline __attribute__((always_inline)) SpeedCap speed_cap(double e_step_mm_s, const MoveBlock& block,
                                                         std::size_t i, double reach) {
  const double from_x = block.share[0][i - 1], from_y = block.share[1][i - 1];
  const double to_x = block.share[0][i], to_y = block.share[1][i];
  const double plus_x = to_x + from_x, plus_y = to_y + from_y;
  const double minus_x = to_x - from_x, minus_y = to_y - from_y;
  double sum = plus_x * plus_x + plus_y * plus_y;
  double difference = minus_x * minus_x + minus_y * minus_y;
  if (!kLevel) {
    const double from_z = block.share[2][i - 1], to_z = block.share[2][i];
    sum += (to_z + from_z) * (to_z + from_z);
    difference += (to_z - from_z) * (to_z - from_z);
  }
  const double right = smaller(block.right_square[i], block.right_square[i - 1]);
  const double legs = leg_square(right, reach, sum, difference);
  const double jump = std::abs(block.share[3][i] - block.share[3][i - 1]);
  const double slower = smaller(block.speed_mm_s[i], block.speed_mm_s[i - 1]);
  return {smaller(slower * slower, legs),
          std::bit_cast<std::uint64_t>(e_step_mm_s - slower * jump)};
}

/// By the circles alone; false where the filament's step may limit a corner further.
template <bool kLevel>
inline __attribute__((always_inline)) bool find_speed_caps(double e_step_mm_s,
                                                           const MoveBlock& block,
                                                           const double* reaches,
                                                           double* entry_cap) {
  const std::size_t count = block.count;
  const SpeedCap first =
      speed_cap<kLevel>(e_step_mm_s, block, 1, smaller(reaches[0], block.reach_before));
  entry_cap[0] = first.square;
  std::uint64_t beyond = first.beyond;
  PLATETALLY_APART
  for (std::size_t i = 2; i <= count; ++i) {
    const SpeedCap cap =
        speed_cap<kLevel>(e_step_mm_s, block, i, smaller(reaches[i - 1], reaches[i - 2]));
    entry_cap[i - 1] = cap.square;
    beyond |= cap.beyond;
  }
  return beyond >> 63U == 0;
}

inline __attribute__((always_inline)) void hold_filament(double e_step_mm_s, const MoveBlock& block,
                                                         double* entry_cap) {
  const std::size_t count = block.count;
  PLATETALLY_APART
  for (std::size_t i = 1; i <= count; ++i) {
    const double jump = std::abs(block.share[3][i] - block.share[3][i - 1]);
    const double most_mm_s = step_speed(e_step_mm_s, jump);
    entry_cap[i - 1] = smaller(entry_cap[i - 1], most_mm_s * most_mm_s);
  }
}

}  // namespace

PLATETALLY_WIDE bool find_paces(const PathLimits& limits, MoveBlock& block,
                                const BlockColumns& columns) {
  const bool within = block.leaves_level ? find_free_paces<false>(limits, block, columns)
                                         : find_free_paces<true>(limits, block, columns);
  if (!within || limits.minimum_segment_time_s > 0.0)
    limit_paces(limits, block, columns);
  return within;
}

PLATETALLY_WIDE void find_deviation_corners(double deviation_mm, const MoveBlock& block,
                                            double* entry_cap) {
  if (block.leaves_level)
    find_deviation_caps<false>(deviation_mm, block, entry_cap);
  else
    find_deviation_caps<true>(deviation_mm, block, entry_cap);
}

PLATETALLY_WIDE void find_step_corners(const std::array<double, kAxisCount>& step_mm_s,
                                       const MoveBlock& block, double* entry_cap) {
  const std::size_t count = block.count;
  PLATETALLY_APART
  for (std::size_t i = 1; i <= count; ++i) {
    double speed = kUnlimitedSquare;
    for (std::size_t axis = 0; axis < kAxisCount; ++axis) {
      const double change = std::abs(block.share[axis][i] - block.share[axis][i - 1]);
      speed = smaller(speed, step_speed(step_mm_s[axis], change));
    }
    const double slower = smaller(block.speed_mm_s[i], block.speed_mm_s[i - 1]);
    entry_cap[i - 1] = smaller(slower * slower, speed * speed);
  }
}

PLATETALLY_WIDE void find_speed_corners(double right_square, bool as_asked, double e_step_mm_s,
                                        MoveBlock& block, const BlockColumns& columns) {
  find_right_squares(right_square, as_asked, block);
  const bool within =
      block.leaves_level
          ? find_speed_caps<false>(e_step_mm_s, block, columns.reach, columns.entry_cap)
          : find_speed_caps<true>(e_step_mm_s, block, columns.reach, columns.entry_cap);
  if (!within)
    hold_filament(e_step_mm_s, block, columns.entry_cap);
}

PLATETALLY_WIDE void find_times(const SettledMoves& moves, double* speeds_mm_s, double* seconds) {
  PLATETALLY_APART
  for (std::size_t i = 0; i <= moves.count; ++i)
    speeds_mm_s[i] = std::sqrt(moves.squares[i]);
  PLATETALLY_APART
  for (std::size_t i = 0; i < moves.count; ++i) {
    const double unlimited = 0.5 * (moves.reach[i] + moves.squares[i] + moves.squares[i + 1]);
    const double peak = std::sqrt(smaller(unlimited, moves.top_square[i]));
    seconds[i] = seconds_over_peak(moves.reach[i], moves.two_accel[i], peak, speeds_mm_s[i],
                                   speeds_mm_s[i + 1]);
  }
}

}  // namespace platetally::motion
