// Many moves at once give the same bits as one by one.
#include "motion/planning/move_block.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <cstring>
#include <memory>
#include <random>

#include "motion/planning/profile.hpp"
#include "support.hpp"

namespace platetally::motion {
namespace {

void expect_bits(double found, double expected, const char* what, std::size_t move) {
  EXPECT_EQ(std::memcmp(&found, &expected, sizeof(double)), 0)
      << what << " of move " << move << ": " << found << " is not " << expected;
}

interpreter::Record random_line(std::mt19937_64& random, const test::Point& from) {
  std::uniform_real_distribution<double> way(-20.0, 20.0);
  std::uniform_int_distribution<int> which(0, 5);
  test::Point to = from;
  const int kind = which(random);
  to[0] += way(random);  // kind 0: along X alone, so that straight corners and reversals come up
  if (kind > 0)
    to[1] += way(random);
  if (kind == 5)
    to[2] += 0.2;
  const double feed_mm_s = kind == 4 ? 0.0 : std::abs(way(random)) * 20.0 + 0.1;
  return test::line(from, to, kind == 3 ? 0.0 : 0.03 * std::abs(way(random)), feed_mm_s);
}

void expect_same_bits(const MotionLimits& machine, std::uint64_t seed) {
  std::mt19937_64 random(seed);
  const bool level = seed % 2 == 0;
  const Limits limits(machine);
  const auto block = std::make_unique<MoveBlock>();
  std::vector<interpreter::Record> records;
  std::array<double, MoveBlock::kMoves> e_mm, feed_mm_s, top_square, two_accel, reach, entry_cap;
  test::Point at{};
  block->leaves_level = !level;
  for (std::size_t i = 1; i <= MoveBlock::kMoves; ++i) {
    records.push_back(random_line(random, at));
    interpreter::Move& move = records.back().move;
    if (level)
      move.to_mm[2] = move.from_mm[2];
    at = move.to_mm;
    const UseLimits& use = limits.of_use(move.e_mm != 0.0 ? Use::print : Use::travel);
    for (std::size_t axis = 0; axis < 3; ++axis)
      block->way_mm[axis][i] = move.to_mm[axis] - move.from_mm[axis];
    e_mm[i - 1] = move.e_mm;
    feed_mm_s[i - 1] = move.feed_mm_s;
    block->least_feed_mm_s[i] = use.minimum_feed_mm_s;
    block->most_acceleration_mm_s2[i] = use.acceleration_mm_s2;
  }
  block->count = MoveBlock::kMoves;
  const BlockColumns columns{e_mm.data(),      feed_mm_s.data(), top_square.data(),
                             two_accel.data(), reach.data(),     entry_cap.data()};
  const bool as_asked = find_paces(limits.of_paths(), *block, columns);
  const double right_square = right_angle_square(machine.corner_speed_mm_s);
  if (machine.corner_model == CornerModel::junction_deviation)
    find_deviation_corners(machine.junction_deviation_mm, *block, entry_cap.data());
  else if (machine.corner_model == CornerModel::speed_step)
    find_step_corners(machine.corner_step_mm_s, *block, entry_cap.data());
  else
    find_speed_corners(right_square, as_asked, machine.corner_step_mm_s[3], *block, columns);

  Path before;
  Pace pace_before{};
  double right_before = 0.0;
  for (std::size_t i = 1; i <= MoveBlock::kMoves; ++i) {
    const interpreter::Move& move = records[i - 1].move;
    const Path path = straight_path(move);
    const Pace pace =
        limits.line_pace(path, move.feed_mm_s, move.e_mm != 0.0 ? Use::print : Use::travel);
    expect_bits(block->length_mm[i], path.length_mm, "length", i);
    for (std::size_t axis = 0; axis < kAxisCount; ++axis)
      expect_bits(block->share[axis][i], path.entry[axis], "share", i);
    expect_bits(block->speed_mm_s[i], pace.speed_mm_s, "speed", i);
    expect_bits(block->acceleration_mm_s2[i], pace.acceleration_mm_s2, "acceleration", i);
    expect_bits(top_square[i - 1], pace.speed_mm_s * pace.speed_mm_s, "kept square", i);
    expect_bits(two_accel[i - 1], 2.0 * pace.acceleration_mm_s2, "acceleration twice", i);
    expect_bits(reach[i - 1], 2.0 * pace.acceleration_mm_s2 * path.length_mm, "reach", i);
    const Use use = move.e_mm != 0.0 ? Use::print : Use::travel;
    const double right =
        right_square * (pace.acceleration_mm_s2 / limits.of_use(use).acceleration_mm_s2);
    if (i > 1) {
      const CornerLegs legs{std::min(right, right_before), std::min(reach[i - 1], reach[i - 2])};
      const double slower = std::min(pace.speed_mm_s, pace_before.speed_mm_s);
      const double softer = std::min(pace.acceleration_mm_s2, pace_before.acceleration_mm_s2);
      const double cap =
          std::min(slower * slower, limits.corner_square({before.exit, path.entry}, softer, legs));
      expect_bits(entry_cap[i - 1], cap, "corner", i);
    }
    before = path;
    pace_before = pace;
    right_before = right;
  }
}

TEST(MoveBlock, GivesTheBitsOfSingleMoves) {
  MotionLimits machine;
  for (const CornerModel model :
       {CornerModel::junction_deviation, CornerModel::speed_step, CornerModel::corner_speed})
    for (const double segment_s : {0.0, 0.02}) {
      machine.corner_model = model;
      machine.minimum_segment_time_s = segment_s;
      for (std::uint64_t seed = 1; seed <= 20; ++seed)
        expect_same_bits(machine, seed);
    }
}

TEST(MoveBlock, TimesAreThoseOfSingleMoves) {
  std::mt19937_64 random(7);
  std::uniform_real_distribution<double> square(0.0, 1e4);
  constexpr std::size_t kCount = 101;  // no multiple of anything that is done at once
  std::vector<double> reach, speed, two_accel, squares{square(random)};
  for (std::size_t i = 0; i < kCount; ++i) {
    squares.push_back(square(random));
    reach.push_back(std::abs(squares[i + 1] - squares[i]) + square(random));
    speed.push_back(std::sqrt(std::max(squares[i], squares[i + 1])) + 1.0);
    two_accel.push_back(square(random) + 1.0);
  }
  std::vector<double> top_square;
  for (const double v : speed)
    top_square.push_back(v * v);
  std::vector<double> seconds(kCount);
  std::vector<double> junctions_mm_s(kCount + 1);
  find_times({kCount, reach.data(), top_square.data(), two_accel.data(), squares.data()},
             junctions_mm_s.data(), seconds.data());
  for (std::size_t i = 0; i < kCount; ++i)
    expect_bits(seconds[i],
                travel_time_s({reach[i], speed[i], two_accel[i]}, std::sqrt(squares[i]), squares[i],
                              std::sqrt(squares[i + 1]), squares[i + 1]),
                "time", i);
}

}  // namespace
}  // namespace platetally::motion
