#include "plan/solve/assignment.hpp"

#include <algorithm>
#include <bit>
#include <cmath>
#include <limits>
#include <map>

#include "base/units.hpp"

namespace platetally::solve {

namespace {

constexpr std::size_t kDateColumns = 6000;

double in_hours(Seconds time_s) {
  return base::h_from_s(static_cast<double>(time_s));
}

int most_times(const Problem& problem, const Batch& batch) {
  const int wanted = problem.jobs[static_cast<std::size_t>(batch.job)].copies;
  return (wanted + batch.copies - 1) / batch.copies;
}

/// Builds the programme at the head of assignment.hpp.
class Programme {
 public:
  Programme(const Problem& problem, const Timing& timing, const Weights& weights,
            double late_weight)
      : problem_(problem), timing_(timing), weights_(weights), late_weight_(late_weight) {}

  LinearProgram build() {
    for (const Batch& batch : problem_.batches)
      program_.add(
          {weighed(batch, weights_), 0.0, static_cast<double>(most_times(problem_, batch)), true});
    cover_jobs();
    if (weights_.finish_h > 0.0)
      fill_machines();
    if (late_weight_ > 0.0)
      keep_dates();
    if (weights_.cost > 0.0)
      load_spools();
    return std::move(program_);
  }

 private:
  void cover_jobs();
  void fill_machines();
  void keep_dates();
  void keep_date(std::size_t k, Seconds due_s, int most, bool absences);
  void load_spools();
  /// (print + handling) of the batches on a kind whose job is due by `due_s`.
  std::vector<Term> work(std::size_t kind, std::optional<Seconds> due_s) const;
  double free_h(const Kind& kind, Seconds until_s) const;

  const Problem& problem_;
  const Timing& timing_;
  const Weights& weights_;
  double late_weight_;
  LinearProgram program_;
};

void Programme::cover_jobs() {
  std::vector<Row> rows(problem_.jobs.size());
  for (std::size_t b = 0; b < problem_.batches.size(); ++b)
    rows[static_cast<std::size_t>(problem_.batches[b].job)].terms.push_back(
        {static_cast<int>(b), static_cast<double>(problem_.batches[b].copies)});
  for (std::size_t j = 0; j < rows.size(); ++j) {
    rows[j].low = problem_.jobs[j].copies;
    program_.add(std::move(rows[j]));
  }
}

std::vector<Term> Programme::work(std::size_t kind, std::optional<Seconds> due_s) const {
  std::vector<Term> terms;
  for (std::size_t b = 0; b < problem_.batches.size(); ++b) {
    const Batch& batch = problem_.batches[b];
    const Job& job = problem_.jobs[static_cast<std::size_t>(batch.job)];
    if (static_cast<std::size_t>(batch.kind) == kind &&
        (!due_s || (job.due_s && *job.due_s <= *due_s)))
      terms.push_back(
          {static_cast<int>(b), in_hours(batch.print_s + problem_.kinds[kind].handling_s)});
  }
  return terms;
}

/// Hours of all machines of a kind until a moment.
double Programme::free_h(const Kind& kind, Seconds until_s) const {
  double sum_h = 0.0;
  for (const Instance& instance : kind.instances)
    sum_h += std::max(0.0, in_hours(until_s - std::max(problem_.now_s, instance.free_s)));
  return sum_h;
}

void Programme::fill_machines() {
  const int finish = program_.add({weights_.finish_h, 0.0, kUnbounded, false});
  for (std::size_t k = 0; k < problem_.kinds.size(); ++k) {
    Row row;
    row.terms = work(k, std::nullopt);
    const Kind& kind = problem_.kinds[k];
    // A machine that comes free late gives less than C hours, but never less than none: as the last
    // may stay idle, what it lacks cannot be taken off.
    row.terms.push_back({finish, -static_cast<double>(kind.instances.size())});
    row.high = 0.0;
    program_.add(std::move(row));
  }
  for (std::size_t j = 0; j < problem_.jobs.size(); ++j) {
    Seconds earliest_s = std::numeric_limits<Seconds>::max();
    for (const Batch& batch : problem_.batches)
      if (static_cast<std::size_t>(batch.job) == j)
        earliest_s = std::min(earliest_s, timing_.earliest_end_s(batch));
    program_.add({{{finish, 1.0}}, in_hours(earliest_s - problem_.now_s), kUnbounded});
  }
}

void Programme::keep_dates() {
  std::vector<Seconds> dates;
  double least_priority = std::numeric_limits<double>::infinity();
  for (const Job& job : problem_.jobs)
    if (job.due_s) {
      dates.push_back(*job.due_s);
      least_priority = std::min(least_priority, job.priority);
    }
  if (dates.empty())
    return;
  std::ranges::sort(dates);
  dates.erase(std::ranges::unique(dates).begin(), dates.end());
  const int late = program_.add({late_weight_, 0.0, kUnbounded, false});
  const int most = program_.add({0.0, 0.0, kUnbounded, false});
  program_.add({{{late, 1.0}, {most, -least_priority}}, 0.0, kUnbounded});
  for (std::size_t k = 0; k < problem_.kinds.size(); ++k)
    for (const Seconds due_s : dates)
      keep_date(k, due_s, most, false);
  // With absences a date takes a column for every batch: where that is too much, some dates do.
  const std::size_t some =
      std::clamp<std::size_t>(kDateColumns / problem_.batches.size(), 3, dates.size() + 3);
  for (std::size_t i = 0; i < std::min(some, dates.size()); ++i)
    for (std::size_t k = 0; k < problem_.kinds.size(); ++k)
      if (!problem_.kinds[k].attended.is_always())
        keep_date(k, dates[some >= dates.size() ? i : (i + 1) * dates.size() / some - 1], most,
                  true);
  // T >= sum over jobs of priority times lateness; of each job at least as late as its batches are.
  Row sum;
  sum.terms.push_back({late, 1.0});
  for (std::size_t j = 0; j < problem_.jobs.size(); ++j) {
    const Job& job = problem_.jobs[j];
    if (!job.due_s)
      continue;
    int own = -1;
    for (std::size_t b = 0; b < problem_.batches.size(); ++b) {
      const Batch& batch = problem_.batches[b];
      const double late_h = in_hours(timing_.earliest_end_s(batch) - *job.due_s);
      if (static_cast<std::size_t>(batch.job) != j || late_h <= 0.0)
        continue;
      if (own < 0)
        own = program_.add({0.0, 0.0, kUnbounded, false});
      program_.add({{{own, 1.0}, {static_cast<int>(b), -late_h / most_times(problem_, batch)}},
                    0.0,
                    kUnbounded});
    }
    if (own >= 0)
      sum.terms.push_back({own, -job.priority});
  }
  sum.low = 0.0;
  program_.add(std::move(sum));
}

/// What is due by a date is done by then, but for `most` hours. `absences`: as least_finish.cpp has
/// it, attended hours and what batches fill of each absence; else every hour.
void Programme::keep_date(std::size_t k, Seconds due_s, int most, bool absences) {
  const Kind& kind = problem_.kinds[k];
  Row row;
  row.terms = work(k, due_s);
  if (row.terms.empty())
    return;
  row.terms.push_back({most, -static_cast<double>(kind.instances.size())});
  row.high = free_h(kind, due_s);
  if (absences) {
    Row all;
    row.high = 0.0;
    for (const Instance& instance : kind.instances) {
      const Seconds free_s = std::max(problem_.now_s, instance.free_s);
      row.high += in_hours(kind.attended.open_s(free_s, due_s));
      all.high = (all.high == kUnbounded ? 0.0 : all.high) +
                 static_cast<double>(kind.attended.leaves(free_s, due_s));
    }
    const std::vector<Term> batches = row.terms;
    for (const Term& term : batches) {
      if (term.column == most || !kind.unattended)
        continue;
      const Batch& batch = problem_.batches[static_cast<std::size_t>(term.column)];
      const int lies_across = program_.add({0.0, 0.0, kUnbounded, false});
      row.terms.push_back(
          {lies_across, -in_hours(std::min(batch.print_s, kind.attended.longest_gap_s()))});
      all.terms.push_back({lies_across, 1.0});
      const auto touches = static_cast<double>(1 + batch.print_s / kind.attended.shortest_s());
      program_.add({{{lies_across, 1.0}, {term.column, -touches}}, -kUnbounded, 0.0});
    }
    if (!all.terms.empty())
      program_.add(std::move(all));
  }
  program_.add(std::move(row));
}

void Programme::load_spools() {
  std::map<std::pair<int, int>, int> columns;  // by kind and filament
  for (std::size_t b = 0; b < problem_.batches.size(); ++b) {
    const Batch& batch = problem_.batches[b];
    const Kind& kind = problem_.kinds[static_cast<std::size_t>(batch.kind)];
    if (kind.change_cost <= 0.0)
      continue;
    Filaments held = 0;
    for (const Instance& instance : kind.instances)
      held |= instance.loaded;
    Filaments missing = problem_.jobs[static_cast<std::size_t>(batch.job)].filaments & ~held;
    for (; missing != 0; missing &= missing - 1) {
      const auto [at, is_new] = columns.try_emplace({batch.kind, std::countr_zero(missing)}, 0);
      if (is_new)
        at->second = program_.add({weights_.cost * kind.change_cost, 0.0, 1.0, true});
      program_.add({{{at->second, 1.0}, {static_cast<int>(b), -1.0 / most_times(problem_, batch)}},
                    0.0,
                    kUnbounded});
    }
  }
}

std::vector<int> times_of(const LinearAnswer& answer, std::size_t batches) {
  std::vector<int> times(batches);
  for (std::size_t b = 0; b < batches; ++b)
    times[b] = static_cast<int>(std::lround(answer.columns[b]));
  return times;
}

}  // namespace

double weighed(const Batch& batch, const Weights& weights) {
  return weights.cost * batch.cost + weights.waste_g * batch.waste_g +
         weights.energy_kwh * base::kwh_from_wh(batch.energy_wh);
}

double sum_over(const std::vector<int>& times, const std::vector<double>& value) {
  double sum = 0.0;
  for (std::size_t b = 0; b < times.size(); ++b)
    sum += times[b] * value[b];
  return sum;
}

LinearProgram assignment_programme(const Problem& problem, const Timing& timing) {
  return Programme(problem, timing, problem.weights, timing.late_weight()).build();
}

Assignment best_assignment(const Problem& problem, const Timing& timing, const Effort& effort) {
  const LinearAnswer answer = solve_whole(assignment_programme(problem, timing), effort);
  Assignment assignment;
  if (answer.feasible)
    assignment.times = times_of(answer, problem.batches.size());
  assignment.value = answer.value;
  assignment.bound = answer.bound;
  assignment.proven = answer.optimal;
  assignment.nodes = answer.nodes;
  assignment.out_of_time = answer.out_of_time;
  return assignment;
}

double least_late_h(const Problem& problem, const Timing& timing, const Effort& effort) {
  const Weights none;
  return std::max(0.0, solve_whole(Programme(problem, timing, none, 1.0).build(), effort).bound);
}

std::vector<int> cheapest_cover(const Problem& problem, const std::vector<double>& value) {
  std::vector<int> times(problem.batches.size());
  for (std::size_t j = 0; j < problem.jobs.size(); ++j) {
    const auto wanted = static_cast<std::size_t>(problem.jobs[j].copies);
    // least[c]: of covering c copies, with the batch that comes last.
    std::vector<double> least(wanted + 1, std::numeric_limits<double>::infinity());
    std::vector<std::size_t> last(wanted + 1);
    least[0] = 0.0;
    for (std::size_t c = 1; c <= wanted; ++c)
      for (std::size_t b = 0; b < problem.batches.size(); ++b) {
        if (static_cast<std::size_t>(problem.batches[b].job) != j)
          continue;
        const auto copies = static_cast<std::size_t>(problem.batches[b].copies);
        const double sum = least[c > copies ? c - copies : 0] + value[b];
        if (sum < least[c]) {
          least[c] = sum;
          last[c] = b;
        }
      }
    for (std::size_t c = wanted; c > 0 && std::isfinite(least[c]);) {
      ++times[last[c]];
      const auto copies = static_cast<std::size_t>(problem.batches[last[c]].copies);
      c = c > copies ? c - copies : 0;
    }
  }
  return times;
}

double least_change_cost(const Problem& problem) {
  Filaments needed = 0;
  for (const Job& job : problem.jobs)
    needed |= job.filaments;
  double least = std::numeric_limits<double>::infinity();
  for (const Kind& kind : problem.kinds) {
    least = std::min(least, kind.change_cost);
    for (const Instance& instance : kind.instances)
      needed &= ~instance.loaded;
  }
  return needed == 0 ? 0.0 : std::popcount(needed) * least;
}

}  // namespace platetally::solve
