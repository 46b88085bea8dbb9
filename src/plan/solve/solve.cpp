// The plan: an assignment by branch and bound, times by list scheduling, improved from several
// starts; bounds and simple rules beside it.
#include <algorithm>
#include <cmath>

#include "base/run_each.hpp"
#include "base/units.hpp"
#include "plan/solve/assignment.hpp"
#include "plan/solve/dispatch.hpp"
#include "plan/solve/improve.hpp"
#include "plan/solve/problem.hpp"
#include "plan/solve/timing.hpp"

namespace platetally::solve {

namespace {

constexpr int kChains = 4;
constexpr int kNodeColumns = 4000000;  // nodes times columns of a branch and bound
constexpr int kFewestNodes = 100;
constexpr int kNodesForAStart = 50;  // where only a start is wanted, no proof
// Of the mean worth of a batch: from a good start little warmth finds more, from another one much.
constexpr double kCool = 0.03;  // assumed
constexpr double kWarm = 0.3;   // assumed
constexpr std::int64_t kStepsABatch = 4000;
constexpr std::int64_t kFewestSteps = 20000;
constexpr std::int64_t kMostSteps = 1000000;
constexpr std::int64_t kPowerCosts = 3;  // a step under a limit of power is as long as many others

double in_hours(Seconds time_s) {
  return base::h_from_s(static_cast<double>(time_s));
}

class Solver {
 public:
  Solver(const Problem& problem, const Effort& effort)
      : problem_(problem), effort_(effort), timing_(problem) {}

  Solution solve();

 private:
  void assign();
  void add_rules();
  void improve_all();
  void prove();
  void prove_asked();
  void start_from(const std::vector<int>& times);
  std::vector<double> values(double Weights::*weight) const;
  double least(double Weights::*weight) const;
  std::int64_t steps() const;
  int nodes() const;

  const Problem& problem_;
  const Effort& effort_;
  Timing timing_;
  Solution solution_;
  std::vector<std::vector<Lane>> starts_;
  double assigned_bound_ = 0.0;
  Seconds least_finish_s_ = 0;
};

std::vector<double> Solver::values(double Weights::*weight) const {
  Weights one;
  one.*weight = 1.0;
  std::vector<double> values;
  for (const Batch& batch : problem_.batches)
    values.push_back(weighed(batch, one));
  return values;
}

/// The least of one measure, whatever the dates.
double Solver::least(double Weights::*weight) const {
  const std::vector<double> each = values(weight);
  return sum_over(cheapest_cover(problem_, each), each);
}

void Solver::start_from(const std::vector<int>& times) {
  for (const HandOut order : {HandOut::by_date, HandOut::longest, HandOut::by_filaments})
    starts_.push_back(hand_out(problem_, timing_, times, order));
}

void Solver::assign() {
  Proof& proof = solution_.proof;
  Effort branching = effort_;
  branching.nodes = nodes();
  const Assignment assignment = best_assignment(problem_, timing_, branching);
  assigned_bound_ = assignment.bound;
  proof.stopped = assignment.out_of_time;
  if (!assignment.times.empty()) {
    start_from(assignment.times);
    proof.assignment = {assignment.value, assignment.bound};
    proof.assignment_proven = assignment.proven;
    proof.nodes = assignment.nodes;
  }
  std::vector<int> times;
  branching.nodes = std::min(branching.nodes, kNodesForAStart);
  least_finish_s_ = least_finish_s(problem_, timing_, branching,
                                   problem_.weights.finish_h > 0.0 ? &times : nullptr);
  if (!times.empty())
    start_from(times);
}

void Solver::add_rules() {
  const auto add = [&](Rule::Name name, int kind, const std::optional<std::vector<Lane>>& lanes) {
    Rule rule{name, kind, std::nullopt};
    if (lanes) {
      rule.schedule = schedule_of(timing_, *lanes);
      starts_.push_back(*lanes);
    }
    solution_.rules.push_back(std::move(rule));
  };
  for (std::size_t kind = 0; kind < problem_.kinds.size(); ++kind)
    add(Rule::Name::all_on_one, static_cast<int>(kind),
        all_on_one(problem_, static_cast<int>(kind)));
  std::vector<double> each;
  Weights weights = problem_.weights;
  for (const Batch& batch : problem_.batches)
    each.push_back(weighed(batch, weights) + weights.finish_h * in_hours(batch.print_s));
  add(Rule::Name::cheapest_each, -1,
      hand_out(problem_, timing_, cheapest_cover(problem_, each), HandOut::as_they_come));
  add(Rule::Name::first_come, -1, first_come(problem_, timing_));
}

/// Fewer where each takes longer, so that a plan without a limit of time ends too.
int Solver::nodes() const {
  const auto columns = static_cast<int>(std::max<std::size_t>(1, problem_.batches.size()));
  // With the finish in the sum, branches hardly differ, and most of them are looked at.
  const int all = problem_.weights.finish_h > 0.0 ? kNodeColumns / 10 : kNodeColumns;
  return std::clamp(all / columns, std::min(kFewestNodes, effort_.nodes), effort_.nodes);
}

std::int64_t Solver::steps() const {
  if (effort_.steps > 0)
    return effort_.steps;
  std::size_t many = 0;
  for (const Lane& lane : starts_.front())
    many += lane.size();
  const std::int64_t steps =
      std::clamp(kStepsABatch * static_cast<std::int64_t>(many), kFewestSteps, kMostSteps);
  return problem_.power_limit_w ? std::max<std::int64_t>(steps / kPowerCosts, 2000) : steps;
}

/// Chains from the best starts; how many threads share them changes nothing.
void Solver::improve_all() {
  std::vector<std::pair<double, std::size_t>> order;
  for (std::size_t i = 0; i < starts_.size(); ++i)
    order.emplace_back(schedule_of(timing_, starts_[i]).value, i);
  std::ranges::stable_sort(order, {}, [](const auto& one) { return one.first; });
  const std::int64_t steps_each = steps();
  std::vector<Improved> results(kChains);
  const auto run = [&](std::size_t chain) {
    const std::size_t start = order[chain / 2 % order.size()].second;
    results[chain] = improve(
        problem_, starts_[start],
        {effort_.seed * kChains + chain, steps_each, chain < 2 ? kCool : kWarm, chain % 2 == 1},
        effort_.stop);
  };
  base::run_each(kChains, effort_.threads, run);
  const Improved* best = &results.front();
  for (const Improved& result : results) {
    solution_.proof.steps += result.steps;
    solution_.proof.stopped = solution_.proof.stopped || result.stopped;
    if (result.value < best->value || (result.value == best->value && result.tie < best->tie))
      best = &result;
  }
  solution_.schedule = schedule_of(timing_, best->lanes);
}

void Solver::prove_asked() {
  const Weights& w = problem_.weights;
  Proof& proof = solution_.proof;
  // Part by part, and together by the programme; the programme's bound holds lateness too, which
  // tells nothing of the rest once something is late.
  const std::vector<double> each = [&] {
    std::vector<double> values;
    for (const Batch& batch : problem_.batches)
      values.push_back(weighed(batch, w));
    return values;
  }();
  double bound = sum_over(cheapest_cover(problem_, each), each) +
                 w.cost * least_change_cost(problem_) + w.finish_h * proof.finish_h.bound;
  const bool is_late = solution_.schedule.measures.late_weighted_h > 0.0;
  if (!is_late || w.late_h)
    bound = std::max(bound, assigned_bound_);
  proof.asked = {timing_.asked_of(solution_.schedule.measures), bound};
}

void Solver::prove() {
  const Measures& m = solution_.schedule.measures;
  Proof& proof = solution_.proof;
  proof.cost = {m.cost, least(&Weights::cost) + least_change_cost(problem_)};
  proof.waste_g = {m.waste_g, least(&Weights::waste_g)};
  proof.energy_kwh = {base::kwh_from_wh(m.energy_wh), least(&Weights::energy_kwh)};
  proof.finish_h = {in_hours(m.finish_s - problem_.now_s),
                    in_hours(least_finish_s_ - problem_.now_s)};
  proof.late_h = {m.late_weighted_h,
                  m.late_weighted_h > 0.0 ? least_late_h(problem_, timing_, effort_) : 0.0};
  prove_asked();
}

Solution Solver::solve() {
  if (problem_.jobs.empty()) {
    solution_.schedule.measures.finish_s = problem_.now_s;
    return std::move(solution_);
  }
  if (effort_.stop)
    effort_.stop();  // its clock begins here, before there is more than one thread
  assign();
  add_rules();
  improve_all();
  prove();
  return std::move(solution_);
}

}  // namespace

Solution solve(const Problem& problem, const Effort& effort) {
  return Solver(problem, effort).solve();
}

}  // namespace platetally::solve
