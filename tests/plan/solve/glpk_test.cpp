// The assignment of queues against another solver.
#include <gtest/gtest.h>

#include "plan/solve/assignment.hpp"
#include "support/glpk_program.hpp"
#include "support/queues.hpp"

namespace platetally::solve {
namespace {

TEST(Assignment, AnotherSolverComesToTheSame) {
  for (std::uint64_t seed = 1; seed <= 12; ++seed) {
    Problem problem = test::queue_of(6 + static_cast<int>(seed), 3, seed);
    problem.weights.cost = 1.0;
    if (seed % 3 == 0)
      problem.weights.finish_h = 0.5;
    const Timing timing(problem);
    const LinearProgram programme = assignment_programme(problem, timing);
    const LinearAnswer ours = solve_whole(programme, {});
    const LinearAnswer other = test::solve_by_glpk(programme, 20000);
    ASSERT_TRUE(other.optimal) << seed;
    ASSERT_TRUE(ours.optimal) << seed;
    EXPECT_NEAR(ours.value, other.value, 1e-6 * other.value) << seed;
    EXPECT_LE(solve_relaxed(programme).value, other.value + 1e-9) << seed;
  }
  glp_free_env();
}

TEST(Assignment, WithoutDatesItIsTheCheapestCoverOfEachJob) {
  Problem problem = test::queue_of(30, 4, 7);
  for (Job& job : problem.jobs)
    job.due_s.reset();
  for (Kind& kind : problem.kinds)
    kind.change_cost = 0.0;
  problem.weights.cost = 1.0;
  std::vector<double> each;
  for (const Batch& batch : problem.batches)
    each.push_back(batch.cost);
  const Timing timing(problem);
  const Assignment assignment = best_assignment(problem, timing, {});
  EXPECT_TRUE(assignment.proven);
  EXPECT_NEAR(assignment.value, sum_over(cheapest_cover(problem, each), each), 1e-6);
}

}  // namespace
}  // namespace platetally::solve
