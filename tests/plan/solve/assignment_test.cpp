// Programmes small enough to be solved by hand, and covers against all that there are.
#include "plan/solve/assignment.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <functional>

#include "plan/solve/by_hand.hpp"
#include "plan/solve/chance.hpp"
#include "plan/solve/linear_program.hpp"
#include "plan/solve/timing.hpp"

namespace platetally::solve {
namespace {

Kind attended_by_day(int machines) {
  Kind kind;
  kind.instances.assign(static_cast<std::size_t>(machines), {kMonday + 8 * kHour, 0b01});
  kind.attended = by_day();
  kind.handling_s = 600;
  return kind;
}

double least_finish_h(const Problem& problem) {
  const Timing timing(problem);
  return static_cast<double>(least_finish_s(problem, timing, {}, nullptr) - problem.now_s) / 3600.0;
}

// Three prints of ten hours, somebody there from 8 to 16. By hand: 30.5 h of work; the absence of
// the first evening holds 10 h of it and that of the second as much, so 10.5 h are left for the
// sixteen attended ones of two days. The second absence begins on Tuesday at 16:00, 32 h from now.
TEST(LeastFinish, EachAbsenceHoldsOnePrint) {
  Problem problem;
  problem.now_s = kMonday + 8 * kHour;
  problem.kinds = {attended_by_day(1)};
  problem.jobs = {{3, 0b01, {}, 1.0, {}}};
  problem.batches = {batch_of(0, 0, 1, 10.0, 1.0)};
  EXPECT_NEAR(least_finish_h(problem), 32.0, 0.05);
  // The plan itself: Wednesday 8:10 and ten hours.
  problem.weights.finish_h = 1.0;
  const Solution solution = solve(problem, {});
  EXPECT_NEAR(solution.proof.finish_h.value, 48.0 + 10.0 + 1.0 / 6.0, 1e-9);
  EXPECT_LE(solution.proof.finish_h.bound, solution.proof.finish_h.value);
}

TEST(LeastFinish, WhatMustBeAttendedFillsNoAbsence) {
  Problem problem;
  problem.now_s = kMonday + 8 * kHour;
  problem.kinds = {attended_by_day(1)};
  problem.kinds[0].unattended = false;
  problem.kinds[0].handling_s = 0;
  problem.jobs = {{4, 0b01, {}, 1.0, {}}};
  problem.batches = {batch_of(0, 0, 1, 4.0, 1.0)};
  // Two on Monday, two on Tuesday, to 16:00.
  EXPECT_NEAR(least_finish_h(problem), 32.0, 0.05);
}

TEST(LeastFinish, MachinesThatAreAlwaysAttendedShareTheWork) {
  Problem problem;
  problem.now_s = kMonday;
  Kind kind;
  kind.instances.assign(3, {kMonday, 0b01});
  kind.attended = Calendar({{0, kWeek_s}});
  problem.kinds = {kind};
  problem.jobs = {{12, 0b01, {}, 1.0, {}}};
  problem.batches = {batch_of(0, 0, 1, 2.0, 1.0)};
  EXPECT_NEAR(least_finish_h(problem), 8.0, 0.05);
  // One of them comes free three hours later: 24 h of work, 3 of them lost.
  problem.kinds[0].instances[2].free_s += 3 * kHour;
  EXPECT_NEAR(least_finish_h(problem), 9.0, 0.05);
  problem.jobs[0].begun_end_s = kMonday + 30 * kHour;
  EXPECT_NEAR(least_finish_h(problem), 30.0, 0.05) << "what is being printed has its end";
}

TEST(LeastFinish, EnergyUnderALimitOfPowerTakesItsTime) {
  Problem problem;
  problem.now_s = kMonday;
  Kind kind;
  kind.instances.assign(4, {kMonday, 0b01});
  kind.attended = Calendar({{0, kWeek_s}});
  problem.kinds = {kind};
  problem.jobs = {{4, 0b01, {}, 1.0, {}}};
  problem.batches = {batch_of(0, 0, 1, 1.0, 1.0)};
  problem.batches[0].energy_wh = 500.0;
  EXPECT_NEAR(least_finish_h(problem), 1.0, 0.05);
  problem.power_limit_w = 400.0;
  EXPECT_NEAR(least_finish_h(problem), 5.0, 0.05) << "2000 Wh at 400 W";
}

TEST(Assignment, SpoolsThatNobodyHasLoadedCost) {
  Problem problem;
  problem.now_s = kMonday + 8 * kHour;
  problem.kinds = {attended_by_day(1), attended_by_day(1)};
  problem.kinds[1].instances[0].loaded = 0b10;
  for (Kind& kind : problem.kinds)
    kind.change_cost = 5.0;
  problem.jobs = {{2, 0b01, {}, 1.0, {}}};
  problem.batches = {batch_of(0, 0, 1, 1.0, 10.0), batch_of(0, 1, 1, 1.0, 8.0)};
  problem.weights.cost = 1.0;
  const auto best = [&] {
    const Timing timing(problem);
    return best_assignment(problem, timing, {});
  };
  // Two plates at 10 are less than two at 8 and a spool at 5.
  const Assignment loaded = best();
  EXPECT_EQ(loaded.times, (std::vector<int>{2, 0}));
  EXPECT_NEAR(loaded.value, 20.0, 1e-6);
  EXPECT_TRUE(loaded.proven);
  problem.jobs[0].copies = 3;
  const Assignment changed = best();
  EXPECT_EQ(changed.times, (std::vector<int>{0, 3})) << "one spool serves three plates";
  EXPECT_NEAR(changed.value, 29.0, 1e-6);
  problem.kinds[1].instances[0].loaded = 0b11;
  EXPECT_NEAR(best().value, 24.0, 1e-6) << "it has lain there all along";
}

TEST(Assignment, ADateIsKeptWhereItCanBe) {
  Problem problem;
  problem.now_s = kMonday + 8 * kHour;
  problem.kinds = {attended_by_day(1), attended_by_day(1)};
  problem.jobs = {{1, 0b01, problem.now_s + 2 * kHour, 1.0, {}}};
  problem.batches = {batch_of(0, 0, 1, 4.0, 1.0), batch_of(0, 1, 1, 1.0, 50.0)};
  problem.weights.cost = 1.0;
  const auto best = [&] {
    const Timing timing(problem);
    return best_assignment(problem, timing, {}).times;
  };
  EXPECT_EQ(best(), (std::vector<int>{0, 1})) << "in time comes before all else";
  problem.weights.late_h = 2.0;
  EXPECT_EQ(best(), (std::vector<int>{1, 0})) << "two hours late are cheaper";
}

TEST(Assignment, NoPlanCostsLessThanItsProgramme) {
  for (std::uint64_t seed = 1; seed <= 20; ++seed) {
    Chance chance(seed);
    Problem problem;
    problem.now_s = kMonday + 8 * kHour;
    problem.kinds = {attended_by_day(1), attended_by_day(2)};
    problem.kinds[0].change_cost = problem.kinds[1].change_cost = 3.0;
    for (int job = 0; job < 4; ++job) {
      problem.jobs.push_back(
          {1 + static_cast<int>(chance.below(4)), Filaments{1} << chance.below(3), {}, 1.0, {}});
      for (int kind = 0; kind < 2; ++kind)
        for (int copies = 1; copies <= 2; ++copies)
          problem.batches.push_back(batch_of(job, kind, copies, 1.0 + chance.share() * copies,
                                             5.0 + 10.0 * chance.share() * copies));
    }
    problem.weights.cost = 1.0;
    Effort effort;
    effort.steps = 500;
    const Solution solution = solve(problem, effort);
    EXPECT_LE(solution.proof.assignment.bound, solution.schedule.value + 1e-6) << seed;
    EXPECT_LE(solution.proof.cost.bound, solution.schedule.measures.cost + 1e-6) << seed;
  }
}

TEST(Cover, IsTheCheapestOfAllThatThereAre) {
  for (std::uint64_t seed = 1; seed <= 60; ++seed) {
    Chance chance(seed);
    Problem problem;
    std::vector<double> value;
    for (int job = 0; job < 2; ++job) {
      problem.jobs.emplace_back();
      problem.jobs.back().copies = 1 + static_cast<int>(chance.below(9));
      for (int many = 0; many < 3; ++many) {
        problem.batches.push_back(
            batch_of(job, 0, 1 + static_cast<int>(chance.below(5)), 1.0, 0.0));
        value.push_back(chance.share());
      }
    }
    const std::function<double(std::size_t, int)> least = [&](std::size_t job, int left) {
      if (left <= 0)
        return 0.0;
      double best = 1e300;
      for (std::size_t b = 0; b < problem.batches.size(); ++b)
        if (problem.batches[b].job == static_cast<int>(job))
          best = std::min(best, value[b] + least(job, left - problem.batches[b].copies));
      return best;
    };
    const std::vector<int> times = cheapest_cover(problem, value);
    EXPECT_NEAR(sum_over(times, value),
                least(0, problem.jobs[0].copies) + least(1, problem.jobs[1].copies), 1e-12)
        << seed;
    std::vector<int> copies(2);
    for (std::size_t b = 0; b < times.size(); ++b)
      copies[static_cast<std::size_t>(problem.batches[b].job)] +=
          times[b] * problem.batches[b].copies;
    EXPECT_GE(copies[0], problem.jobs[0].copies);
    EXPECT_GE(copies[1], problem.jobs[1].copies);
  }
}

TEST(ChangeCost, IsOfFilamentsThatNobodyHolds) {
  Problem problem;
  problem.kinds = {attended_by_day(1), attended_by_day(1)};
  problem.kinds[0].change_cost = 4.0;
  problem.kinds[1].change_cost = 3.0;
  problem.jobs = {{1, 0b0001, {}, 1.0, {}}, {1, 0b0111, {}, 1.0, {}}};
  EXPECT_DOUBLE_EQ(least_change_cost(problem), 6.0) << "two, on the cheaper machine";
  problem.kinds[0].instances[0].loaded = 0b0010;
  EXPECT_DOUBLE_EQ(least_change_cost(problem), 3.0);
  problem.kinds[0].instances[0].loaded = 0b0110;
  EXPECT_EQ(least_change_cost(problem), 0.0);
}

TEST(Weighed, IsMoneyGramsAndKilowattHoursAndNoTime) {
  Batch batch = batch_of(0, 0, 1, 5.0, 12.0);
  batch.waste_g = 30.0;
  batch.energy_wh = 500.0;
  EXPECT_DOUBLE_EQ(weighed(batch, {1, 0, 0, 0, std::nullopt}), 12.0);
  EXPECT_DOUBLE_EQ(weighed(batch, {0, 0, 0.5, 0, std::nullopt}), 15.0);
  EXPECT_DOUBLE_EQ(weighed(batch, {0, 0, 0, 4, std::nullopt}), 2.0);
  EXPECT_DOUBLE_EQ(weighed(batch, {2, 7, 0.5, 4, 9.0}), 24.0 + 15.0 + 2.0);
}

/// Least 3 x + 2 y with x + y >= 3.5 and x <= 2, y <= 2.
LinearProgram by_hand(bool whole) {
  LinearProgram program;
  const int x = program.add({3.0, 0.0, 2.0, whole});
  const int y = program.add({2.0, 0.0, 2.0, whole});
  program.add({{{x, 1.0}, {y, 1.0}}, 3.5, kUnbounded});
  return program;
}

TEST(LinearProgram, RelaxedTakesPartsAndWholeDoesNot) {
  const LinearAnswer relaxed = solve_relaxed(by_hand(true));
  ASSERT_TRUE(relaxed.feasible);
  EXPECT_NEAR(relaxed.value, 3.0 * 1.5 + 2.0 * 2.0, 1e-9);
  EXPECT_NEAR(relaxed.columns[0], 1.5, 1e-9);
  const LinearAnswer whole = solve_whole(by_hand(true), {});
  ASSERT_TRUE(whole.feasible);
  EXPECT_TRUE(whole.optimal);
  EXPECT_NEAR(whole.value, 10.0, 1e-6);
  EXPECT_NEAR(whole.bound, 10.0, 1e-4);
  EXPECT_FALSE(whole.out_of_time);
}

TEST(LinearProgram, WithoutAnAnswerIsSaid) {
  LinearProgram program = by_hand(true);
  program.add({{{0, 1.0}, {1, 1.0}}, 5.0, kUnbounded});
  EXPECT_FALSE(solve_relaxed(program).feasible);
  EXPECT_FALSE(solve_whole(program, {}).feasible);
}

TEST(LinearProgram, OfChanceIsTheLeastOfAllWholePoints) {
  for (std::uint64_t seed = 1; seed <= 30; ++seed) {
    Chance chance(seed);
    LinearProgram program;
    for (int column = 0; column < 3; ++column)
      program.add({1.0 + static_cast<double>(chance.below(9)), 0.0, 4.0, true});
    for (int row = 0; row < 2; ++row) {
      Row made;
      for (int column = 0; column < 3; ++column)
        made.terms.push_back({column, static_cast<double>(chance.below(4))});
      made.low = 2.0 + static_cast<double>(chance.below(8));
      program.add(made);
    }
    double least = 1e300;
    for (int x = 0; x <= 4; ++x)
      for (int y = 0; y <= 4; ++y)
        for (int z = 0; z <= 4; ++z) {
          const double point[] = {static_cast<double>(x), static_cast<double>(y),
                                  static_cast<double>(z)};
          bool fits = true;
          for (const Row& row : program.rows) {
            double sum = 0.0;
            for (const Term& term : row.terms)
              sum += term.factor * point[term.column];
            fits = fits && sum >= row.low;
          }
          if (fits)
            least = std::min(least, program.columns[0].cost * x + program.columns[1].cost * y +
                                        program.columns[2].cost * z);
        }
    const LinearAnswer whole = solve_whole(program, {});
    ASSERT_EQ(whole.feasible, least < 1e300) << seed;
    if (whole.feasible) {
      EXPECT_NEAR(whole.value, least, 1e-6) << seed;
      EXPECT_LE(solve_relaxed(program).value, least + 1e-9) << seed;
    }
  }
}

}  // namespace
}  // namespace platetally::solve
