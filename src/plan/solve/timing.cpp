#include "plan/solve/timing.hpp"

#include <algorithm>
#include <bit>
#include <cmath>

#include "base/units.hpp"

namespace platetally::solve {

namespace {

Seconds on_step(Seconds at_s) {
  return (at_s + kPowerStep_s - 1) / kPowerStep_s * kPowerStep_s;
}

/// More than any plan can gain elsewhere by being an hour later.
double above_all_else(const Problem& problem) {
  const Weights& w = problem.weights;
  std::vector<double> dearest(problem.jobs.size(), 0.0);
  for (const Batch& batch : problem.batches) {
    const auto job = static_cast<std::size_t>(batch.job);
    const double each = w.cost * std::abs(batch.cost) + w.waste_g * batch.waste_g +
                        w.energy_kwh * base::kwh_from_wh(batch.energy_wh) +
                        w.finish_h * base::h_from_s(static_cast<double>(batch.print_s));
    dearest[job] =
        std::max(dearest[job],
                 each * std::ceil(static_cast<double>(problem.jobs[job].copies) / batch.copies));
  }
  double sum = 1.0;
  for (const double each : dearest)
    sum += each;
  return sum;
}

}  // namespace

std::vector<LanePlace> lane_places(const Problem& problem) {
  std::vector<LanePlace> places;
  for (std::size_t kind = 0; kind < problem.kinds.size(); ++kind)
    for (std::size_t i = 0; i < problem.kinds[kind].instances.size(); ++i)
      places.push_back({static_cast<int>(kind), static_cast<int>(i)});
  return places;
}

Timing::Timing(const Problem& problem)
    : problem_(problem),
      places_(lane_places(problem)),
      late_weight_(problem.weights.late_h.value_or(above_all_else(problem))),
      changes_(places_.size()) {
  const Seconds zero_s = problem.now_s / kPowerStep_s * kPowerStep_s;
  for (const FixedLoad& load : problem.fixed)
    for (std::size_t i = 0; i < load.power_w.size(); ++i) {
      // A step that lies across two of ours counts in both.
      const Seconds from_s = load.start_s + static_cast<Seconds>(i) * kPowerStep_s - zero_s;
      for (const Seconds at_s : {from_s, from_s + kPowerStep_s - 1}) {
        if (at_s < 0 || (at_s != from_s && at_s / kPowerStep_s == from_s / kPowerStep_s))
          continue;
        const auto step = static_cast<std::size_t>(at_s / kPowerStep_s);
        fixed_w_.resize(std::max(fixed_w_.size(), step + 1));
        fixed_w_[step] += load.power_w[i];
      }
    }
}

void Timing::change(std::size_t lane, const Lane& batches) {
  const LanePlace& place = places_[lane];
  const Kind& kind = problem_.kinds[static_cast<std::size_t>(place.kind)];
  needs_.clear();
  for (const int batch : batches)
    needs_.push_back(
        problem_
            .jobs[static_cast<std::size_t>(problem_.batches[static_cast<std::size_t>(batch)].job)]
            .filaments);
  change_spools(needs_, kind.instances[static_cast<std::size_t>(place.instance)].loaded, kind.feeds,
                changes_[lane]);
}

/// A run whose setup begins at `from_s` or, where nobody is there for it, later.
Run Timing::run_at(std::size_t lane, int batch, Seconds from_s, const SpoolChange& change) const {
  const LanePlace& place = places_[lane];
  const Kind& kind = problem_.kinds[static_cast<std::size_t>(place.kind)];
  const Batch& what = problem_.batches[static_cast<std::size_t>(batch)];
  Run run;
  run.batch = batch;
  run.kind = place.kind;
  run.instance = place.instance;
  run.changes = std::popcount(change.put_in);
  run.put_in = change.put_in;
  run.loaded = change.loaded;
  const Seconds setup_s = kind.handling_s + run.changes * kind.change_s;
  const Seconds slack_s = problem_.power_limit_w ? kPowerStep_s : 0;
  const Seconds attended_s = setup_s + (kind.unattended ? 0 : what.print_s + slack_s);
  run.setup_s = std::max(from_s, kind.attended.first_start(from_s, attended_s));
  run.start_s = run.setup_s + setup_s;
  if (problem_.power_limit_w)
    run.start_s = on_step(run.start_s);
  run.end_s = run.start_s + what.print_s;
  return run;
}

void Timing::time_lane(std::size_t lane, const Lane& batches, std::vector<Run>& runs) {
  change(lane, batches);
  const LanePlace& place = places_[lane];
  Seconds free_s = std::max(problem_.now_s, problem_.kinds[static_cast<std::size_t>(place.kind)]
                                                .instances[static_cast<std::size_t>(place.instance)]
                                                .free_s);
  runs.clear();
  for (std::size_t i = 0; i < batches.size(); ++i) {
    runs.push_back(run_at(lane, batches[i], free_s, changes_[lane][i]));
    free_s = runs.back().end_s;
  }
}

bool Timing::has_power(const Run& run, std::size_t& clash) const {
  const Batch& batch = problem_.batches[static_cast<std::size_t>(run.batch)];
  const Seconds zero_s = problem_.now_s / kPowerStep_s * kPowerStep_s;
  const auto first = static_cast<std::size_t>((run.start_s - zero_s) / kPowerStep_s);
  for (std::size_t i = batch.power_w.size(); i-- > 0;)
    if (first + i < drawn_w_.size() &&
        drawn_w_[first + i] + batch.power_w[i] > *problem_.power_limit_w) {
      clash = i;
      return false;
    }
  return true;
}

void Timing::draw(const Run& run) {
  const Batch& batch = problem_.batches[static_cast<std::size_t>(run.batch)];
  const Seconds zero_s = problem_.now_s / kPowerStep_s * kPowerStep_s;
  const auto first = static_cast<std::size_t>((run.start_s - zero_s) / kPowerStep_s);
  drawn_w_.resize(std::max(drawn_w_.size(), first + batch.power_w.size()));
  for (std::size_t i = 0; i < batch.power_w.size(); ++i)
    drawn_w_[first + i] += batch.power_w[i];
}

Run Timing::first_run(std::size_t lane, int batch, Seconds free_s,
                      const SpoolChange& change) const {
  Run run = run_at(lane, batch, free_s, change);
  if (!problem_.power_limit_w)
    return run;
  const Seconds none_drawn_s = problem_.now_s / kPowerStep_s * kPowerStep_s +
                               static_cast<Seconds>(drawn_w_.size()) * kPowerStep_s;
  std::size_t clash = 0;
  while (!has_power(run, clash) && run.setup_s < none_drawn_s)
    run = run_at(lane, batch, run.setup_s + kPowerStep_s, change);
  return run;
}

/// Whichever machine can start next does; lower lanes first among equals.
void Timing::time_all(const std::vector<Lane>& lanes, std::vector<std::vector<Run>>& runs) {
  runs.resize(lanes.size());
  if (lanes_apart()) {
    for (std::size_t lane = 0; lane < lanes.size(); ++lane)
      time_lane(lane, lanes[lane], runs[lane]);
    return;
  }
  drawn_w_ = fixed_w_;
  std::vector<Seconds> next_s(lanes.size());
  const auto free_of = [&](std::size_t lane) {
    const LanePlace& place = places_[lane];
    return runs[lane].empty()
               ? std::max(problem_.now_s, problem_.kinds[static_cast<std::size_t>(place.kind)]
                                              .instances[static_cast<std::size_t>(place.instance)]
                                              .free_s)
               : runs[lane].back().end_s;
  };
  const auto next_of = [&](std::size_t lane) {
    const std::size_t at = runs[lane].size();
    return at < lanes[lane].size()
               ? run_at(lane, lanes[lane][at], free_of(lane), changes_[lane][at]).start_s
               : -1;
  };
  for (std::size_t lane = 0; lane < lanes.size(); ++lane) {
    change(lane, lanes[lane]);
    runs[lane].clear();
  }
  for (std::size_t lane = 0; lane < lanes.size(); ++lane)
    next_s[lane] = next_of(lane);
  for (;;) {
    std::size_t first = lanes.size();
    for (std::size_t lane = 0; lane < lanes.size(); ++lane)
      if (next_s[lane] >= 0 && (first == lanes.size() || next_s[lane] < next_s[first]))
        first = lane;
    if (first == lanes.size())
      return;
    const std::size_t at = runs[first].size();
    runs[first].push_back(first_run(first, lanes[first][at], free_of(first), changes_[first][at]));
    draw(runs[first].back());
    next_s[first] = next_of(first);
  }
}

LaneSums Timing::sums_of(const std::vector<Run>& runs) const {
  LaneSums sums;
  for (const Run& run : runs) {
    const Batch& batch = problem_.batches[static_cast<std::size_t>(run.batch)];
    const auto hour = static_cast<std::size_t>(
        base::h_from_s(static_cast<double>(run.start_s - run.start_s / kDay_s * kDay_s)));
    sums.cost += hour < batch.cost_by_hour.size() ? batch.cost_by_hour[hour] : batch.cost;
    sums.cost += run.changes * problem_.kinds[static_cast<std::size_t>(run.kind)].change_cost;
    sums.waste_g += batch.waste_g;
    sums.energy_wh += batch.energy_wh;
    sums.changes += run.changes;
    sums.last_s = std::max(sums.last_s, run.end_s);
    sums.job_ends.emplace_back(batch.job, run.end_s);
  }
  return sums;
}

Measures Timing::measures_of(const std::vector<LaneSums>& lanes) const {
  Measures all;
  all.finish_s = problem_.now_s;
  job_end_s_.assign(problem_.jobs.size(), 0);
  for (std::size_t job = 0; job < problem_.jobs.size(); ++job)
    job_end_s_[job] = problem_.jobs[job].begun_end_s.value_or(0);
  for (const LaneSums& lane : lanes) {
    all.cost += lane.cost;
    all.waste_g += lane.waste_g;
    all.energy_wh += lane.energy_wh;
    all.changes += lane.changes;
    for (const auto& [job, end_s] : lane.job_ends)
      job_end_s_[static_cast<std::size_t>(job)] =
          std::max(job_end_s_[static_cast<std::size_t>(job)], end_s);
  }
  for (std::size_t j = 0; j < problem_.jobs.size(); ++j) {
    const Job& job = problem_.jobs[j];
    all.finish_s = std::max(all.finish_s, job_end_s_[j]);
    if (!job.due_s || job_end_s_[j] <= *job.due_s)
      continue;
    const double late_h = base::h_from_s(static_cast<double>(job_end_s_[j] - *job.due_s));
    ++all.late_jobs;
    all.late_h += late_h;
    all.late_weighted_h += job.priority * late_h;
  }
  return all;
}

double Timing::asked_of(const Measures& measures) const {
  const Weights& w = problem_.weights;
  return w.late_h.value_or(0.0) * measures.late_weighted_h + w.cost * measures.cost +
         w.finish_h * base::h_from_s(static_cast<double>(measures.finish_s - problem_.now_s)) +
         w.waste_g * measures.waste_g + w.energy_kwh * base::kwh_from_wh(measures.energy_wh);
}

double Timing::value_of(const Measures& measures) const {
  return asked_of(measures) +
         (problem_.weights.late_h ? 0.0 : late_weight_ * measures.late_weighted_h);
}

Seconds Timing::earliest_end_s(const Batch& batch) const {
  const Kind& kind = problem_.kinds[static_cast<std::size_t>(batch.kind)];
  const Filaments need = problem_.jobs[static_cast<std::size_t>(batch.job)].filaments;
  Seconds earliest_s = 0;
  for (const Instance& instance : kind.instances) {
    const Seconds setup_s =
        kind.handling_s + std::popcount(need & ~instance.loaded) * kind.change_s;
    const Seconds free_s = std::max(problem_.now_s, instance.free_s);
    // Spools may have been changed before another batch; that takes as long, but not in one go.
    const Seconds started_s =
        kind.attended.first_start(free_s, kind.handling_s + (kind.unattended ? 0 : batch.print_s)) +
        kind.handling_s;
    const Seconds end_s = std::max(started_s, free_s + setup_s) + batch.print_s;
    earliest_s = earliest_s == 0 ? end_s : std::min(earliest_s, end_s);
  }
  return earliest_s;
}

}  // namespace platetally::solve
