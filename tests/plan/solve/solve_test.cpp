// Whole plans of small problems against all that there are.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <functional>

#include "plan/solve/assignment.hpp"
#include "plan/solve/chance.hpp"
#include "plan/solve/dispatch.hpp"
#include "plan/solve/problem.hpp"
#include "plan/solve/timing.hpp"

namespace platetally::solve {
namespace {

constexpr Seconds kMonday = 1777852800 / kDay_s * kDay_s;  // 2026-05-04, a Monday
constexpr Seconds kHour = 3600;

Kind machine(int count, bool always) {
  Kind kind;
  kind.instances.resize(static_cast<std::size_t>(count));
  for (Instance& instance : kind.instances) {
    instance.free_s = kMonday + 8 * kHour;
    instance.loaded = 0b11;
  }
  std::vector<Span> spans;
  for (Seconds day = 0; day < 7; ++day)
    spans.push_back(always ? Span{day * kDay_s, (day + 1) * kDay_s}
                           : Span{day * kDay_s + 8 * kHour, day * kDay_s + 16 * kHour});
  kind.attended = Calendar(spans);
  kind.handling_s = 600;
  kind.change_s = 300;
  kind.change_cost = 2.0;
  kind.feeds = 2;
  return kind;
}

/// Up to four jobs in batches of one and two copies on two kinds of machine.
Problem small_problem(std::uint64_t seed) {
  Chance chance(seed);
  Problem problem;
  problem.now_s = kMonday + 8 * kHour;
  problem.kinds = {machine(1, seed % 3 != 0), machine(1, seed % 3 != 1)};
  const int jobs = 2 + static_cast<int>(chance.below(2));
  for (int j = 0; j < jobs; ++j) {
    Job job;
    job.copies = 1 + static_cast<int>(chance.below(2));
    job.filaments = Filaments{1} << chance.below(3);
    job.priority = 1.0 + static_cast<double>(chance.below(3));
    if (chance.below(2) == 0)
      job.due_s = problem.now_s + static_cast<Seconds>(1 + chance.below(12)) * kHour;
    problem.jobs.push_back(job);
    for (int kind = 0; kind < 2; ++kind)
      for (int copies = 1; copies <= 2; ++copies) {
        Batch batch;
        batch.job = j;
        batch.kind = kind;
        batch.copies = copies;
        batch.print_s = static_cast<Seconds>(1 + chance.below(5)) * kHour * (copies + 1) / 2;
        batch.cost = static_cast<double>(5 + chance.below(20)) * (copies + 1) / 2;
        batch.waste_g = static_cast<double>(chance.below(30));
        batch.energy_wh = 100.0 * static_cast<double>(1 + chance.below(10));
        batch.power_w.assign(static_cast<std::size_t>(batch.print_s / kPowerStep_s),
                             static_cast<double>(100 + 50 * chance.below(4)));
        problem.batches.push_back(batch);
      }
  }
  return problem;
}

/// The least value of all plans: every multiset of batches that covers, on every machine, in every
/// order. With a limit of power too, as times are those of the list.
double least_of_all(const Problem& problem) {
  Timing timing(problem);
  double least = 1e300;
  std::vector<Lane> lanes(timing.places().size());
  const std::function<void(std::size_t)> order_from = [&](std::size_t lane) {
    if (lane == lanes.size()) {
      least = std::min(least, schedule_of(timing, lanes).value);
      return;
    }
    Lane sorted = lanes[lane];
    std::ranges::sort(sorted);
    const Lane kept = lanes[lane];
    do {
      lanes[lane] = sorted;
      order_from(lane + 1);
    } while (std::ranges::next_permutation(sorted).found);
    lanes[lane] = kept;
  };
  const std::function<void(std::size_t, int)> cover = [&](std::size_t job, int left) {
    if (job == problem.jobs.size())
      return order_from(0);
    if (left <= 0)
      return cover(job + 1, job + 1 < problem.jobs.size() ? problem.jobs[job + 1].copies : 0);
    for (std::size_t b = 0; b < problem.batches.size(); ++b) {
      if (problem.batches[b].job != static_cast<int>(job))
        continue;
      Lane& lane = lanes[static_cast<std::size_t>(problem.batches[b].kind)];
      lane.push_back(static_cast<int>(b));
      cover(job, left - problem.batches[b].copies);
      lane.pop_back();
    }
  };
  cover(0, problem.jobs.front().copies);
  return least;
}

struct Aim {
  const char* name;
  Weights weights;
};
const Aim kAims[] = {{"cost", {1, 0, 0, 0, std::nullopt}},
                     {"finish", {0, 1, 0, 0, std::nullopt}},
                     {"waste", {0, 0, 1, 0, std::nullopt}},
                     {"energy", {0, 0, 0, 1, std::nullopt}},
                     {"mixed", {1, 0.5, 0.01, 0.2, 3.0}}};

TEST(Solve, SmallProblemsComeToTheLeastOfAllPlans) {
  for (std::uint64_t seed = 1; seed <= 25; ++seed)
    for (const Aim& aim : kAims) {
      Problem problem = small_problem(seed);
      problem.weights = aim.weights;
      Effort effort;
      effort.steps = 3000;
      const Solution solution = solve(problem, effort);
      const double least = least_of_all(problem);
      EXPECT_NEAR(solution.schedule.value, least, 1e-6 * std::max(1.0, std::abs(least)))
          << aim.name << ", seed " << seed;
      const Proof& proof = solution.proof;
      EXPECT_LE(proof.asked.bound, proof.asked.value + 1e-6) << aim.name << ", seed " << seed;
      EXPECT_LE(proof.late_h.bound, proof.late_h.value + 1e-6) << aim.name << ", seed " << seed;
      EXPECT_LE(proof.assignment.bound, least + 1e-6) << aim.name << ", seed " << seed;
      EXPECT_TRUE(proof.assignment_proven);
    }
}

TEST(Solve, NoBoundIsAboveTheLeastOfItsMeasure) {
  for (std::uint64_t seed = 1; seed <= 25; ++seed) {
    Problem problem = small_problem(seed);
    for (Job& job : problem.jobs)
      job.due_s.reset();
    for (const Aim& aim : kAims) {
      problem.weights = aim.weights;
      Effort effort;
      effort.steps = 500;
      const Proof proof = solve(problem, effort).proof;
      EXPECT_LE(proof.asked.bound, least_of_all(problem) + 1e-6) << aim.name << " " << seed;
    }
    // And the bound of the finish, which is asked of each: against the finish that is least.
    problem.weights = kAims[1].weights;
    Timing timing(problem);
    const double bound_h =
        static_cast<double>(least_finish_s(problem, timing, {}, nullptr) - problem.now_s) / 3600.0;
    EXPECT_LE(bound_h, least_of_all(problem) + 1e-9) << seed;
    EXPECT_GE(bound_h, 0.4 * least_of_all(problem)) << seed;
  }
}

TEST(Solve, TogetherTheyStayBelowTheLimitOfPower) {
  for (std::uint64_t seed = 1; seed <= 12; ++seed) {
    Problem problem = small_problem(seed);
    problem.weights = kAims[1].weights;
    problem.power_limit_w = 300.0;
    problem.fixed = {{problem.now_s + 100, std::vector<double>(20, 120.0)}};
    Effort effort;
    effort.steps = 2000;
    const Solution solution = solve(problem, effort);
    std::vector<Seconds> moments;
    for (const auto& run : solution.schedule.runs)
      for (Seconds at = run.start_s; at < run.end_s; at += 60)
        moments.push_back(at);
    for (const Seconds at : moments) {
      double sum_w = 0.0;
      const auto add = [&](Seconds start_s, const std::vector<double>& power_w) {
        const Seconds step = (at - start_s) / kPowerStep_s;
        if (at >= start_s && step < static_cast<Seconds>(power_w.size()))
          sum_w += power_w[static_cast<std::size_t>(step)];
      };
      for (const auto& run : solution.schedule.runs)
        add(run.start_s, problem.batches[static_cast<std::size_t>(run.batch)].power_w);
      for (const FixedLoad& load : problem.fixed)
        add(load.start_s, load.power_w);
      EXPECT_LE(sum_w, 300.0) << seed;
    }
    EXPECT_LE(solution.proof.finish_h.bound, solution.proof.finish_h.value + 1e-9);
  }
}

TEST(Solve, TheSameWhateverTheThreadsAndAnotherForAnotherSeedIsNoWorseThanItsRules) {
  Problem problem = small_problem(5);
  problem.weights = kAims[4].weights;
  const auto starts = [&](std::uint64_t seed, int threads) {
    Effort effort;
    effort.seed = seed;
    effort.threads = threads;
    const Solution solution = solve(problem, effort);
    std::vector<std::pair<int, Seconds>> out;
    for (const auto& run : solution.schedule.runs)
      out.emplace_back(run.batch, run.start_s);
    for (const Rule& rule : solution.rules)
      if (rule.schedule) {
        EXPECT_LE(solution.schedule.value, rule.schedule->value + 1e-9);
      }
    return out;
  };
  EXPECT_EQ(starts(1, 1), starts(1, 4));
  starts(2, 1);
}

TEST(Solve, AStopIsObeyedAndSaid) {
  Problem problem = small_problem(3);
  problem.weights = kAims[0].weights;
  Effort effort;
  effort.stop = [] { return true; };
  const Solution solution = solve(problem, effort);
  EXPECT_TRUE(solution.proof.stopped);
  EXPECT_EQ(solution.proof.steps, 0);
  EXPECT_FALSE(solution.schedule.runs.empty());
  EXPECT_LE(solution.proof.asked.bound, solution.proof.asked.value + 1e-9);
}

TEST(Solve, EveryCopyIsPrintedAndStartsWhenSomebodyIsThere) {
  for (std::uint64_t seed = 1; seed <= 9; ++seed) {
    Problem problem = small_problem(seed);
    problem.kinds[1].unattended = false;
    std::erase_if(problem.batches, [](const Batch& batch) {
      return batch.kind == 1 && batch.print_s + 3 * 600 > 8 * kHour;
    });
    problem.weights = kAims[1].weights;
    const Solution solution = solve(problem, {});
    std::vector<int> copies(problem.jobs.size());
    for (const auto& run : solution.schedule.runs) {
      const Batch& batch = problem.batches[static_cast<std::size_t>(run.batch)];
      copies[static_cast<std::size_t>(batch.job)] += batch.copies;
      const Kind& kind = problem.kinds[static_cast<std::size_t>(run.kind)];
      const Seconds attended = run.kind == 1 ? run.end_s : run.start_s;
      EXPECT_EQ(kind.attended.open_s(run.setup_s, attended), attended - run.setup_s);
      EXPECT_EQ(run.start_s - run.setup_s, kind.handling_s + run.changes * kind.change_s);
      EXPECT_EQ(run.end_s - run.start_s, batch.print_s);
    }
    for (std::size_t job = 0; job < copies.size(); ++job)
      EXPECT_GE(copies[job], problem.jobs[job].copies);
  }
}

}  // namespace
}  // namespace platetally::solve
