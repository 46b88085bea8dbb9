// Several corner models are tried where a machine could have another than its file says, and the
// one that the prints make likeliest by far is taken.
#include "meter/calibrate/print_fit.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>

#include "base/run_each.hpp"
#include "heat/simulate.hpp"
#include "meter/calibrate/energy_band.hpp"
#include "meter/calibrate/print_entries.hpp"
#include "meter/calibrate/robust_fit.hpp"
#include "meter/calibrate/statistics.hpp"

namespace platetally::calibrate {

namespace {

// Assumed, all of them.
constexpr double kTimeSpread = 0.005;  // usual, of what no model of motion gets right
constexpr double kLeastTimeSpread = 0.003;
constexpr double kEnergySpread = 0.05;  // usual: draughts, the room, the mains
constexpr double kLeastEnergySpread = 0.02;
constexpr double kLeastWeightSpread = 0.02;  // diameter of filament
constexpr double kScale_g = 0.5;             // of scales in a workshop
constexpr double kHeavier = 0.05;            // worth a word
constexpr double kClockJitter_s = 1.0;       // when a print begins and ends
constexpr double kLikelierByFar = 5.0;       // of a logarithm: another corner model
constexpr std::size_t kEnoughPlates = 3;     // to judge corner models by
constexpr double kOutlierWeight = 0.2;       // a print that counts less disagrees by far,
constexpr double kOutlierShare = 0.03;       // if it is off by more than this too
constexpr double kTogether = 1.2;  // half an interval in widths beforehand: not known much better

double mean(const std::vector<double>& values) {
  double sum = 0.0;
  for (const double value : values)
    sum += value;
  return values.empty() ? 0.0 : sum / static_cast<double>(values.size());
}

/// What the fit is given and how it is called.
struct Task {
  std::string what;  ///< "time", "energy" or "weight"
  std::vector<MeasuredPrint> prints;
  std::vector<double> values;  ///< as measured
  std::vector<double> own_deviations;
  double usual_spread = 0.0;
  double least_spread = 0.0;
  std::function<std::vector<double>(const Machine&)> predicted;  ///< of each print
};

/// What is fitted; `task`, `machine` and `entries` must outlive it.
FitProblem problem_of(const Task& task, const Machine& machine,
                      const std::vector<PrintEntry>& entries) {
  FitProblem problem = problem_of(machine, entries);
  problem.least_spread = task.least_spread;
  problem.usual_spread = task.usual_spread;
  for (std::size_t i = 0; i < task.prints.size(); ++i)
    problem.measured.push_back(
        {std::log(task.values[i]), task.own_deviations[i] / task.values[i], task.prints[i].plate});
  problem.log_predicted = [&](const Eigen::VectorXd& x) {
    const std::vector<double> values = task.predicted(machine_at(machine, entries, x));
    Eigen::VectorXd logs(static_cast<Eigen::Index>(values.size()));
    for (std::size_t i = 0; i < values.size(); ++i)
      logs[static_cast<Eigen::Index>(i)] = std::log(std::max(values[i], 1e-6));
    return logs;
  };
  return problem;
}

RobustFit fit_of(const Task& task, const Machine& machine, const std::vector<PrintEntry>& entries) {
  return fit_robustly(problem_of(task, machine, entries));
}

void write_entries(const Machine& before, const std::vector<PrintEntry>& entries,
                   const RobustFit& fit, PrintStage& stage) {
  for (std::size_t k = 0; k < entries.size(); ++k) {
    const PrintEntry& entry = entries[k];
    const auto row = static_cast<Eigen::Index>(k);
    const double now = entry.get(stage.machine);
    for (const std::string& key : entry.keys) {
      if (!fit.is_told[k]) {
        stage.not_told.push_back(
            {key, now, entry.settled_by, entry.unit, entry.get(before), now, now});
        continue;
      }
      FittedParameter one;
      one.key = key;
      one.unit = entry.unit;
      one.before = entry.get(before);
      one.value = now;
      one.low = entry.value(fit.x[row] - fit.half_95[row]);
      one.high = entry.value(fit.x[row] + fit.half_95[row]);
      one.at_bound = fit.at_bound[k] && entry.by_logarithm;
      one.told_together = fit.half_95[row] > kTogether * entry.width;
      stage.fitted.push_back(std::move(one));
    }
  }
}

void write_outcomes(const Task& task, const RobustFit& fit, PrintStage& stage) {
  std::vector<double> before, after, left_out;
  std::vector<std::size_t> plates;
  for (std::size_t i = 0; i < task.prints.size(); ++i) {
    const MeasuredPrint& one = task.prints[i];
    const auto row = static_cast<Eigen::Index>(i);
    PrintOutcome outcome;
    outcome.plate = one.print->plate;
    outcome.line = one.print->line;
    outcome.key = task.what == "energy"                           ? "energy_wh"
                  : task.what == "weight"                         ? "grams"
                  : one.print->span == PrintSpan::first_extrusion ? "time_of_print_s"
                                                                  : "time_s";
    outcome.measured = task.values[i];
    outcome.before = one.before;
    outcome.after = std::exp(fit.after[row]);
    outcome.left_out = std::exp(fit.left_out[row]);
    outcome.weight = fit.weight[row];
    outcome.is_outlier = outcome.weight < kOutlierWeight &&
                         std::abs(outcome.measured / outcome.after - 1.0) > kOutlierShare;
    for (auto& [list, value] : {std::pair(&before, outcome.before),
                                {&after, outcome.after},
                                {&left_out, outcome.left_out}})
      list->push_back(std::abs(value / outcome.measured - 1.0));
    if (std::find(plates.begin(), plates.end(), one.plate) == plates.end())
      plates.push_back(one.plate);
    if (outcome.is_outlier)
      stage.notes.push_back(fmt::format(
          "{} (line {}) took {:.0f} % {} {} than the others say: it counts little; was something "
          "changed by hand, or is it another plate?",
          outcome.plate, outcome.line, 100.0 * std::abs(outcome.measured / outcome.after - 1.0),
          outcome.measured > outcome.after ? "more" : "less",
          task.what == "weight" ? "filament" : task.what));
    stage.outcomes.push_back(std::move(outcome));
  }
  stage.errors = {task.what,     task.prints.size(), plates.size(),    median(before), mean(before),
                  median(after), mean(after),        median(left_out), mean(left_out)};
}

PrintStage stage_of(const Task& task, const Machine& before, const Machine& start,
                    const std::vector<PrintEntry>& entries, const RobustFit& fit) {
  PrintStage stage;
  stage.machine = machine_at(start, entries, fit.x);
  stage.converged = fit.converged;
  write_entries(before, entries, fit, stage);
  write_outcomes(task, fit, stage);
  if (!fit.converged)
    stage.notes.push_back(fmt::format(
        "the fit to the prints' {} did not settle; take its values with doubt", task.what));
  if (stage.errors.plates < 2)
    stage.notes.push_back(fmt::format(
        "one plate alone: nothing is left to fit to when its {} is left out", task.what));
  return stage;
}

PrintTraits traits_of(const Machine& machine, const std::vector<TimedPlate>& plates,
                      const std::vector<MeasuredPrint>& measured) {
  const std::vector<PlateTimes> times = times_of(plates, machine);
  PrintTraits traits;
  for (const MeasuredPrint& one : measured) {
    traits.has_head_changes |= times[one.plate].has_head_changes;
    traits.has_filament_changes |= times[one.plate].has_filament_changes;
    traits.has_starts |= one.print->span == PrintSpan::start;
  }
  return traits;
}

std::size_t plates_in(const std::vector<MeasuredPrint>& measured) {
  std::vector<std::size_t> plates;
  for (const MeasuredPrint& one : measured)
    plates.push_back(one.plate);
  std::sort(plates.begin(), plates.end());
  return static_cast<std::size_t>(std::unique(plates.begin(), plates.end()) - plates.begin());
}

std::string_view name_of(CornerModel model) {
  switch (model) {
    case CornerModel::junction_deviation:
      return "junction_deviation";
    case CornerModel::speed_step:
      return "speed_step";
    case CornerModel::corner_speed:
      return "corner_speed";
  }
  return "";
}

void note_raised(const Machine& before, PrintStage& stage) {
  const auto raised = [&](const char* key, double was, double is) {
    const bool is_said = std::any_of(stage.fitted.begin(), stage.fitted.end(),
                                     [&](const FittedParameter& one) { return one.key == key; });
    if (is > was && !is_said)
      stage.notes.push_back(fmt::format(
          "{} is raised from {:.4g} to {:.4g}, as the moves' accelerations need it", key, was, is));
  };
  const auto& was = before.motion.acceleration_mm_s2;
  const auto& is = stage.machine.motion.acceleration_mm_s2;
  raised("motion.x_acceleration_mm_s2", was[0], is[0]);
  raised("motion.y_acceleration_mm_s2", was[1], is[1]);
  raised("motion.e_acceleration_mm_s2", was[3], is[3]);
}

/// The plates must outlive the task.
Task time_task(const std::vector<TimedPlate>& plates, const std::vector<double>& wait_s,
               const std::vector<MeasuredPrint>& measured, double step_s) {
  Task task;
  task.what = "time";
  task.prints = measured;
  task.usual_spread = kTimeSpread;
  task.least_spread = kLeastTimeSpread;
  const double own_s = std::hypot(kClockJitter_s, step_s / std::sqrt(12.0));
  for (const MeasuredPrint& one : measured) {
    task.values.push_back(*one.print->seconds);
    task.own_deviations.push_back(own_s);
  }
  task.predicted = [&](const Machine& changed) {
    const std::vector<PlateTimes> times = times_of(plates, changed);
    std::vector<double> seconds;
    for (const MeasuredPrint& one : measured)
      seconds.push_back(one.print->span == PrintSpan::first_extrusion
                            ? times[one.plate].of_print_s
                            : times[one.plate].all_s + wait_s[one.plate]);
    return seconds;
  };
  return task;
}

std::vector<TimedPlate> plates_at(const std::vector<std::string>& paths, const Machine& machine) {
  std::vector<TimedPlate> plates;
  for (const std::string& path : paths)
    plates.emplace_back(path, machine);
  return plates;
}

}  // namespace

PrintStage fit_times(const Machine& machine, const std::vector<TimedPlate>& plates,
                     const std::vector<std::string>& paths, const std::vector<double>& wait_s,
                     const std::vector<MeasuredPrint>& measured, double step_s) {
  Task task = time_task(plates, wait_s, measured, step_s);
  const PrintTraits traits = traits_of(machine, plates, measured);
  Machine best = machine;
  std::vector<PrintEntry> entries = time_entries(best, traits);
  RobustFit fit = fit_of(task, best, entries);
  const std::size_t count = plates_in(measured);
  std::string note;
  for (const CornerModel model : {CornerModel::corner_speed, CornerModel::junction_deviation}) {
    if (count < kEnoughPlates || model == machine.motion.corner_model)
      continue;
    const Machine other = with_corner_model(machine, model);
    // A word may mean something else to a controller of that kind.
    const std::vector<TimedPlate> read_again = plates_at(paths, other);
    const Task other_task = time_task(read_again, wait_s, measured, step_s);
    std::vector<PrintEntry> other_entries = time_entries(other, traits);
    RobustFit other_fit = fit_of(other_task, other, other_entries);
    if (other_fit.log_evidence < fit.log_evidence + kLikelierByFar)
      continue;
    note = fmt::format("corner_model is \"{}\" now, no longer \"{}\": the prints fit it far better",
                       name_of(model), name_of(machine.motion.corner_model));
    best = other;
    entries = std::move(other_entries);
    fit = std::move(other_fit);
  }
  PrintStage stage = stage_of(task, machine, best, entries, fit);
  if (!note.empty())
    stage.notes.push_back(std::move(note));
  note_raised(machine, stage);
  return stage;
}

PrintStage fit_energies(const Machine& machine, const std::vector<HeatInput>& heat,
                        const std::vector<MeasuredPrint>& measured, double step_wh,
                        const CalibrationReport* logs) {
  Task task;
  task.what = "energy";
  task.prints = measured;
  task.usual_spread = kEnergySpread;
  task.least_spread = kLeastEnergySpread;
  // The difference of two readings of a counter: each is off by up to a step.
  const double own_wh = step_wh / std::sqrt(6.0);
  for (const MeasuredPrint& one : measured) {
    task.values.push_back(*one.print->energy_wh);
    task.own_deviations.push_back(own_wh);
  }
  task.predicted = [&](const Machine& changed) {
    std::vector<double> of_plate(heat.size());
    base::run_each(heat.size(), base::all_cores(), [&](std::size_t i) {
      of_plate[i] = heat::run_heat(changed, heat[i].materials, heat[i].log).energy.sum_wh();
    });
    std::vector<double> energies;
    for (const MeasuredPrint& one : measured)
      energies.push_back(of_plate[one.plate]);
    return energies;
  };
  const std::vector<PrintEntry> entries = energy_entries(machine, logs);
  const FitProblem problem = problem_of(task, machine, entries);
  const RobustFit fit = fit_robustly(problem);
  PrintStage stage = stage_of(task, machine, machine, entries, fit);
  stage.machine.supply.energy_spread =
      band_of_prints(stage.machine, heat.front().materials, entries, problem, fit);
  std::vector<double> ratios;
  for (const PrintOutcome& one : stage.outcomes)
    ratios.push_back(one.measured / one.before);
  if (const double ratio = median(ratios); ratio > 100.0 || ratio < 0.01)
    stage.notes.push_back(
        fmt::format("measured energies are {:.3g} times those predicted: is the column in {}?",
                    ratio, ratio > 1.0 ? "Wh and headed kwh" : "kWh and headed wh"));
  return stage;
}

PrintStage fit_weights(const Machine& machine, const std::vector<PlateWeight>& plates,
                       const std::vector<MeasuredPrint>& measured) {
  Task task;
  task.what = "weight";
  task.prints = measured;
  task.usual_spread = task.least_spread = kLeastWeightSpread;
  for (const MeasuredPrint& one : measured) {
    task.values.push_back(*one.print->grams);
    task.own_deviations.push_back(kScale_g);
  }
  task.predicted = [&](const Machine& changed) {
    std::vector<double> grams;
    for (const MeasuredPrint& one : measured)
      grams.push_back(plates[one.plate].grams +
                      changed.swap.hidden_purge_mm3 * plates[one.plate].grams_per_mm3);
    return grams;
  };
  const std::vector<PrintEntry> entries = weight_entries();
  PrintStage stage = stage_of(task, machine, machine, entries, fit_of(task, machine, entries));
  std::vector<double> ratios;
  for (const PrintOutcome& one : stage.outcomes)
    ratios.push_back(one.measured / one.after);
  if (const double off = median(ratios) - 1.0; std::abs(off) > kHeavier)
    stage.notes.push_back(fmt::format(
        "prints weigh {:.0f} % {} than they should: are the filament's diameter and density right, "
        "and was a flow factor set by hand?",
        100.0 * std::abs(off), off > 0.0 ? "more" : "less"));
  return stage;
}

std::vector<double> heat_waits_s(const Machine& machine, const std::vector<HeatInput>& heat) {
  std::vector<double> waits_s(heat.size());
  base::run_each(heat.size(), base::all_cores(), [&](std::size_t i) {
    waits_s[i] = heat::run_heat(machine, heat[i].materials, heat[i].log).wait_s;
  });
  return waits_s;
}

}  // namespace platetally::calibrate
