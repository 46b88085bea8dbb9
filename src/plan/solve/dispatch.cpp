#include "plan/solve/dispatch.hpp"

#include <algorithm>
#include <limits>

namespace platetally::solve {

namespace {

/// The end of `batch` behind what `lane` holds; lanes are looked at one by one, power aside.
Seconds end_behind(Timing& timing, std::size_t lane, Lane batches, int batch,
                   std::vector<Run>& runs) {
  batches.push_back(batch);
  timing.time_lane(lane, batches, runs);
  return runs.back().end_s;
}

/// The biggest plate of a job on a kind, or of what is left of it; -1: none.
int biggest(const Problem& problem, int job, int kind, int left) {
  int found = -1;
  for (std::size_t b = 0; b < problem.batches.size(); ++b) {
    const Batch& batch = problem.batches[b];
    if (batch.job != job || batch.kind != kind)
      continue;
    const bool is_first = found < 0;
    const int had = is_first ? 0 : problem.batches[static_cast<std::size_t>(found)].copies;
    // As big as fits, but no bigger than the smallest that does what is left.
    if (is_first || (had < left && batch.copies > had))
      found = static_cast<int>(b);
  }
  return found;
}

}  // namespace

std::vector<Lane> hand_out(const Problem& problem, Timing& timing, const std::vector<int>& times,
                           HandOut order) {
  std::vector<int> batches;
  for (std::size_t b = 0; b < times.size(); ++b)
    batches.insert(batches.end(), static_cast<std::size_t>(std::max(0, times[b])),
                   static_cast<int>(b));
  const auto batch_of = [&](int b) -> const Batch& {
    return problem.batches[static_cast<std::size_t>(b)];
  };
  const auto due_of = [&](int b) {
    return problem.jobs[static_cast<std::size_t>(batch_of(b).job)].due_s.value_or(
        std::numeric_limits<Seconds>::max());
  };
  const auto filaments_of = [&](int b) {
    return problem.jobs[static_cast<std::size_t>(batch_of(b).job)].filaments;
  };
  std::ranges::stable_sort(batches, [&](int a, int b) {
    if (order == HandOut::as_they_come)
      return batch_of(a).job < batch_of(b).job;
    if (order == HandOut::by_filaments && filaments_of(a) != filaments_of(b))
      return filaments_of(a) < filaments_of(b);
    if (order != HandOut::longest && due_of(a) != due_of(b))
      return due_of(a) < due_of(b);
    return batch_of(a).print_s > batch_of(b).print_s;
  });
  std::vector<Lane> lanes(timing.places().size());
  std::vector<Run> runs;
  for (const int b : batches) {
    std::size_t best = lanes.size();
    Seconds best_s = 0;
    for (std::size_t lane = 0; lane < lanes.size(); ++lane) {
      if (timing.places()[lane].kind != batch_of(b).kind)
        continue;
      Seconds end_s = end_behind(timing, lane, lanes[lane], b, runs);
      if (order == HandOut::by_filaments)
        end_s += runs.back().changes * kDay_s;
      if (best == lanes.size() || end_s < best_s) {
        best = lane;
        best_s = end_s;
      }
    }
    lanes[best].push_back(b);
  }
  return lanes;
}

std::optional<std::vector<Lane>> all_on_one(const Problem& problem, int kind) {
  Lane order;
  for (std::size_t job = 0; job < problem.jobs.size(); ++job)
    for (int left = problem.jobs[job].copies; left > 0;) {
      const int batch = biggest(problem, static_cast<int>(job), kind, left);
      if (batch < 0)
        return std::nullopt;
      order.push_back(batch);
      left -= problem.batches[static_cast<std::size_t>(batch)].copies;
    }
  std::vector<Lane> lanes;
  for (const LanePlace& place : lane_places(problem))
    lanes.push_back(place.kind == kind && place.instance == 0 ? order : Lane{});
  return lanes;
}

std::vector<Lane> first_come(const Problem& problem, Timing& timing) {
  std::vector<Lane> lanes(timing.places().size());
  std::vector<Run> runs;
  for (std::size_t job = 0; job < problem.jobs.size(); ++job)
    for (int left = problem.jobs[job].copies; left > 0;) {
      std::size_t best = lanes.size();
      Seconds best_s = 0;
      int best_batch = -1;
      for (std::size_t lane = 0; lane < lanes.size(); ++lane) {
        const int batch = biggest(problem, static_cast<int>(job), timing.places()[lane].kind, left);
        if (batch < 0)
          continue;
        const Seconds end_s = end_behind(timing, lane, lanes[lane], batch, runs);
        if (best == lanes.size() || end_s < best_s) {
          best = lane;
          best_s = end_s;
          best_batch = batch;
        }
      }
      lanes[best].push_back(best_batch);
      left -= problem.batches[static_cast<std::size_t>(best_batch)].copies;
    }
  return lanes;
}

Schedule schedule_of(Timing& timing, const std::vector<Lane>& lanes) {
  std::vector<std::vector<Run>> runs;
  timing.time_all(lanes, runs);
  Schedule schedule;
  std::vector<LaneSums> sums;
  for (const std::vector<Run>& lane : runs) {
    sums.push_back(timing.sums_of(lane));
    schedule.runs.insert(schedule.runs.end(), lane.begin(), lane.end());
  }
  std::ranges::stable_sort(schedule.runs, {}, &Run::start_s);
  schedule.measures = timing.measures_of(sums);
  schedule.value = timing.value_of(schedule.measures);
  return schedule;
}

}  // namespace platetally::solve
