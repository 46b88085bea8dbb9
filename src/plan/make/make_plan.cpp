// From a queue to a plan: the table of batches, what of an earlier plan stays, the problem in
// numbers, its solution, and all of it in the words of the queue again.
#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <bit>
#include <cmath>
#include <limits>
#include <map>
#include <stdexcept>

#include "base/hash.hpp"
#include "base/nearest.hpp"
#include "base/units.hpp"
#include "plan/make/batch_table.hpp"
#include "plan/make/earlier.hpp"
#include "plan/make/filament_names.hpp"
#include "plan/solve/problem.hpp"
#include "platetally/plan.hpp"

namespace platetally {

namespace {

using plan::JobTable;
using plan::Kept;
using plan::KeptRun;
using plan::TriedBatch;

class Planner {
 public:
  Planner(const Queue& queue, const PlanOptions& options) : queue_(queue), options_(options) {}

  Plan make();

 private:
  void choose_aim();
  void note_options();
  void try_all();
  void pose();
  void pose_machine(std::size_t machine);
  void pose_job(std::size_t job);
  void pose_kept();
  void tell_runs(const solve::Solution& solution);
  void tell_sums();
  void tell_proof(const solve::Solution& solution);
  PlanRun run_of(const TriedBatch& batch) const;
  PlanSums sums_of(const std::string& name, const solve::Schedule& schedule) const;
  const TriedBatch* batch_of(std::size_t job, std::size_t machine, int times) const;
  double unattended_s(const PlanRun& run) const;
  void tell_power();

  const Queue& queue_;
  const PlanOptions& options_;
  Plan plan_;
  std::vector<JobTable> tables_;
  Kept kept_;
  plan::FilamentNames names_;
  solve::Problem problem_;
  std::vector<std::size_t> job_of_;              ///< queue's, by the problem's
  std::vector<std::size_t> machine_of_;          ///< queue's, by the problem's kind
  std::vector<std::vector<int>> instance_of_;    ///< queue's, by kind and the problem's
  std::vector<const TriedBatch*> batch_at_;      ///< by the problem's batches
  std::vector<const TriedBatch*> batch_of_run_;  ///< by the plan's runs
};

void Planner::choose_aim() {
  plan_.aim = options_.aim;
  PlanAim& aim = plan_.aim;
  bool all_priced = true;
  for (const QueueMachine& machine : queue_.machines) {
    const std::optional<Prices>& prices = machine.prices ? machine.prices : queue_.prices;
    all_priced = all_priced && prices.has_value();
    if (!prices)
      continue;
    if (!plan_.currency.empty() && plan_.currency != prices->currency)
      throw std::invalid_argument(fmt::format("prices are in {} and in {}; expected one currency",
                                              plan_.currency, prices->currency));
    plan_.currency = prices->currency;
  }
  if (!all_priced)
    plan_.currency.clear();
  if (aim.cost == 0.0 && aim.finish == 0.0 && aim.waste == 0.0 && aim.energy == 0.0)
    (all_priced ? aim.cost : aim.finish) = 1.0;
  if (aim.cost > 0.0 && !all_priced)
    throw std::invalid_argument(
        "planning by cost needs prices of every machine: give the queue "
        "prices = \"FILE\", or plan by finish, waste or energy");
  std::vector<std::string> parts;
  const auto part = [&](double weight, const char* what) {
    if (weight > 0.0)
      parts.push_back(weight == 1.0 ? what : fmt::format("{:g} x {}", weight, what));
  };
  part(aim.cost, "cost");
  part(aim.finish, "hours until all is done");
  part(aim.waste, "grams purged");
  part(aim.energy, "kWh");
  if (queue_.late_per_h && aim.cost > 0.0)
    parts.push_back(fmt::format("{:g} an hour late", aim.cost * *queue_.late_per_h));
  plan_.asked = fmt::format("{}", fmt::join(parts, " + "));
}

void Planner::try_all() {
  kept_ = plan::keep(queue_, options_, plan_.now_s, plan_.problems);
  plan::PrintedTimes also;
  for (const KeptRun& run : kept_.runs)
    if (run.has_job)
      also[{run.job, run.machine}].insert(run.earlier.times);
  tables_ = plan::try_batches(queue_, std::clamp(options_.threads, 1, 64), also, plan_.assumed,
                              plan_.made_from);
  for (const JobTable& table : tables_)
    for (const TriedBatch& batch : table.batches)
      plan_.batches.push_back(batch.row);
}

const TriedBatch* Planner::batch_of(std::size_t job, std::size_t machine, int times) const {
  for (const TriedBatch& batch : tables_[job].batches)
    if (batch.row.machine == machine && batch.row.times == times)
      return &batch;
  return nullptr;
}

void Planner::pose_machine(std::size_t machine) {
  const QueueMachine& from = queue_.machines[machine];
  solve::Kind kind;
  std::vector<int> instances;
  for (int i = 0; i < from.count; ++i) {
    const plan::KeptInstance& kept = kept_.instances[machine][static_cast<std::size_t>(i)];
    if (!kept.free_s)
      continue;
    kind.instances.push_back(
        {std::max(*kept.free_s, from.down_until_s.value_or(0)), names_.bits(kept.loaded)});
    instances.push_back(i);
  }
  std::vector<solve::Span> spans;
  for (const WeekSpan& span : from.attended)
    spans.push_back({span.from_s, span.to_s});
  kind.attended = solve::Calendar(spans);
  kind.handling_s = std::lround(from.handling_s);
  kind.change_s = std::lround(from.spool_change_s);
  kind.change_cost = base::h_from_s(from.spool_change_s) * queue_.labour_per_h;
  kind.unattended = from.unattended;
  kind.feeds = static_cast<int>(from.machine.tools.size());
  problem_.kinds.push_back(std::move(kind));
  machine_of_.push_back(machine);
  instance_of_.push_back(std::move(instances));
}

/// Adds a job and its batches, or says why it is left out.
void Planner::pose_job(std::size_t job) {
  const QueueJob& from = queue_.jobs[job];
  PlannedJob& planned = plan_.jobs[job];
  const int left = from.copies - kept_.parts[job];
  if (left <= 0)
    return;
  const int number = static_cast<int>(problem_.jobs.size());
  std::vector<solve::Batch> batches;
  std::vector<const TriedBatch*> tried;
  for (std::size_t kind = 0; kind < problem_.kinds.size(); ++kind)
    for (const TriedBatch& batch : tables_[job].batches) {
      if (batch.row.machine != machine_of_[kind] || !batch.row.impossible.empty())
        continue;
      const bool draws_too_much =
          queue_.power_limit_w && std::ranges::max(batch.power_w) > *queue_.power_limit_w;
      if (problem_.kinds[kind].instances.empty() || draws_too_much) {
        planned.why_not.push_back(fmt::format(
            "on {}: {}", queue_.machines[batch.row.machine].name,
            draws_too_much ? fmt::format("it draws {:.0f} W, more than the limit of {:.0f} W",
                                         std::ranges::max(batch.power_w), *queue_.power_limit_w)
                           : std::string("down for good")));
        break;
      }
      solve::Batch own;
      own.job = number;
      own.kind = static_cast<int>(kind);
      own.copies = batch.row.parts;
      own.print_s =
          std::max<solve::Seconds>(1, static_cast<solve::Seconds>(std::ceil(batch.row.time_s)));
      own.cost = batch.row.cost;
      own.cost_by_hour = batch.cost_by_hour;
      own.waste_g = batch.row.purge_g;
      own.energy_wh = batch.row.energy_wh;
      own.power_w = batch.power_w;
      batches.push_back(std::move(own));
      tried.push_back(&batch);
    }
  if (batches.empty()) {
    planned.why_not.insert(planned.why_not.begin(), tables_[job].why_not.begin(),
                           tables_[job].why_not.end());
    plan_.problems.push_back(fmt::format("job '{}' fits on no machine, it is left out: {}",
                                         from.name, fmt::join(planned.why_not, "; ")));
    return;
  }
  planned.why_not.clear();
  solve::Job own;
  own.copies = left;
  own.filaments = names_.bits(tables_[job].filaments);
  own.due_s = from.due_s;
  own.priority = from.priority;
  own.begun_end_s = kept_.end_s[job];
  problem_.jobs.push_back(own);
  job_of_.push_back(job);
  problem_.batches.insert(problem_.batches.end(), batches.begin(), batches.end());
  batch_at_.insert(batch_at_.end(), tried.begin(), tried.end());
}

/// What is being printed draws power, whatever is planned.
void Planner::pose_kept() {
  for (const KeptRun& run : kept_.runs) {
    const TriedBatch* batch =
        run.has_job ? batch_of(run.job, run.machine, run.earlier.times) : nullptr;
    if (run.state == RunState::printing && batch != nullptr)
      problem_.fixed.push_back({run.earlier.start_s, batch->power_w});
  }
}

void Planner::pose() {
  const PlanAim& aim = plan_.aim;
  problem_.now_s = plan_.now_s;
  problem_.power_limit_w = queue_.power_limit_w;
  problem_.weights = {aim.cost, aim.finish, aim.waste, aim.energy, std::nullopt};
  if (queue_.late_per_h && aim.cost > 0.0)
    problem_.weights.late_h = aim.cost * *queue_.late_per_h;
  for (std::size_t machine = 0; machine < queue_.machines.size(); ++machine)
    pose_machine(machine);
  plan_.jobs.resize(queue_.jobs.size());
  for (std::size_t job = 0; job < queue_.jobs.size(); ++job) {
    plan_.jobs[job].job = job;
    pose_job(job);
  }
  pose_kept();
}

PlanRun Planner::run_of(const TriedBatch& batch) const {
  PlanRun run;
  run.job = batch.row.job;
  run.machine = batch.row.machine;
  run.times = batch.row.times;
  run.parts = batch.row.parts;
  run.replanned = batch.row.replanned;
  run.swaps = batch.row.swaps;
  run.swap_s = batch.swap_s;
  run.cost = batch.row.cost;
  run.purge_g = batch.row.purge_g;
  run.part_g = batch.part_g;
  run.energy_wh = batch.row.energy_wh;
  return run;
}

double Planner::unattended_s(const PlanRun& run) const {
  for (std::size_t kind = 0; kind < problem_.kinds.size(); ++kind)
    if (machine_of_[kind] == run.machine)
      return static_cast<double>(run.end_s - run.start_s -
                                 problem_.kinds[kind].attended.open_s(run.start_s, run.end_s));
  return 0.0;
}

void Planner::tell_runs(const solve::Solution& solution) {
  int number = 0;
  for (const KeptRun& kept : kept_.runs) {
    const std::string& id = kept.earlier.id;
    if (id.size() > 1 && id.front() == 'r' && id.size() < 8)
      number = std::max(number, std::atoi(id.c_str() + 1));
    if (!kept.has_job)
      continue;
    const TriedBatch* batch = batch_of(kept.job, kept.machine, kept.earlier.times);
    PlanRun run;
    if (batch != nullptr)
      run = run_of(*batch);
    run.id = id;
    run.job = kept.job;
    run.machine = kept.machine;
    run.instance = kept.earlier.instance;
    run.times = kept.earlier.times;
    run.parts = kept.earlier.parts;
    run.state = kept.state;
    run.setup_s = kept.earlier.setup_s;
    run.start_s = kept.earlier.start_s;
    run.end_s = kept.state == RunState::failed ? std::min(kept.earlier.end_s, plan_.now_s)
                                               : kept.earlier.end_s;
    run.loaded = kept.earlier.loaded;
    run.unattended_s = unattended_s(run);
    plan_.runs.push_back(std::move(run));
    batch_of_run_.push_back(batch);
  }
  for (const solve::Run& from : solution.schedule.runs) {
    const TriedBatch& batch = *batch_at_[static_cast<std::size_t>(from.batch)];
    PlanRun run = run_of(batch);
    run.id = fmt::format("r{}", ++number);
    run.instance =
        instance_of_[static_cast<std::size_t>(from.kind)][static_cast<std::size_t>(from.instance)];
    run.setup_s = from.setup_s;
    run.start_s = from.start_s;
    run.end_s = from.end_s;
    run.put_in = names_.names(from.put_in);
    run.loaded = names_.names(from.loaded);
    const auto hour =
        static_cast<std::size_t>(base::h_from_s(static_cast<double>(from.start_s % solve::kDay_s)));
    if (hour < batch.cost_by_hour.size())
      run.cost = batch.cost_by_hour[hour];
    run.unattended_s = unattended_s(run);
    plan_.runs.push_back(std::move(run));
    batch_of_run_.push_back(&batch);
  }
}

void Planner::tell_sums() {
  for (std::size_t machine = 0; machine < queue_.machines.size(); ++machine)
    for (int i = 0; i < queue_.machines[machine].count; ++i) {
      PlannedMachine row;
      row.machine = machine;
      row.instance = i;
      plan_.machines.push_back(row);
    }
  for (const PlanRun& run : plan_.runs) {
    PlannedJob& job = plan_.jobs[run.job];
    const QueueMachine& on = queue_.machines[run.machine];
    const auto changes = static_cast<int>(run.put_in.size());
    const double manual_s = on.handling_s + changes * on.spool_change_s;
    if (run.state != RunState::failed) {
      job.parts += run.parts;
      job.finish_s = std::max(job.finish_s.value_or(0), run.end_s);
    }
    ++job.plates;
    job.cost += run.cost;
    job.purge_g += run.purge_g;
    job.energy_wh += run.energy_wh;
    job.manual_s += manual_s;
    if (run.state == RunState::done || run.state == RunState::failed)
      continue;
    const auto row = std::ranges::find_if(plan_.machines, [&](const PlannedMachine& one) {
      return one.machine == run.machine && one.instance == run.instance;
    });
    if (row == plan_.machines.end())
      continue;
    ++row->plates;
    row->printing_s += static_cast<double>(run.end_s - run.start_s);
    row->unattended_s += run.unattended_s;
    row->manual_s += manual_s;
    row->changes += changes;
    row->cost += run.cost;
    row->purge_g += run.purge_g;
    row->energy_wh += run.energy_wh;
  }
  for (PlannedJob& job : plan_.jobs) {
    const std::optional<std::int64_t>& due_s = queue_.jobs[job.job].due_s;
    if (due_s && job.finish_s)
      job.late_s = static_cast<double>(std::max<std::int64_t>(0, *job.finish_s - *due_s));
  }
}

PlanSums Planner::sums_of(const std::string& name, const solve::Schedule& schedule) const {
  const solve::Measures& measures = schedule.measures;
  PlanSums sums;
  sums.name = name;
  sums.cost = measures.cost;
  sums.finish_s = measures.finish_s;
  sums.purge_g = measures.waste_g;
  sums.energy_wh = measures.energy_wh;
  sums.changes = measures.changes;
  sums.late_jobs = measures.late_jobs;
  sums.late_h = measures.late_h;
  for (const solve::Run& run : schedule.runs) {
    const solve::Kind& kind = problem_.kinds[static_cast<std::size_t>(run.kind)];
    sums.manual_s += static_cast<double>(kind.handling_s + run.changes * kind.change_s);
  }
  return sums;
}

void Planner::tell_proof(const solve::Solution& solution) {
  plan_.sums = sums_of("plan", solution.schedule);
  for (const solve::Rule& rule : solution.rules) {
    const std::string name =
        rule.name == solve::Rule::Name::all_on_one
            ? fmt::format("all on {}",
                          queue_.machines[machine_of_[static_cast<std::size_t>(rule.kind)]].name)
        : rule.name == solve::Rule::Name::cheapest_each ? "best for each by itself"
                                                        : "first come, first served";
    if (rule.schedule)
      plan_.rules.push_back(sums_of(name, *rule.schedule));
    else
      plan_.rules.emplace_back().name = name;
    plan_.rules.back().possible = rule.schedule.has_value();
  }
  const solve::Proof& proof = solution.proof;
  const auto add = [&](const char* measure, const char* unit, const solve::Bounded& bounded) {
    plan_.bounds.push_back(
        {measure, unit, bounded.value, std::min(bounded.bound, bounded.value), bounded.gap()});
  };
  add("asked", "", proof.asked);
  if (!plan_.currency.empty())
    add("cost", "", proof.cost);
  add("finish", "h", proof.finish_h);
  add("waste", "g", proof.waste_g);
  add("energy", "kWh", proof.energy_kwh);
  add("late", "h", proof.late_h);
  plan_.assignment_proven = proof.assignment_proven;
  plan_.assignment_value = proof.assignment.value;
  plan_.assignment_bound = proof.assignment.bound;
  plan_.nodes = proof.nodes;
  plan_.steps = proof.steps;
  plan_.stopped = proof.stopped;
}

/// Of each run the highest that lies in a step of the plan's; all of them together.
void Planner::tell_power() {
  PlanPower& power = plan_.power;
  const std::int64_t step_s = solve::kPowerStep_s;
  power.step_s = step_s;
  std::int64_t first_s = std::numeric_limits<std::int64_t>::max();
  std::int64_t last_s = 0;
  for (const PlanRun& run : plan_.runs)
    if (run.state == RunState::planned || run.state == RunState::printing) {
      first_s = std::min(first_s, run.start_s);
      last_s = std::max(last_s, run.end_s);
    }
  if (last_s == 0)
    return;
  power.start_s = first_s / step_s * step_s;
  power.highest_w.resize(static_cast<std::size_t>((last_s - power.start_s) / step_s) + 1);
  for (std::size_t i = 0; i < plan_.runs.size(); ++i) {
    const PlanRun& run = plan_.runs[i];
    const TriedBatch* batch = batch_of_run_[i];
    if (batch == nullptr || (run.state != RunState::planned && run.state != RunState::printing))
      continue;
    std::map<std::size_t, double> own_w;
    for (std::size_t step = 0; step < batch->power_w.size(); ++step) {
      const std::int64_t from_s = run.start_s + static_cast<std::int64_t>(step) * step_s;
      const std::int64_t to_s = std::min(from_s + step_s, run.end_s) - 1;
      for (std::int64_t at = (from_s - power.start_s) / step_s;
           at <= (to_s - power.start_s) / step_s; ++at) {
        double& highest_w = own_w[static_cast<std::size_t>(at)];
        highest_w = std::max(highest_w, batch->power_w[step]);
      }
    }
    for (const auto& [at, watts] : own_w)
      if (at < power.highest_w.size())
        power.highest_w[at] += watts;
  }
}

void Planner::note_options() {
  MadeFrom& made = plan_.made_from;
  for (const QueueMachine& machine : queue_.machines)
    made.add(used(machine.machine));
  if (const auto hash = content_hash(queue_.path))
    made.set("queue", *hash);
  if (queue_.prices)
    made.set("prices", prices_hash(*queue_.prices));
  for (const QueueMachine& machine : queue_.machines)
    if (machine.prices)
      made.set(fmt::format("prices of {}", machine.name), prices_hash(*machine.prices));
  made.set("now", moment_text(plan_.now_s));
  const PlanAim& aim = plan_.aim;
  made.set("aim", fmt::format("cost={},finish={},waste={},energy={}", aim.cost, aim.finish,
                              aim.waste, aim.energy));
  made.set("seed", fmt::format("{}", options_.seed));
  if (options_.seconds > 0.0)
    made.set("seconds", fmt::format("{}", options_.seconds));
  if (!options_.failed.empty())
    made.set("failed", fmt::format("{}", fmt::join(options_.failed, " ")));
  std::vector<std::string> down;
  for (const auto& [machine, until_s] : options_.down)
    down.push_back(until_s ? fmt::format("{}={}", machine, moment_text(*until_s)) : machine);
  if (!down.empty())
    made.set("down", fmt::format("{}", fmt::join(down, ",")));
  if (options_.earlier) {
    std::string runs;
    for (const EarlierRun& run : options_.earlier->runs)
      runs += fmt::format("{} {} {} {} {} {} {} {} {} {}\n", run.id, run.job, run.machine,
                          run.instance, run.parts, run.times, run.setup_s, run.start_s, run.end_s,
                          fmt::join(run.loaded, " "));
    made.set("earlier", base::hash_of_text(runs));
  }
}

Plan Planner::make() {
  if (queue_.jobs.empty() || queue_.machines.empty())
    throw std::invalid_argument("there is nothing to plan: no job, or no machine");
  plan_.queue = queue_;
  plan_.now_s = options_.now_s.value_or(queue_.start_s);
  choose_aim();
  note_options();
  try_all();
  pose();
  solve::Effort effort;
  effort.seed = options_.seed;
  effort.threads = options_.threads;
  effort.seconds = options_.seconds;
  effort.stop = options_.stop;
  const solve::Solution solution = solve::solve(problem_, effort);
  tell_runs(solution);
  tell_sums();
  tell_proof(solution);
  tell_power();
  return std::move(plan_);
}

}  // namespace

Plan make_plan(const Queue& queue, const PlanOptions& options) {
  return Planner(queue, options).make();
}

}  // namespace platetally
