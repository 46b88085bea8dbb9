// plan JOBS MACHINES SEEDS [cost|finish] [STEPS]   how near to their bounds plans of chance queues
// come, how long that takes, and how long two solvers take over the same programme.
#include <fmt/format.h>

#include <chrono>
#include <cstdlib>
#include <string>

#include "plan/solve/assignment.hpp"
#include "plan/solve/problem.hpp"
#include "support/glpk_program.hpp"
#include "support/queues.hpp"

namespace {

double now_s() {
  return std::chrono::duration<double>(std::chrono::steady_clock::now().time_since_epoch()).count();
}

constexpr int kMilliseconds = 60000;

/// The same programme by the product's solver and by the other one.
void compare_solvers(const platetally::solve::Problem& problem) {
  using namespace platetally;
  const solve::Timing timing(problem);
  const solve::LinearProgram programme = solve::assignment_programme(problem, timing);
  double start_s = now_s();
  const solve::LinearAnswer ours = solve::solve_whole(programme, {});
  const double ours_s = now_s() - start_s;
  start_s = now_s();
  const solve::LinearAnswer other = test::solve_by_glpk(programme, kMilliseconds);
  fmt::print("CBC {:.2f} s ({:.4f}, {}), GLPK {:.2f} s ({:.4f}, {}); {} columns, {} rows\n", ours_s,
             ours.value, ours.optimal ? "proven" : "open", now_s() - start_s, other.value,
             other.optimal ? "proven" : "open", programme.columns.size(), programme.rows.size());
}

}  // namespace

int main(int argc, char** argv) {
  using namespace platetally;
  if (argc < 4) {
    fmt::print(stderr, "plan JOBS MACHINES SEEDS [cost|finish] [STEPS]\n");
    return 2;
  }
  const bool by_finish = argc > 4 && std::string(argv[4]) == "finish";
  for (std::uint64_t seed = 1; seed <= std::strtoull(argv[3], nullptr, 10); ++seed) {
    solve::Problem problem = test::queue_of(std::atoi(argv[1]), std::atoi(argv[2]), seed);
    (by_finish ? problem.weights.finish_h : problem.weights.cost) = 1.0;
    // By finish the two differ by minutes; only the plan is measured then.
    if (!by_finish)
      compare_solvers(problem);
    const double start_s = now_s();
    solve::Effort effort;
    effort.threads = 2;
    effort.steps = argc > 5 ? std::atoll(argv[5]) : 0;
    const solve::Solution plan = solve::solve(problem, effort);
    const double plan_s = now_s() - start_s;
    fmt::print(
        "seed {}: plan in {:.1f} s: asked "
        "{:.2f}, at least {:.2f}, gap {:.2f} %; finish {:.1f} h, at least {:.1f} h, gap {:.2f} %; "
        "late {:.1f} h; batches {}\n",
        seed, plan_s, plan.proof.asked.value, plan.proof.asked.bound,
        100.0 * plan.proof.asked.gap(), plan.proof.finish_h.value, plan.proof.finish_h.bound,
        100.0 * plan.proof.finish_h.gap(), plan.schedule.measures.late_h,
        plan.schedule.runs.size());
  }
  return 0;
}
