// What is to be planned, in numbers: machines by kind, jobs, and the batches that a job can be
// printed in. Nothing here knows of plates or files.
#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <optional>
#include <vector>

#include "plan/hours/calendar.hpp"

namespace platetally::solve {

using hours::Calendar;
using hours::kDay_s;
using hours::kWeek_s;
using hours::Seconds;
using hours::Span;

/// Filaments, one a bit.
using Filaments = std::uint64_t;
inline constexpr int kMostFilaments = 64;

/// Draws of power are held as the highest in each of these steps.
inline constexpr Seconds kPowerStep_s = 300;

/// One machine, and when it is next to be had.
struct Instance {
  Seconds free_s = 0;
  Filaments loaded = 0;
};

/// Machines that are alike.
struct Kind {
  std::vector<Instance> instances;
  Calendar attended{{}};
  Seconds handling_s = 0;    ///< clear the plate before, start the next
  Seconds change_s = 0;      ///< of one spool
  double change_cost = 0.0;  ///< of one spool: labour
  bool unattended = true;    ///< may go on while nobody is there
  int feeds = 1;             ///< spools that it holds
};

struct Job {
  int copies = 1;
  Filaments filaments = 0;  ///< that it takes
  std::optional<Seconds> due_s;
  double priority = 1.0;
  std::optional<Seconds> begun_end_s;  ///< end of what of it is being printed already
};

/// A batch: so many copies of a job on one plate, on a kind of machine.
struct Batch {
  int job = 0;
  int kind = 0;
  int copies = 1;
  Seconds print_s = 1;
  double cost = 0.0;
  std::vector<double> cost_by_hour;  ///< by the hour of the day of the start; empty: always `cost`,
                                     ///< which is otherwise the least of them
  double waste_g = 0.0;
  double energy_wh = 0.0;
  std::vector<double> power_w;  ///< highest in each step of kPowerStep_s
};

/// Power that is drawn whatever is planned: what is being printed already.
struct FixedLoad {
  Seconds start_s = 0;
  std::vector<double> power_w;
};

/// How much a unit of each measure weighs.
struct Weights {
  double cost = 0.0;             ///< of money
  double finish_h = 0.0;         ///< of hours until the last job is done
  double waste_g = 0.0;          ///< of grams purged
  double energy_kwh = 0.0;       ///< of kWh
  std::optional<double> late_h;  ///< of hours late at priority 1; absent: above all else
};

struct Problem {
  Seconds now_s = 0;
  std::vector<Kind> kinds;
  std::vector<Job> jobs;
  std::vector<Batch> batches;  ///< those of one job and kind in ascending order of copies
  std::optional<double> power_limit_w;
  std::vector<FixedLoad> fixed;
  Weights weights;
};

/// One batch on one machine.
struct Run {
  int batch = 0;  ///< of Problem::batches
  int kind = 0;
  int instance = 0;
  Seconds setup_s = 0;  ///< when somebody begins to clear, load and start
  Seconds start_s = 0;  ///< of the print
  Seconds end_s = 0;
  int changes = 0;       ///< of spools before it
  Filaments put_in = 0;  ///< by them
  Filaments loaded = 0;  ///< behind them
};

/// Sums over a schedule.
struct Measures {
  double cost = 0.0;     ///< of the batches and the changes of spools
  Seconds finish_s = 0;  ///< moment at which the last job is done
  double waste_g = 0.0;
  double energy_wh = 0.0;
  int changes = 0;
  double late_h = 0.0;           ///< of all jobs
  double late_weighted_h = 0.0;  ///< each by its priority
  int late_jobs = 0;
};

struct Schedule {
  std::vector<Run> runs;  ///< in the order of their start
  Measures measures;
  double value = 0.0;  ///< what is to be least, lateness included
};

/// How hard to try.
struct Effort {
  std::uint64_t seed = 1;
  int threads = 1;             ///< the result is the same
  std::int64_t steps = 0;      ///< of improvement a chain; 0: by the size of the problem
  int nodes = 20000;           ///< of the branch and bound
  double seconds = 0.0;        ///< that the branch and bound may take; 0: no limit
  std::function<bool()> stop;  ///< asked now and then; true: hand over what there is
};

/// A measure of the plan and what no plan can go below.
struct Bounded {
  double value = 0.0;
  double bound = 0.0;
  /// (value - bound) / value; 0 where both are 0.
  double gap() const { return value > bound && value != 0.0 ? (value - bound) / value : 0.0; }
};

struct Proof {
  Bounded asked;  ///< what is to be least, without lateness where that comes before
                  ///< all else
  Bounded cost;
  Bounded finish_h;  ///< from now
  Bounded waste_g;
  Bounded energy_kwh;
  Bounded late_h;      ///< weighted
  Bounded assignment;  ///< best assignment and batches, of the branch and bound
  bool assignment_proven = false;
  int nodes = 0;
  std::int64_t steps = 0;  ///< of improvement, all chains
  bool stopped = false;    ///< by the limit of time: another run may differ
};

/// A rule to hold the plan against.
struct Rule {
  enum class Name : std::uint8_t { all_on_one, cheapest_each, first_come } name;
  int kind = -1;                     ///< of all_on_one
  std::optional<Schedule> schedule;  ///< nothing: some job does not fit there
};

struct Solution {
  Schedule schedule;
  Proof proof;
  std::vector<Rule> rules;
};

/// Plans it. Every job needs at least one batch, and every kind of a batch somebody who starts it.
Solution solve(const Problem& problem, const Effort& effort);

}  // namespace platetally::solve
