// Loops of plain arithmetic over columns, for the compiler to do several moves at once: the build
// gives this file -O3 and lets it assume that errno and floating-point traps are not looked at,
// which changes no result.
#include "motion/planning/move_block.hpp"

#include <array>
#include <bit>
#include <cmath>
#include <cstdint>
#include <cstring>
#include <limits>

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

/// Where no feed is stated, the axes decide.
double asked_feed(double feed_mm_s) {
  return feed_mm_s > 0.0 ? feed_mm_s : std::numeric_limits<double>::infinity();
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

PLATETALLY_WIDE bool MoveBlock::add(const interpreter::Rows& rows,
                                    const interpreter::RowRoom& room) {
  static_assert(kWritableBehind == kFour - 1);
  const std::size_t size = rows.size;
  const std::size_t first = count + 1;
  count += size;
  const auto copy = [size](const double* from, double* to) {
    to[0] = from[0];
    for (std::size_t i = 1; i < size; i += kFour)
      copy_four(from + i, to + i);
  };
  const auto step = [size](double from, const double* to, double* way) {
    way[0] = to[0] - from;
    for (std::size_t i = 1; i < size; i += kFour)
      step_four(to + i, way + i);
  };
  copy(rows.to_x_mm, room.to_x_mm);
  copy(rows.to_y_mm, room.to_y_mm);
  copy(rows.to_z_mm, room.to_z_mm);
  copy(rows.e_mm, room.e_mm);
  copy(rows.feed_mm_s, room.feed_mm_s);
  step(rows.run.from_mm[0], rows.to_x_mm, way_mm[0].data() + first);
  step(rows.run.from_mm[1], rows.to_y_mm, way_mm[1].data() + first);
  const double* const to_z_mm = rows.to_z_mm;
  const double* const feed_mm_s = rows.feed_mm_s;
  const double from_z_mm = rows.run.from_mm[2];
  std::int64_t climbs = 0;
  std::int64_t creeps = 0;
  for (std::size_t i = 0; i < size; ++i) {
    climbs |= static_cast<std::int64_t>(to_z_mm[i] != from_z_mm);
    creeps |= static_cast<std::int64_t>(!(feed_mm_s[i] >= Limits::kLeast));
  }
  if (climbs != 0) [[unlikely]] {
    leaves_level = true;
    step(from_z_mm, to_z_mm, way_mm[2].data() + first);
    for (std::size_t i = first + size; i <= kMoves && i < first + size + kWritableBehind; ++i)
      way_mm[2][i] = 0.0;  // what was written behind is of no row
  }
  return creeps == 0;
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

/// As if no axis were at its limit; false where one is. A level block has no Z.
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
    const double asked_mm_s = asked_feed(feed_mm_s[i]);
    const double speed_mm_s = larger(larger(asked_mm_s, least_feed_mm_s[i]), Limits::kLeast);
    const double acceleration_mm_s2 = most_acceleration_mm_s2[i];
    beyond |= std::bit_cast<std::uint64_t>(1.0 - speed_mm_s * per_speed) |
              std::bit_cast<std::uint64_t>(1.0 - acceleration_mm_s2 * per_acceleration);
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
    for (std::size_t i = 0; i < count; ++i) {
      const double slower_mm_s = length_mm[i] / limits.minimum_segment_time_s;
      speed_mm_s[i] = speed_mm_s[i] * limits.minimum_segment_time_s > length_mm[i] ? slower_mm_s
                                                                                   : speed_mm_s[i];
    }
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
    const double feed = larger(speed_mm_s[i], Limits::kLeast);
    const double most_mm_s = 1.0 / per_speed;
    const double most = 1.0 / per_acceleration;
    const double speed = feed * per_speed > 1.0 ? most_mm_s : feed;
    const double softest = block.most_acceleration_mm_s2[i + 1];
    const double acceleration = softest * per_acceleration > 1.0 ? most : softest;
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
    const double q_square = 0.25 * sum;
    const double q = std::sqrt(q_square);
    const double circle = softer * deviation_mm * (q + q_square) / (0.25 * difference);
    const double corner = difference == 0.0 ? kUnlimitedSquare : circle;
    entry_cap[i - 1] = smaller(slower * slower, corner);
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
  const double q_square = 0.25 * sum;
  const double q = std::sqrt(q_square);
  const double per_s = 1.0 / std::sqrt(0.25 * difference);
  const double circle = right * (q + q_square) * (per_s * per_s);
  const double middle = 0.25 * reach * q * per_s;
  const double legs = difference == 0.0 ? kUnlimitedSquare : smaller(circle, middle);
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
    const double most = e_step_mm_s / jump;
    const double square = jump > kSameDirection ? most * most : kUnlimitedSquare;
    entry_cap[i - 1] = smaller(entry_cap[i - 1], square);
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
      const double most = step_mm_s[axis] / change;
      speed = change > kSameDirection ? smaller(speed, most) : speed;
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
