// Times, sums and values of lanes, worked out by hand; and how batches come into lanes.
#include "plan/solve/timing.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "plan/solve/by_hand.hpp"
#include "plan/solve/dispatch.hpp"
#include "plan/solve/improve.hpp"

namespace platetally::solve {
namespace {

using Runs = std::vector<Run>;

/// One machine, attended from 8 to 16 every day, from Monday 8:00 on.
Problem one_machine() {
  Problem problem;
  problem.now_s = kMonday + 8 * kHour;
  Kind kind;
  kind.instances = {{problem.now_s, 0b01}};
  kind.attended = by_day();
  kind.handling_s = 600;
  kind.change_s = 300;
  kind.change_cost = 2.5;
  kind.feeds = 1;
  problem.kinds = {kind};
  return problem;
}

Batch& add(Problem& problem, int job, double print_h, double cost = 1.0, int copies = 1,
           int kind = 0) {
  while (problem.jobs.size() <= static_cast<std::size_t>(job)) {
    problem.jobs.emplace_back();
    problem.jobs.back().filaments = 0b01;
  }
  problem.batches.push_back(batch_of(job, kind, copies, print_h, cost));
  return problem.batches.back();
}

TEST(Timing, ASetupWaitsForSomebodyAndAPrintGoesOnWithoutAnybody) {
  Problem problem = one_machine();
  add(problem, 0, 10.0);
  Timing timing(problem);
  Runs runs;
  timing.time_lane(0, {0, 0, 0}, runs);
  ASSERT_EQ(runs.size(), 3U);
  for (Seconds day = 0; day < 3; ++day) {
    const auto& run = runs[static_cast<std::size_t>(day)];
    EXPECT_EQ(run.setup_s, kMonday + day * kDay_s + 8 * kHour);
    EXPECT_EQ(run.start_s, run.setup_s + 600);
    EXPECT_EQ(run.end_s, run.start_s + 10 * kHour);
    EXPECT_EQ(run.changes, 0);
  }
}

TEST(Timing, WhatMustBeAttendedFitsIntoOneStay) {
  Problem problem = one_machine();
  problem.kinds[0].unattended = false;
  add(problem, 0, 5.0);
  Timing timing(problem);
  Runs runs;
  timing.time_lane(0, {0, 0}, runs);
  EXPECT_EQ(runs[0].end_s, kMonday + 13 * kHour + 600);
  EXPECT_EQ(runs[1].setup_s, kMonday + kDay_s + 8 * kHour) << "five hours more reach beyond 16:00";
}

TEST(Timing, SpoolsAreChangedBeforeTheirBatchAndPaidFor) {
  Problem problem = one_machine();
  add(problem, 0, 1.0);
  add(problem, 1, 1.0);
  problem.jobs[1].filaments = 0b10;
  Timing timing(problem);
  Runs runs;
  timing.time_lane(0, {0, 1, 0}, runs);
  EXPECT_EQ(runs[0].changes, 0);
  EXPECT_EQ(runs[1].changes, 1);
  EXPECT_EQ(runs[1].put_in, 0b10U);
  EXPECT_EQ(runs[1].start_s - runs[1].setup_s, 900);
  EXPECT_EQ(runs[2].changes, 1) << "the one feed held the other";
  const LaneSums sums = timing.sums_of(runs);
  EXPECT_EQ(sums.changes, 2);
  EXPECT_DOUBLE_EQ(sums.cost, 3.0 + 2 * 2.5);
  EXPECT_EQ(sums.last_s, runs[2].end_s);
  EXPECT_EQ(sums.job_ends.size(), 3U);
}

TEST(Timing, CostIsThatOfTheHourOfTheStart) {
  Problem problem = one_machine();
  Batch& batch = add(problem, 0, 1.0, 5.0);
  for (int hour = 0; hour < 24; ++hour)
    batch.cost_by_hour.push_back(10.0 + hour);
  Timing timing(problem);
  Runs runs;
  timing.time_lane(0, {0, 0}, runs);
  // 8:10 and 9:20.
  EXPECT_DOUBLE_EQ(timing.sums_of(runs).cost, 18.0 + 19.0);
}

TEST(Timing, LatenessIsHoursBehindTheDateTimesThePriority) {
  Problem problem = one_machine();
  add(problem, 0, 2.0);
  add(problem, 1, 3.0);
  add(problem, 2, 1.0);
  problem.jobs[0].due_s = problem.now_s + kHour;
  problem.jobs[0].priority = 2.0;
  problem.jobs[1].due_s = problem.now_s + 10 * kHour;
  problem.weights = {1.0, 0.5, 0.0, 0.0, 3.0};
  Timing timing(problem);
  const Schedule schedule = schedule_of(timing, {{0, 1, 2}});
  const Measures& sums = schedule.measures;
  // Done at 2 h 10, 5 h 20 and 6 h 30.
  EXPECT_NEAR(sums.late_h, 7.0 / 6.0, 1e-12);
  EXPECT_NEAR(sums.late_weighted_h, 14.0 / 6.0, 1e-12);
  EXPECT_EQ(sums.late_jobs, 1);
  EXPECT_EQ(sums.finish_s - problem.now_s, 6 * kHour + 1800);
  EXPECT_NEAR(schedule.value, 3.0 + 0.5 * 6.5 + 3.0 * 14.0 / 6.0, 1e-9);
  EXPECT_EQ(timing.asked_of(sums), timing.value_of(sums)) << "its price was said";
}

TEST(Timing, AJobThatIsBeingPrintedIsNotDoneBeforeThat) {
  Problem problem = one_machine();
  add(problem, 0, 1.0);
  problem.jobs[0].due_s = problem.now_s + 3 * kHour;
  problem.jobs[0].begun_end_s = problem.now_s + 5 * kHour;
  Timing timing(problem);
  const Measures sums = schedule_of(timing, {{0}}).measures;
  EXPECT_EQ(sums.finish_s, problem.now_s + 5 * kHour);
  EXPECT_NEAR(sums.late_h, 2.0, 1e-12);
}

// Whatever is weighed: a plan that is an hour later is never bought by the rest.
TEST(Timing, WithoutAPriceAnHourLateWeighsMoreThanAllElse) {
  Problem problem = one_machine();
  add(problem, 0, 1.0, 400.0);
  add(problem, 0, 2.0, 30.0);
  problem.batches[0].waste_g = 900.0;
  problem.batches[0].energy_wh = 5000.0;
  problem.jobs[0].copies = 3;
  for (const Weights& weights :
       {Weights{1, 0, 0, 0, std::nullopt}, Weights{0, 1, 0, 0, std::nullopt},
        Weights{0.5, 2, 0.1, 3, std::nullopt}}) {
    problem.weights = weights;
    const Timing timing(problem);
    Measures dear, late;
    dear.finish_s = late.finish_s = problem.now_s;
    dear.cost = 3 * 400.0;
    dear.waste_g = 3 * 900.0;
    dear.energy_wh = 3 * 5000.0;
    late.late_weighted_h = 1.0;
    EXPECT_GT(timing.value_of(late), timing.value_of(dear));
    EXPECT_EQ(timing.asked_of(late), 0.0) << "it comes before what was asked for";
  }
}

TEST(Timing, UnderALimitOfPowerLanesWaitForEachOther) {
  Problem problem = one_machine();
  problem.kinds[0].instances.push_back(problem.kinds[0].instances[0]);
  Batch& batch = add(problem, 0, 1.0);
  batch.power_w.assign(12, 100.0);
  problem.jobs[0].copies = 2;
  problem.power_limit_w = 200.0;
  Timing both(problem);
  EXPECT_FALSE(both.lanes_apart());
  std::vector<Runs> runs;
  both.time_all({{0}, {0}}, runs);
  EXPECT_EQ(runs[0][0].start_s, runs[1][0].start_s);
  EXPECT_EQ(runs[0][0].start_s % kPowerStep_s, 0);
  problem.power_limit_w = 199.0;
  Timing one(problem);
  one.time_all({{0}, {0}}, runs);
  EXPECT_EQ(runs[1][0].start_s, runs[0][0].end_s) << "as soon as there is power";
}

TEST(Timing, WhatIsBeingPrintedDrawsBesideThem) {
  Problem problem = one_machine();
  Batch& batch = add(problem, 0, 1.0);
  batch.power_w.assign(12, 100.0);
  problem.power_limit_w = 150.0;
  // Seventy minutes from now on, in the middle of a step.
  problem.fixed = {{problem.now_s + 100, std::vector<double>(14, 80.0)}};
  Timing timing(problem);
  std::vector<Runs> runs;
  timing.time_all({{0}}, runs);
  // The last step of what is printed reaches into the fifteenth of ours.
  EXPECT_EQ(runs[0][0].start_s, problem.now_s + 15 * kPowerStep_s);
}

TEST(Timing, TheEarliestEndIsThatOfTheBestMachineOfTheKind) {
  Problem problem = one_machine();
  problem.kinds[0].instances.push_back({problem.now_s + 2 * kHour, 0b10});
  add(problem, 0, 1.0);
  const Timing timing(problem);
  EXPECT_EQ(timing.earliest_end_s(problem.batches[0]), problem.now_s + 600 + kHour);
  problem.kinds[0].instances[0].free_s = problem.now_s + 5 * kHour;
  // The other is free earlier, but needs its spool changed.
  EXPECT_EQ(Timing(problem).earliest_end_s(problem.batches[0]),
            problem.now_s + 2 * kHour + 900 + kHour);
}

TEST(Dispatch, BatchesAreHandedOutInTheirOrderToWhoeverEndsFirst) {
  Problem problem = one_machine();
  problem.kinds[0].instances.push_back(problem.kinds[0].instances[0]);
  problem.kinds[0].attended = Calendar({{0, kWeek_s}});
  add(problem, 0, 1.0);
  add(problem, 1, 4.0);
  add(problem, 2, 2.0);
  problem.jobs[2].due_s = problem.now_s + kHour;
  problem.jobs[0].due_s = problem.now_s + 2 * kHour;
  Timing timing(problem);
  using Lanes = std::vector<Lane>;
  EXPECT_EQ(hand_out(problem, timing, {1, 1, 1}, HandOut::by_date), (Lanes{{2}, {0, 1}}));
  EXPECT_EQ(hand_out(problem, timing, {1, 1, 1}, HandOut::longest), (Lanes{{1}, {2, 0}}));
  EXPECT_EQ(hand_out(problem, timing, {1, 1, 1}, HandOut::as_they_come), (Lanes{{0, 2}, {1}}));
  EXPECT_EQ(hand_out(problem, timing, {0, 2, 0}, HandOut::longest), (Lanes{{1}, {1}}));
}

TEST(Dispatch, AlikeFilamentsGoTogether) {
  Problem problem = one_machine();
  problem.kinds[0].instances.push_back({problem.now_s, 0b10});
  problem.kinds[0].attended = Calendar({{0, kWeek_s}});
  for (int job = 0; job < 4; ++job)
    add(problem, job, 1.0);
  for (const std::size_t job : {std::size_t{1}, std::size_t{3}})
    problem.jobs[job].filaments = 0b10;
  Timing timing(problem);
  EXPECT_EQ(hand_out(problem, timing, {1, 1, 1, 1}, HandOut::by_filaments),
            (std::vector<Lane>{{0, 2}, {1, 3}}));
}

TEST(Dispatch, AllOnOneTakesTheBiggestPlatesAndNoBiggerThanWhatIsLeft) {
  Problem problem = one_machine();
  problem.kinds.push_back(problem.kinds[0]);
  add(problem, 0, 1.0, 1.0, 1);
  add(problem, 0, 2.0, 1.0, 2);
  add(problem, 0, 4.0, 1.0, 4);
  add(problem, 1, 1.0, 1.0, 3, 1);
  problem.jobs[0].copies = 7;
  problem.jobs[1].copies = 2;
  EXPECT_FALSE(all_on_one(problem, 0)) << "the second job has no batch there";
  EXPECT_FALSE(all_on_one(problem, 1));
  problem.batches[3].kind = 0;
  const auto lanes = all_on_one(problem, 0);
  ASSERT_TRUE(lanes);
  // Four, then the smallest that does three.
  EXPECT_EQ(*lanes, (std::vector<Lane>{{2, 2, 3}, {}}));
  problem.jobs[0].copies = 5;
  EXPECT_EQ(*all_on_one(problem, 0), (std::vector<Lane>{{2, 0, 3}, {}})) << "one is left";
}

TEST(Dispatch, FirstComeTakesJobsInTheirOrder) {
  Problem problem = one_machine();
  problem.kinds[0].instances.push_back(problem.kinds[0].instances[0]);
  problem.kinds[0].attended = Calendar({{0, kWeek_s}});
  add(problem, 0, 3.0);
  add(problem, 1, 1.0);
  problem.jobs[1].copies = 3;
  Timing timing(problem);
  EXPECT_EQ(first_come(problem, timing), (std::vector<Lane>{{0}, {1, 1, 1}}));
}

TEST(Dispatch, ASchedulesRunsAreInTheOrderOfTheirStart) {
  Problem problem = one_machine();
  problem.kinds[0].instances.push_back(problem.kinds[0].instances[0]);
  problem.kinds[0].attended = Calendar({{0, kWeek_s}});
  add(problem, 0, 3.0);
  add(problem, 1, 1.0);
  Timing timing(problem);
  const Schedule schedule = schedule_of(timing, {{0, 0}, {1, 1, 1}});
  EXPECT_TRUE(
      std::ranges::is_sorted(schedule.runs, {}, [](const auto& run) { return run.start_s; }));
  EXPECT_EQ(schedule.runs.size(), 5U);
}

TEST(Improve, NeverEndsWorseThanItBeganAndCoversWhatWasCovered) {
  Problem problem = one_machine();
  problem.kinds[0].instances.push_back({problem.now_s + kHour, 0b10});
  for (int job = 0; job < 5; ++job) {
    add(problem, job, 1.0 + job, 10.0 - job, 1);
    add(problem, job, 1.5 + job, 14.0 - job, 2);
    problem.jobs[static_cast<std::size_t>(job)].copies = 3;
    problem.jobs[static_cast<std::size_t>(job)].filaments = job % 2 == 0 ? 0b01 : 0b10;
    problem.jobs[static_cast<std::size_t>(job)].due_s = problem.now_s + (job + 2) * 5 * kHour;
  }
  problem.weights = {1.0, 0.2, 0.0, 0.0, 1.0};
  Timing timing(problem);
  const std::vector<Lane> start = first_come(problem, timing);
  const double before = schedule_of(timing, start).value;
  for (const std::uint64_t seed : {1U, 2U, 3U}) {
    const Improved better = improve(problem, start, {seed, 3000, 0.03, false}, nullptr);
    EXPECT_LE(better.value, before);
    EXPECT_NEAR(better.value, schedule_of(timing, better.lanes).value, 1e-9);
    EXPECT_EQ(better.steps, 3000);
    EXPECT_FALSE(better.stopped);
    std::vector<int> copies(problem.jobs.size());
    for (const Lane& lane : better.lanes)
      for (const int b : lane) {
        const Batch& batch = problem.batches[static_cast<std::size_t>(b)];
        copies[static_cast<std::size_t>(batch.job)] += batch.copies;
      }
    for (std::size_t job = 0; job < copies.size(); ++job)
      EXPECT_GE(copies[job], problem.jobs[job].copies);
    EXPECT_EQ(improve(problem, start, {seed, 3000, 0.03, false}, nullptr).lanes, better.lanes)
        << "the same chance, the same plan";
  }
  const Improved stopped = improve(problem, start, {1, 3000, 0.03, false}, [] { return true; });
  EXPECT_TRUE(stopped.stopped);
  EXPECT_LE(stopped.value, before);
}

TEST(SolveAll, WithoutJobsThereIsNothingToDo) {
  Problem problem = one_machine();
  const Solution solution = solve(problem, {});
  EXPECT_TRUE(solution.schedule.runs.empty());
  EXPECT_EQ(solution.schedule.measures.finish_s, problem.now_s);
  EXPECT_TRUE(solution.rules.empty());
}

TEST(Gap, IsTheShareOfTheValueAboveTheBound) {
  EXPECT_DOUBLE_EQ((Bounded{10.0, 8.0}).gap(), 0.2);
  EXPECT_EQ((Bounded{8.0, 8.0}).gap(), 0.0);
  EXPECT_EQ((Bounded{8.0, 8.1}).gap(), 0.0) << "rounding is no gap";
  EXPECT_EQ((Bounded{0.0, 0.0}).gap(), 0.0);
}

}  // namespace
}  // namespace platetally::solve
