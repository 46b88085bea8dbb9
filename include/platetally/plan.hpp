/// @file
/// A queue of plates over several machines: which machine prints what when, and how far that is
/// from the best that there can be.
///
/// Moments are whole seconds since 1970-01-01 0:00 of the workshop's own clock, which keeps no
/// summer time. docs/plan.md lists every key of the file and says how the plan is found.
#pragma once

#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "platetally/diagnostic.hpp"
#include "platetally/machine.hpp"
#include "platetally/made_from.hpp"
#include "platetally/page_stamp.hpp"
#include "platetally/prices.hpp"

namespace platetally {

/// A span of the week, from Monday 0:00 on.
struct WeekSpan {
  std::int64_t from_s = 0;  ///< 0 .. one week
  std::int64_t to_s = 0;    ///< behind from_s; may lie in the next week
};

/// Machines that are alike.
struct QueueMachine {
  std::string name;                 ///< its own in the file
  std::string source;               ///< an embedded machine's name, or a machine file
  Machine machine;                  ///< its description
  int count = 1;                    ///< 1 .. 32
  std::vector<WeekSpan> attended;   ///< somebody is there to start a plate
  bool unattended = true;           ///< a plate may go on while nobody is there
  std::vector<std::string> loaded;  ///< filaments that lie in its feeds, at most one a tool
  double spool_change_s = 300.0;    ///< of a person, one spool
  double handling_s = 600.0;        ///< of a person: clear the plate before, start the next
  std::optional<Prices> prices;     ///< its own; absent: those of the file
  std::optional<std::int64_t> down_until_s;  ///< not to be had before
};

/// A plate, and how often it is wanted.
struct QueueJob {
  std::string name;                   ///< its own in the file
  std::string plate;                  ///< path as it stands in the file
  std::string path;                   ///< where it lies
  int copies = 1;                     ///< good parts wanted
  int parts = 1;                      ///< that the plate holds as it was sliced
  std::optional<std::int64_t> due_s;  ///< when all of them are to be done
  std::vector<std::size_t> machines;  ///< that may print it, by index; in ascending order
  std::size_t sliced_for = 0;         ///< machine that the plate was sliced for, by index
  double priority = 1.0;              ///< weight of its hours late
  std::vector<std::string> colours;   ///< by tool number; empty: those that its machine names
  int most_parts = 0;                 ///< on one plate; 0: as many as find room
  std::uint64_t line = 0;             ///< of the file
};

/// What is to be planned.
struct Queue {
  std::string path;                     ///< of the file
  std::int64_t start_s = 0;             ///< when the plan begins
  std::optional<double> power_limit_w;  ///< of all machines together
  std::optional<Prices> prices;         ///< of machines without their own
  std::optional<double> late_per_h;     ///< money for an hour late at priority 1
  double labour_per_h = 0.0;            ///< money; of changing spools
  std::vector<QueueMachine> machines;   ///< in the order of the file
  std::vector<QueueJob> jobs;           ///< in the order of the file
};

/// A queue with what was said while reading it. A job that cannot be planned is left out, with an
/// error; so the rest can be planned although not all is ok.
struct QueueLoad {
  Queue queue;                          ///< as far as it was read
  std::vector<Diagnostic> diagnostics;  ///< in the order of the text
  bool usable = false;                  ///< there is something to plan
};

/// Reads a queue from TOML text; paths in it are relative to `folder`. Never throws on bad text.
QueueLoad parse_queue(std::string_view toml_text, const std::string& origin,
                      const std::string& folder);
/// The same from a file; paths are relative to it.
QueueLoad load_queue(const std::string& path);

/// "2026-05-04 07:30", a T in the middle and seconds allowed; nothing for any other text.
std::optional<std::int64_t> parse_moment(std::string_view text);
/// "2026-05-04 07:30", to the minute.
std::string moment_text(std::int64_t moment_s);

/// What is to be least: each a weight of one unit.
struct PlanAim {
  double cost = 0.0;    ///< of money
  double finish = 0.0;  ///< of an hour until the last job is done
  double waste = 0.0;   ///< of a gram purged
  double energy = 0.0;  ///< of a kWh
};

/// A run of an earlier plan.
struct EarlierRun {
  std::string id;                   ///< "r7"
  std::string job;                  ///< its name
  std::string machine;              ///< its name
  int instance = 0;                 ///< which of the machines of that name, from 0
  int parts = 0;                    ///< good ones that it yields
  int times = 1;                    ///< the plate's content so often
  std::int64_t setup_s = 0;         ///< when somebody begins
  std::int64_t start_s = 0;         ///< of the print
  std::int64_t end_s = 0;           ///< of the print
  std::vector<std::string> loaded;  ///< filaments, behind its setup
};

/// An earlier plan, from its JSON.
struct EarlierPlan {
  std::string path;              ///< of its queue
  std::vector<EarlierRun> runs;  ///< in the order of their start
};

/// Reads the JSON of a plan. Throws std::invalid_argument, with one line, where it is none.
EarlierPlan read_plan(std::string_view json);

/// How to plan.
struct PlanOptions {
  PlanAim aim{};                       ///< all 0: cost where there are prices, else finish
  std::uint64_t seed = 1;              ///< of the improvement
  int threads = 1;                     ///< 1 .. 64; the plan is the same
  double seconds = 0.0;                ///< that the branch and bound may take; 0: no limit
  std::function<bool()> stop;          ///< asked now and then, from several threads, but the
                                       ///< first time from one; true: hand over what there is
  std::optional<std::int64_t> now_s;   ///< when what is planned begins; absent: the queue's start
  std::optional<EarlierPlan> earlier;  ///< keeps what is done and what is being printed
  std::vector<std::string> failed;     ///< runs of it that failed: printed again
  std::vector<std::pair<std::string, std::optional<std::int64_t>>>
      down;  ///< "changer" (all of that name) or "changer 2" (the second), until when; nothing: for
             ///< good
};

/// Where a run stands.
enum class RunState : std::uint8_t {
  planned,   ///< yet to be started
  printing,  ///< of an earlier plan, started
  done,      ///< of an earlier plan, ended
  failed,    ///< of an earlier plan; its parts are printed again
};
/// "planned", "printing", "done", "failed".
std::string_view name_of(RunState state);

/// One plate on one machine.
struct PlanRun {
  std::string id;                      ///< "r1", in the order of their start
  std::size_t job = 0;                 ///< index in the queue
  std::size_t machine = 0;             ///< index in the queue
  int instance = 0;                    ///< which of the machines that are alike, from 0
  int times = 1;                       ///< the plate's content so often
  int parts = 1;                       ///< good ones that it yields
  RunState state = RunState::planned;  ///< where it stands
  std::int64_t setup_s = 0;            ///< when somebody begins to clear and load
  std::int64_t start_s = 0;            ///< of the print
  std::int64_t end_s = 0;              ///< of the print
  double unattended_s = 0.0;           ///< of the print, nobody is there
  std::vector<std::string> put_in;     ///< filaments, before it
  std::vector<std::string> loaded;     ///< filaments, behind its setup
  bool replanned = false;              ///< its purge is this machine's policy, not the file's
  std::uint64_t swaps = 0;             ///< in it
  double swap_s = 0.0;                 ///< of them all
  double cost = 0.0;                   ///< of the plate, labour of its start included
  double purge_g = 0.0;                ///< start-up included
  double part_g = 0.0;                 ///< what stays in the parts
  double energy_wh = 0.0;              ///< from the wall
};

/// A job in the plan.
struct PlannedJob {
  std::size_t job = 0;                   ///< index in the queue
  int parts = 0;                         ///< that its runs yield, those that failed excepted
  int plates = 0;                        ///< runs
  std::optional<std::int64_t> finish_s;  ///< of its last run; absent: nothing is printed
  double late_s = 0.0;                   ///< behind its date
  double cost = 0.0;                     ///< of its runs
  double purge_g = 0.0;                  ///< of its runs
  double energy_wh = 0.0;                ///< of its runs
  double manual_s = 0.0;                 ///< of a person: handling and changing spools
  std::vector<std::string> why_not;      ///< why it is left out, a line each; empty: it is not
};

/// One machine in the plan.
struct PlannedMachine {
  std::size_t machine = 0;    ///< index in the queue
  int instance = 0;           ///< which of the machines that are alike, from 0
  int plates = 0;             ///< runs planned or printing
  double printing_s = 0.0;    ///< of its runs
  double unattended_s = 0.0;  ///< of that, nobody is there
  double manual_s = 0.0;      ///< of a person
  int changes = 0;            ///< of spools
  double cost = 0.0;          ///< of its runs
  double purge_g = 0.0;       ///< of its runs
  double energy_wh = 0.0;     ///< of its runs
};

/// Sums of a plan that is yet to be printed, or of a rule that it is held against.
struct PlanSums {
  std::string name;           ///< "plan", "all on changer", ...
  bool possible = true;       ///< false: some job does not fit there
  double cost = 0.0;          ///< of plates and spool changes
  std::int64_t finish_s = 0;  ///< of the last job
  double purge_g = 0.0;       ///< start-up included
  double energy_wh = 0.0;     ///< from the wall
  double manual_s = 0.0;      ///< of a person
  int changes = 0;            ///< of spools
  int late_jobs = 0;          ///< behind their dates
  double late_h = 0.0;        ///< of all of them
};

/// A batch that was tried: so many of a plate's parts on one plate.
struct BatchRow {
  std::size_t job = 0;      ///< index in the queue
  std::size_t machine = 0;  ///< index in the queue
  int times = 1;            ///< the plate's content so often
  int parts = 1;            ///< good ones
  bool replanned = false;   ///< its purge is this machine's policy, not the file's
  std::string impossible;   ///< why not; empty: it can be printed
  double time_s = 0.0;      ///< of printing
  std::uint64_t swaps = 0;  ///< in it
  double cost = 0.0;        ///< of the plate; 0 without prices
  double purge_g = 0.0;     ///< start-up included
  double energy_wh = 0.0;   ///< from the wall
};

/// A measure, and what no plan can go below.
struct PlanBound {
  std::string measure;  ///< "asked", "cost", "finish", "waste", "energy", "late"
  std::string unit;     ///< "h", "g", "kWh", "" of money and mixtures
  double value = 0.0;   ///< of the plan
  double bound = 0.0;   ///< of every plan
  double gap = 0.0;     ///< (value - bound) / value
};

/// What all machines draw together.
struct PlanPower {
  std::int64_t start_s = 0;       ///< of the first step
  std::int64_t step_s = 300;      ///< length of a step
  std::vector<double> highest_w;  ///< in each step
};

/// The plan.
struct Plan {
  Queue queue;                           ///< as it was planned
  PlanAim aim;                           ///< what was least
  std::string asked;                     ///< in words
  std::string currency;                  ///< of all money; empty without prices
  std::int64_t now_s = 0;                ///< when what is planned begins
  std::vector<PlanRun> runs;             ///< in the order of their start
  std::vector<PlannedJob> jobs;          ///< in the order of the queue
  std::vector<PlannedMachine> machines;  ///< in the order of the queue
  PlanSums sums;                         ///< of what is yet to be started
  std::vector<PlanSums> rules;           ///< the same by simple rules
  std::vector<PlanBound> bounds;         ///< what was asked first
  bool assignment_proven = false;        ///< no other batches and machines are better, times aside
  double assignment_value = 0.0;         ///< of the programme
  double assignment_bound = 0.0;         ///< of the programme
  int nodes = 0;                         ///< of the branch and bound
  std::int64_t steps = 0;                ///< of improvement
  bool stopped = false;               ///< by the limit of time: another run may give another plan
  std::vector<BatchRow> batches;      ///< all that were tried
  PlanPower power;                    ///< of printing and planned runs
  std::vector<std::string> assumed;   ///< a sentence each
  std::vector<std::string> problems;  ///< what is wrong with the queue, a line each
  MadeFrom made_from;                 ///< plates, machines, the queue by its hash, and options
  /// Some job is not printed as often as it is wanted.
  bool leaves_out() const;
};

/// Tallies every plate on every machine that may print it, in all batches that matter, and plans.
/// Throws std::invalid_argument, with one line, if there is nothing to plan.
Plan make_plan(const Queue& queue, const PlanOptions& options = {});

/// For people. Ends with a newline.
std::string to_text(const Plan& plan);
/// Schema "platetally.plan/1".
std::string to_json(const Plan& plan);
/// The runs, one a row, with a heading row.
std::string to_csv(const Plan& plan);
/// One self-contained page: nothing fetched; names are escaped.
std::string to_html(const Plan& plan, const PageStamp& stamp = {});

}  // namespace platetally
