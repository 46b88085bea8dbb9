// Instances from the literature whose best plan is known.
#include <gtest/gtest.h>

#include "plan/solve/dispatch.hpp"
#include "plan/solve/problem.hpp"
#include "plan/solve/timing.hpp"

namespace platetally::solve {
namespace {

constexpr Seconds kHour = 3600;

/// Jobs of so many hours on machines that are alike and always attended, without handling.
Problem makespan_of(int machines, const std::vector<int>& hours_of_jobs) {
  Problem problem;
  Kind kind;
  kind.instances.resize(static_cast<std::size_t>(machines));
  kind.attended = Calendar({{0, kWeek_s}});
  problem.kinds = {kind};
  problem.weights.finish_h = 1.0;
  for (const int hours : hours_of_jobs) {
    Batch batch;
    batch.job = static_cast<int>(problem.jobs.size());
    batch.print_s = hours * kHour;
    problem.jobs.emplace_back();
    problem.batches.push_back(batch);
  }
  return problem;
}

// R. L. Graham, "Bounds on multiprocessing timing anomalies", SIAM Journal on Applied Mathematics
// 17 (1969): two jobs each of 2m-1 .. m+1 and three of m on m machines. The longest first take
// 4m-1, the best plan 3m.
TEST(Published, GrahamsWorstCaseOfTheLongestFirst) {
  for (int m = 2; m <= 6; ++m) {
    std::vector<int> jobs{m, m, m};
    for (int length = m + 1; length <= 2 * m - 1; ++length)
      jobs.insert(jobs.end(), 2, length);
    const Problem problem = makespan_of(m, jobs);
    Timing timing(problem);
    const std::vector<int> once(problem.batches.size(), 1);
    EXPECT_DOUBLE_EQ(schedule_of(timing, hand_out(problem, timing, once, HandOut::longest)).value,
                     4.0 * m - 1)
        << m;
    const Solution solution = solve(problem, {});
    EXPECT_DOUBLE_EQ(solution.schedule.value, 3.0 * m) << m;
    EXPECT_NEAR(solution.proof.asked.bound, 3.0 * m, 1e-6) << m;
    EXPECT_NEAR(solution.proof.finish_h.bound, 3.0 * m, 2.0 / 60.0) << m;
  }
}

// The same paper, figure for lists that are no list of the longest first: m(m-1) jobs of 1 and one
// of m. In that order they take 2m-1, the best plan m.
TEST(Published, GrahamsWorstCaseOfAList) {
  for (int m = 2; m <= 6; ++m) {
    std::vector<int> jobs(static_cast<std::size_t>(m * (m - 1)), 1);
    jobs.push_back(m);
    const Problem problem = makespan_of(m, jobs);
    Timing timing(problem);
    EXPECT_DOUBLE_EQ(schedule_of(timing, first_come(problem, timing)).value, 2.0 * m - 1) << m;
    EXPECT_DOUBLE_EQ(solve(problem, {}).schedule.value, m) << m;
  }
}

}  // namespace
}  // namespace platetally::solve
