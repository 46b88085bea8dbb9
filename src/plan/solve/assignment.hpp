// Which batches are printed on which kind of machine, and what no plan can go below.
//
// The mixed-integer programme: y_b, whole, is how often batch b is printed.
//   each job      sum of copies_b y_b >= copies wanted
//   each kind     sum of (print + handling) y_b <= machines * C
//   each date d   the same over the jobs due by d <= hours of its machines until d, + machines * L
//                 and once more with attended hours and what batches fill of each absence, see
//                 least_finish.cpp
//   lateness      T >= priority_j (earliest end_b - due_j) y_b / most y_b, T >= least priority * L
//   spools        z_kf >= y_b / most y_b for each filament f of b that no machine of the kind holds
//   least         sum of v_b y_b + finish weight * C + late weight * T + cost of a change * z
// Every plan obeys all of this, so its least value is a bound of every plan; what a plan has to
// obey besides (somebody there at the right time, spools in the order of the batches, power) is
// left to the list scheduling behind it.
#pragma once

#include <optional>
#include <vector>

#include "plan/solve/linear_program.hpp"
#include "plan/solve/problem.hpp"
#include "plan/solve/timing.hpp"

namespace platetally::solve {

/// How often each batch is printed.
struct Assignment {
  std::vector<int> times;  ///< by batch; empty: none was found, but the bound holds
  double value = 0.0;      ///< of the programme
  double bound = 0.0;
  bool proven = false;
  int nodes = 0;
  bool out_of_time = false;  ///< another run may give another one
};

/// The programme above, the batches in its first columns.
LinearProgram assignment_programme(const Problem& problem, const Timing& timing);

/// The least of what is asked for, by the programme above.
Assignment best_assignment(const Problem& problem, const Timing& timing, const Effort& effort);

/// The batches that cover every job at the least sum of `value` (by batch), each job by itself:
/// exact, by dynamic programming over copies.
std::vector<int> cheapest_cover(const Problem& problem, const std::vector<double>& value);

/// The sum of `value` over an assignment.
double sum_over(const std::vector<int>& times, const std::vector<double>& value);

/// No plan is done before that moment: attended hours are counted, and each night that nobody is
/// there holds one batch at most. With `times`, also an assignment that comes near.
Seconds least_finish_s(const Problem& problem, const Timing& timing, const Effort& effort,
                       std::vector<int>* times);

/// Least weighted hours late, by the programme.
double least_late_h(const Problem& problem, const Timing& timing, const Effort& effort);

/// What of a batch counts by the weights: cost, grams, kWh; no time.
double weighed(const Batch& batch, const Weights& weights);

/// Spools of filaments that jobs need and no machine holds have to be put in once: the least cost
/// of that.
double least_change_cost(const Problem& problem);

}  // namespace platetally::solve
