#include "motion/timeline/time_bound.hpp"

#include <gtest/gtest.h>

#include <algorithm>

#include "support/records.hpp"
#include "support/rows.hpp"

namespace platetally::timeline {
namespace {

using interpreter::RecordKind;

struct Bound {
  Machine machine;
  test::Kept out;
  TimeBound bound{machine, out};
  void take(const interpreter::Record& record) { test::give(record, bound); }
};

interpreter::Record long_move(double seconds) {
  return test::move({}, {1, 0, 0}, 1.0, seconds);
}

TEST(TimeBound, LeavesUsualPlatesAlone) {
  Bound plate;
  for (int i = 0; i < 100; ++i)
    plate.take(long_move(3600.0));
  EXPECT_DOUBLE_EQ(plate.out.total_s(), 360'000.0);
  EXPECT_TRUE(plate.bound.diagnostics().entries().empty());
}

TEST(TimeBound, AMoveTakesAWeekAtMost) {
  Bound plate;
  plate.take(long_move(6e8));
  EXPECT_DOUBLE_EQ(plate.out.total_s(), 604'800.0);
  ASSERT_EQ(plate.bound.diagnostics().entries().size(), 1U);
  EXPECT_EQ(plate.bound.diagnostics().entries().front().code, "move-too-long");
}

TEST(TimeBound, APlateTakesFourWeeksAtMostAndGoesOnWithoutTime) {
  Bound plate;
  for (int i = 0; i < 10; ++i)
    plate.take(long_move(604'000.0));
  EXPECT_EQ(plate.out.records.size(), 10U);
  EXPECT_DOUBLE_EQ(plate.out.total_s(), TimeBound::kLongestPlate_s);
  EXPECT_EQ(plate.bound.diagnostics().entries().front().code, "plate-too-long");
  EXPECT_EQ(plate.bound.diagnostics().entries().front().severity, Severity::error);
}

TEST(TimeBound, WhatTheMachineAddsCountsToo) {
  Bound plate;
  plate.machine.procedures.homing_s = Range::exactly(3000.0);
  for (int i = 0; i < 1000; ++i)
    plate.take(test::event(RecordKind::home, 0.0));
  const auto homes =
      std::count_if(plate.out.records.begin(), plate.out.records.end(),
                    [](const auto& timed) { return timed.kind == RecordKind::home; });
  EXPECT_EQ(homes, 806);  // of 3000 s in four weeks, 2419200 s
  EXPECT_EQ(plate.out.records.size(), 1000U);
}

TEST(TimeBound, RowsAreBoundedOneByOne) {
  Bound plate;
  constexpr std::size_t kStrokes = 8;
  test::StrokeColumns strokes({0, 0, 0.2});
  for (std::size_t i = 0; i < kStrokes; ++i)
    strokes.push({1.0 * static_cast<double>(i), 1, 0.2}, 1.0, 1.0, 1e6);
  plate.bound.take(strokes.rows());
  ASSERT_EQ(plate.out.records.size(), kStrokes);
  EXPECT_DOUBLE_EQ(plate.out.records[0].motion_s, 604'800.0);
  EXPECT_DOUBLE_EQ(plate.out.records[7].motion_s, 0.0);
  EXPECT_DOUBLE_EQ(plate.out.total_s(), TimeBound::kLongestPlate_s);
}

}  // namespace
}  // namespace platetally::timeline
