// The earliest moment at which everything can be done.
//
// Until a moment T a machine works in attended hours, and in unattended ones only with a batch that
// was started before somebody left; so each absence holds one batch at most. With y_b how often a
// batch is printed, c_b how many absences it lies across, q_b the longest of an absence that it can
// fill and m_b the most absences that one print can touch:
//   each job       sum of copies_b y_b >= copies wanted
//   each kind      sum of (print + handling) y_b - sum of q_b c_b <= attended hours until T
//                  sum of c_b <= absences that begin before T, on all its machines
//   each batch     c_b <= m_b y_b
//   power          sum of energy_b y_b <= limit * (T - now)
// T is too early where the relaxed programme has no answer; the last such T is found by bisection.
#include <algorithm>
#include <cmath>
#include <limits>

#include "base/units.hpp"
#include "plan/solve/assignment.hpp"
#include "plan/solve/linear_program.hpp"

namespace platetally::solve {

namespace {

constexpr double kOver_h = 1e-6;  // of a programme that counts as kept
constexpr Seconds kFine_s = 60;   // bisected to

double in_hours(Seconds time_s) {
  return base::h_from_s(static_cast<double>(time_s));
}

class Until {
 public:
  Until(const Problem& problem, const Timing& timing) : problem_(problem), timing_(timing) {
    for (const Batch& batch : problem.batches)
      earliest_s_.push_back(timing.earliest_end_s(batch));
  }

  /// The programme for one moment: column 0 is by how many hours it is overrun.
  LinearProgram build(Seconds until_s, bool whole) const;
  Seconds earliest_s() const;

 private:
  const Problem& problem_;
  const Timing& timing_;
  std::vector<Seconds> earliest_s_;
};

Seconds Until::earliest_s() const {
  Seconds last_s = problem_.now_s;
  for (std::size_t j = 0; j < problem_.jobs.size(); ++j) {
    Seconds first_s = std::numeric_limits<Seconds>::max();
    for (std::size_t b = 0; b < problem_.batches.size(); ++b)
      if (static_cast<std::size_t>(problem_.batches[b].job) == j)
        first_s = std::min(first_s, earliest_s_[b]);
    last_s = std::max({last_s, first_s, problem_.jobs[j].begun_end_s.value_or(0)});
  }
  return last_s;
}

LinearProgram Until::build(Seconds until_s, bool whole) const {
  LinearProgram program;
  const int over = program.add({1.0, 0.0, kUnbounded, false});
  std::vector<Row> cover(problem_.jobs.size());
  std::vector<Row> time(problem_.kinds.size());
  std::vector<Row> absences(problem_.kinds.size());
  Row power;
  for (std::size_t b = 0; b < problem_.batches.size(); ++b) {
    const Batch& batch = problem_.batches[b];
    const auto k = static_cast<std::size_t>(batch.kind);
    const auto j = static_cast<std::size_t>(batch.job);
    const Kind& kind = problem_.kinds[k];
    const int most = (problem_.jobs[j].copies + batch.copies - 1) / batch.copies;
    const int y = program.add({0.0, 0.0, earliest_s_[b] <= until_s ? most : 0.0, whole});
    cover[j].terms.push_back({y, static_cast<double>(batch.copies)});
    time[k].terms.push_back({y, in_hours(batch.print_s + kind.handling_s)});
    power.terms.push_back({y, batch.energy_wh});
    if (!kind.unattended || kind.attended.is_always())
      continue;
    const int c = program.add({0.0, 0.0, kUnbounded, false});
    const Seconds fills_s = std::min(batch.print_s, kind.attended.longest_gap_s());
    time[k].terms.push_back({c, -in_hours(fills_s)});
    absences[k].terms.push_back({c, 1.0});
    const auto touches = static_cast<double>(1 + batch.print_s / kind.attended.shortest_s());
    program.add({{{c, 1.0}, {y, -touches}}, -kUnbounded, 0.0});
  }
  for (std::size_t j = 0; j < cover.size(); ++j) {
    cover[j].low = problem_.jobs[j].copies;
    program.add(std::move(cover[j]));
  }
  for (std::size_t k = 0; k < time.size(); ++k) {
    const Kind& kind = problem_.kinds[k];
    Seconds open_s = 0;
    Seconds leaves = 0;
    for (const Instance& instance : kind.instances) {
      const Seconds free_s = std::max(problem_.now_s, instance.free_s);
      open_s += kind.attended.open_s(free_s, until_s);
      leaves += kind.attended.leaves(free_s, until_s);
    }
    time[k].terms.push_back({over, -1.0});
    time[k].high = in_hours(open_s);
    program.add(std::move(time[k]));
    absences[k].high = static_cast<double>(leaves);
    if (!absences[k].terms.empty())
      program.add(std::move(absences[k]));
  }
  if (problem_.power_limit_w) {
    power.high = *problem_.power_limit_w * in_hours(until_s - problem_.now_s);
    program.add(std::move(power));
  }
  return program;
}

}  // namespace

Seconds least_finish_s(const Problem& problem, const Timing& timing, const Effort& effort,
                       std::vector<int>* times) {
  const Until until(problem, timing);
  Seconds too_early_s = until.earliest_s() - 1;
  Seconds enough_s = too_early_s;
  const auto is_enough = [&](Seconds at_s) {
    const LinearAnswer answer = solve_relaxed(until.build(at_s, false));
    return answer.feasible && answer.value <= kOver_h;
  };
  for (Seconds step_s = kDay_s; !is_enough(enough_s); step_s *= 2) {
    too_early_s = enough_s;
    enough_s += step_s;
    if (step_s > 100 * kWeek_s * kWeek_s / kDay_s)
      break;
  }
  while (enough_s - too_early_s > kFine_s) {
    const Seconds middle_s = too_early_s + (enough_s - too_early_s) / 2;
    (is_enough(middle_s) ? enough_s : too_early_s) = middle_s;
  }
  if (times != nullptr) {
    const LinearAnswer answer = solve_whole(until.build(enough_s, true), effort);
    // Column 0 is the overrun; every batch is followed by its column of absences, if it has one.
    times->clear();
    std::size_t column = 1;
    for (const Batch& batch : problem.batches) {
      if (answer.feasible)
        times->push_back(static_cast<int>(std::lround(answer.columns[column])));
      const Kind& kind = problem.kinds[static_cast<std::size_t>(batch.kind)];
      column += !kind.unattended || kind.attended.is_always() ? 1 : 2;
    }
  }
  return std::max(too_early_s + 1, until.earliest_s());
}

}  // namespace platetally::solve
