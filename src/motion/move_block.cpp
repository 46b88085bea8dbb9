// Loops of plain arithmetic over columns, for the compiler to do several moves at once: the build
// gives this file -O3 and lets it assume that errno and floating-point traps are not looked at,
// which changes no result.
#include "motion/move_block.hpp"

#include <array>
#include <cmath>
#include <cstdint>

#include "base/wide.hpp"
#include "motion/course.hpp"
#include "motion/profile.hpp"

namespace platetally::motion {

namespace {

double larger(double a, double b) {
  return a < b ? b : a;
}
double smaller(double a, double b) {
  return b < a ? b : a;
}

}  // namespace

void MoveBlock::restart() {
  for (Column& shares : share)
    shares[0] = shares[count];
  speed_mm_s[0] = speed_mm_s[count];
  acceleration_mm_s2[0] = acceleration_mm_s2[count];
  count = 0;
}

PLATETALLY_WIDE bool add_strokes(const interpreter::Strokes& strokes, const UseLimits& limits,
                                 MoveBlock& __restrict block) {
  constexpr double kLeast_mm2 = kLeastLength_mm * kLeastLength_mm;
  constexpr double kMost_mm2 = kMostLength_mm * kMostLength_mm;
  const std::size_t slot = block.count + 1;
  const std::size_t count = strokes.size;
  const double* const __restrict to_x_mm = strokes.to_x_mm;
  const double* const __restrict to_y_mm = strokes.to_y_mm;
  const double* const __restrict e_mm = strokes.e_mm;
  const double* const __restrict feed_mm_s = strokes.feed_mm_s;
  block.way_mm[0][slot] = to_x_mm[0] - strokes.head.from_x_mm;
  block.way_mm[1][slot] = to_y_mm[0] - strokes.head.from_y_mm;
  for (std::size_t i = 1; i < count; ++i) {
    block.way_mm[0][slot + i] = to_x_mm[i] - to_x_mm[i - 1];
    block.way_mm[1][slot + i] = to_y_mm[i] - to_y_mm[i - 1];
  }
  std::int64_t plain = 1;
  for (std::size_t i = 0; i < count; ++i) {
    const double x_mm = block.way_mm[0][slot + i];
    const double y_mm = block.way_mm[1][slot + i];
    const double square_mm2 = x_mm * x_mm + y_mm * y_mm;
    block.way_mm[2][slot + i] = 0.0;
    block.way_mm[3][slot + i] = e_mm[i];
    block.square_mm2[slot + i] = square_mm2;
    block.feed_mm_s[slot + i] = feed_mm_s[i];
    block.least_feed_mm_s[slot + i] = limits.minimum_feed_mm_s;
    block.most_acceleration_mm_s2[slot + i] = limits.acceleration_mm_s2;
    plain &= static_cast<std::int64_t>(square_mm2 >= kLeast_mm2) &
             static_cast<std::int64_t>(square_mm2 < kMost_mm2) &
             static_cast<std::int64_t>(e_mm[i] < kMostLength_mm) &
             static_cast<std::int64_t>(feed_mm_s[i] >= Limits::kLeast);
  }
  block.count += plain != 0 ? strokes.size : 0;
  return plain != 0;
}

PLATETALLY_WIDE void find_shapes(MoveBlock& block) {
  for (std::size_t i = 1; i <= block.count; ++i) {
    const double length_mm = std::sqrt(block.square_mm2[i]);
    const double per_mm = 1.0 / length_mm;
    block.length_mm[i] = length_mm;
    block.share[0][i] = block.way_mm[0][i] * per_mm;
    block.share[1][i] = block.way_mm[1][i] * per_mm;
    block.share[2][i] = block.way_mm[2][i] * per_mm;
    block.share[3][i] = block.way_mm[3][i] * per_mm;
  }
}

PLATETALLY_WIDE void find_paces(const PathLimits& limits, MoveBlock& block) {
  for (std::size_t i = 1; i <= block.count; ++i)
    block.speed_mm_s[i] = larger(block.feed_mm_s[i], block.least_feed_mm_s[i]);
  if (limits.minimum_segment_time_s > 0.0)
    for (std::size_t i = 1; i <= block.count; ++i) {
      const double slower_mm_s = block.length_mm[i] / limits.minimum_segment_time_s;
      block.speed_mm_s[i] = block.speed_mm_s[i] * limits.minimum_segment_time_s > block.length_mm[i]
                                ? slower_mm_s
                                : block.speed_mm_s[i];
    }
  std::array<double, MoveBlock::kMoves + 1> per_speed;
  std::array<double, MoveBlock::kMoves + 1> per_acceleration;
  std::int64_t within = 1;
  for (std::size_t i = 1; i <= block.count; ++i) {
    const double x = std::abs(block.share[0][i]);
    const double y = std::abs(block.share[1][i]);
    const double z = std::abs(block.share[2][i]);
    const double e = std::abs(block.share[3][i]);
    per_speed[i] = larger(larger(x * limits.per_speed[0], y * limits.per_speed[1]),
                          larger(z * limits.per_speed[2], e * limits.per_speed[3]));
    per_acceleration[i] =
        larger(larger(x * limits.per_acceleration[0], y * limits.per_acceleration[1]),
               larger(z * limits.per_acceleration[2], e * limits.per_acceleration[3]));
    block.speed_mm_s[i] = larger(block.speed_mm_s[i], Limits::kLeast);
    block.acceleration_mm_s2[i] = block.most_acceleration_mm_s2[i];
    within &= static_cast<std::int64_t>(block.speed_mm_s[i] * per_speed[i] <= 1.0) &
              static_cast<std::int64_t>(block.acceleration_mm_s2[i] * per_acceleration[i] <= 1.0);
  }
  if (within == 0)  // dividing costs more than all the rest
    for (std::size_t i = 1; i <= block.count; ++i) {
      const double most_mm_s = 1.0 / per_speed[i];
      const double most = 1.0 / per_acceleration[i];
      block.speed_mm_s[i] =
          block.speed_mm_s[i] * per_speed[i] > 1.0 ? most_mm_s : block.speed_mm_s[i];
      block.acceleration_mm_s2[i] = block.acceleration_mm_s2[i] * per_acceleration[i] > 1.0
                                        ? most
                                        : block.acceleration_mm_s2[i];
    }
  for (std::size_t i = 1; i <= block.count; ++i) {
    block.two_accel[i] = 2.0 * block.acceleration_mm_s2[i];
    block.reach[i] = block.two_accel[i] * block.length_mm[i];
  }
}

PLATETALLY_WIDE void find_deviation_corners(double deviation_mm, MoveBlock& block) {
  for (std::size_t i = 1; i <= block.count; ++i) {
    const double plus_x = block.share[0][i] + block.share[0][i - 1];
    const double plus_y = block.share[1][i] + block.share[1][i - 1];
    const double plus_z = block.share[2][i] + block.share[2][i - 1];
    const double minus_x = block.share[0][i] - block.share[0][i - 1];
    const double minus_y = block.share[1][i] - block.share[1][i - 1];
    const double minus_z = block.share[2][i] - block.share[2][i - 1];
    const double sum = plus_x * plus_x + plus_y * plus_y + plus_z * plus_z;
    const double difference = minus_x * minus_x + minus_y * minus_y + minus_z * minus_z;
    const double slower = smaller(block.speed_mm_s[i], block.speed_mm_s[i - 1]);
    const double softer = smaller(block.acceleration_mm_s2[i], block.acceleration_mm_s2[i - 1]);
    const double q_square = 0.25 * sum;
    const double q = std::sqrt(q_square);
    const double circle = softer * deviation_mm * (q + q_square) / (0.25 * difference);
    const double corner = difference == 0.0 ? kUnlimitedSquare : circle;
    block.entry_cap[i] = smaller(slower * slower, corner);
  }
}

PLATETALLY_WIDE void find_step_corners(const std::array<double, kAxisCount>& step_mm_s,
                                       MoveBlock& block) {
  for (std::size_t i = 1; i <= block.count; ++i) {
    double speed = kUnlimitedSquare;
    for (std::size_t axis = 0; axis < kAxisCount; ++axis) {
      const double change = std::abs(block.share[axis][i] - block.share[axis][i - 1]);
      const double most = step_mm_s[axis] / change;
      speed = change > kSameDirection ? smaller(speed, most) : speed;
    }
    const double slower = smaller(block.speed_mm_s[i], block.speed_mm_s[i - 1]);
    block.entry_cap[i] = smaller(slower * slower, speed * speed);
  }
}

PLATETALLY_WIDE void find_times(const SettledMoves& moves, double* speeds_mm_s, double* seconds) {
  for (std::size_t i = 0; i <= moves.count; ++i)
    speeds_mm_s[i] = std::sqrt(moves.squares[i]);
  for (std::size_t i = 0; i < moves.count; ++i) {
    const Reach reach{moves.reach[i], moves.speed_mm_s[i], moves.two_accel[i]};
    seconds[i] = travel_time_s(reach, speeds_mm_s[i], moves.squares[i], speeds_mm_s[i + 1],
                               moves.squares[i + 1]);
  }
}

}  // namespace platetally::motion
