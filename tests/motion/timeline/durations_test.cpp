#include "motion/timeline/durations.hpp"

#include <gtest/gtest.h>

#include "support/records.hpp"

namespace platetally::timeline {
namespace {

Machine two_heads_three_tools() {
  Machine machine;
  machine.heads = {Head{}, Head{}};
  machine.tools = {Tool{}, Tool{}, Tool{}};
  machine.tools[1].head = 1;
  machine.tools[2].head = 1;
  machine.swap.head_change_s = {5, 7, 9};
  machine.swap.filament_change_s = {50, 80, 110};
  machine.swap.first_pick_s = 4;
  machine.procedures.homing_s = {1, 2, 3};
  machine.procedures.start_s = {10, 20, 30};
  return machine;
}

TEST(Durations, TheKindOfSwapFollowsTheHeads) {
  const Machine machine = two_heads_three_tools();
  EXPECT_EQ(Durations::swap_kind(machine, 0, 1), SwapKind::head_change);
  EXPECT_EQ(Durations::swap_kind(machine, 1, 2), SwapKind::filament_change);
  EXPECT_EQ(Durations::swap_s(machine, 0, 1), (Range{5, 7, 9}));
  EXPECT_EQ(Durations::swap_s(machine, 2, 1), (Range{50, 80, 110}));
}

TEST(Durations, APairOfItsOwnReplacesItsKind) {
  Machine machine = two_heads_three_tools();
  SwapPair slow;
  slow.from = 1;
  slow.to = 2;
  slow.seconds = {90, 100, 130};
  machine.swap_pairs.push_back(slow);
  EXPECT_EQ(Durations::swap_s(machine, 1, 2), (Range{90, 100, 130}));
  EXPECT_EQ(Durations::swap_s(machine, 2, 1), machine.swap.filament_change_s);
  machine.swap_pairs[0].seconds = {};  // only its need is known
  EXPECT_EQ(Durations::swap_s(machine, 1, 2), machine.swap.filament_change_s);
}

TEST(Durations, OccasionalLongSwapsRaiseExpectationAndHighEndOnly) {
  Machine machine = two_heads_three_tools();
  machine.swap.long_swap_probability = 0.1;
  machine.swap.long_swap_extra_s = 15;
  EXPECT_EQ(Durations::swap_s(machine, 0, 1), (Range{5, 7, 9}));
  Durations durations(machine);
  durations.of(test::move({0, 0, 0.2}, {9, 0, 0.2}, 1.0, 0.25));
  const Duration swap = durations.of(test::select(1, 0));
  EXPECT_DOUBLE_EQ(swap.time_s.low, 5.0);
  EXPECT_DOUBLE_EQ(swap.time_s.expected, 8.5);
  EXPECT_DOUBLE_EQ(swap.time_s.high, 12.0);
  EXPECT_EQ(swap.long_swap_s, (Range{0, 1.5, 3}));
}

TEST(Durations, EachRecordHasItsCause) {
  const Machine machine = two_heads_three_tools();
  Durations durations(machine);
  const Duration first = durations.of(test::select(0, -1));
  EXPECT_EQ(first.cause, Cause::start_and_end);
  EXPECT_DOUBLE_EQ(first.time_s.expected, 24.0);  // start seconds ride on the first record
  const Duration home = durations.of(test::event(test::RecordKind::home, 0.0));
  EXPECT_EQ(home.time_s, (Range{1, 2, 3}));
  const Duration laid = durations.of(test::move({0, 0, 0.2}, {9, 0, 0.2}, 1.0, 0.25));
  EXPECT_EQ(laid.time_s, Range::exactly(0.25));
  EXPECT_EQ(laid.cause, Cause::motion);
  const Duration swap = durations.of(test::select(1, 0));
  EXPECT_EQ(swap.cause, Cause::swap);
  EXPECT_EQ(swap.time_s, (Range{5, 7, 9}));
  EXPECT_EQ(durations.of(test::select(1, 1)).time_s, Range::exactly(0.0));
}

}  // namespace
}  // namespace platetally::timeline
