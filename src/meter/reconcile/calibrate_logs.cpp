// Calibration and its measuring plan: plates are read, everything else is in calibrate/.
#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>
#include <list>
#include <stdexcept>

#include "account/join/heat_input.hpp"
#include "account/join/made_from.hpp"
#include "meter/calibrate/fit.hpp"
#include "meter/calibrate/logged.hpp"
#include "meter/calibrate/parameters.hpp"
#include "meter/calibrate/plan.hpp"
#include "output/report/strings.hpp"
#include "platetally/calibrate.hpp"

namespace platetally {

CalibrationReport calibrate_machine(const Machine& machine, const std::vector<CalibrationLog>& logs,
                                    const CalibrationOptions& options) {
  if (logs.empty())
    throw std::invalid_argument("expected at least one log with its experiment");
  AnalyzeOptions analyze;
  analyze.threads = 1;
  analyze.materials = options.materials;
  const std::vector<Material> materials = materials_of(machine, analyze);
  MadeFrom made = made_from(machine, analyze);
  std::vector<std::string> hashes;
  for (const CalibrationLog& one : logs)
    hashes.push_back(one.log.hash);
  made.set("logs", fmt::format("{}", fmt::join(hashes, " ")));
  std::vector<calibrate::Experiment> experiments;
  std::list<std::vector<MeterLog>> sessions;  // experiments point into them
  for (const CalibrationLog& one : logs) {
    const calibrate::ExperimentName name = calibrate::parse_experiment(one.experiment, machine);
    using Kind = calibrate::ExperimentName::Kind;
    if (name.kind == Kind::logged) {
      sessions.push_back(sessions_of(one.log));
      std::vector<calibrate::Experiment> those =
          calibrate::logged_experiments(sessions.back(), machine);
      if (those.empty())
        throw std::invalid_argument(
            fmt::format("{}: no session of it heats a bed or a nozzle for some minutes: expected "
                        "columns of set "
                        "points, temperatures and duties, or an experiment such as {}:bed=60",
                        one.log.path, one.log.path));
      for (std::size_t i = 0; i < those.size(); ++i) {
        those[i].name = those.size() == 1 ? "logged" : fmt::format("logged, part {}", i + 1);
        experiments.push_back(std::move(those[i]));
      }
      continue;
    }
    calibrate::Experiment experiment;
    experiment.name = one.experiment;
    experiment.log = &one.log;
    experiment.is_idle = name.kind == Kind::idle;
    experiment.is_plate = name.kind == Kind::plate;
    experiment.start_bed_c = options.start_bed_c;
    if (name.kind == Kind::plate) {
      HeatInput input = heat_input_of(name.path, machine, analyze);
      made.add_inputs_of(input.made_from);
      experiment.heat_log = std::move(input.log);
    } else {
      experiment.heat_log = calibrate::heat_log_of(name, one.log.duration_s());
    }
    experiment.moves =
        std::any_of(experiment.heat_log.events.begin(), experiment.heat_log.events.end(),
                    [](const timeline::HeatEvent& event) { return event.moving_s > 0.0; });
    experiments.push_back(std::move(experiment));
  }
  CalibrationReport report = calibrate::fit(machine, materials, experiments, options);
  report.made_from = std::move(made);
  return report;
}

std::string measuring_plan(const Machine& machine) {
  // The shortest that tells all that can be told without motion, well enough.
  const std::vector<std::string> keys{
      "supply.idle_w", "bed.tile_power_w",        "bed.areal_heat_capacity_j_m2k",
      "heads.power_w", "heads.heat_capacity_j_k", "heads.still_loss_w_k",
      "heads.fan_w",   "supply.part_fan_w"};
  constexpr double kWellKnown = 0.05;  // assumed
  constexpr int kSampled_s = 5;        // assumed, of a plug
  // Shorter and longer holds that are tried.
  constexpr double kScales[] = {0.3, 0.5, 0.7, 1.0, 1.5, 2.0};
  const std::vector<Material> materials = materials_of(machine, {});
  for (const double scale : kScales) {
    const calibrate::Plan plan = calibrate::plan_at(machine, scale);
    calibrate::Experiment experiment;
    experiment.is_plate = true;
    experiment.heat_log = plan.heat_log;
    const meter::PowerSeries series = calibrate::predict(machine, materials, experiment).power;
    std::string text;
    for (int t_s = 0; t_s < series.end_s; t_s += kSampled_s)
      text += fmt::format("{},{:.2f}\n", t_s, series.mean_w(t_s, t_s + kSampled_s));
    const MeterLog log = parse_meter_log(text, "(plan)");
    experiment.log = &log;
    if (calibrate::promise_of(machine, materials, experiment, keys) < kWellKnown || scale == 2.0)
      return plan.gcode;
  }
  return calibrate::plan_at(machine, 2.0).gcode;
}

namespace {

std::string value_with(const std::string& unit, double value) {
  return fmt::format("{:.4g}{}{}", value, unit.empty() ? "" : " ", unit);
}

}  // namespace

std::string to_toml(const CalibrationReport& report, const std::string& date) {
  std::string out = fmt::format("# Fitted by platetally calibrate{}{}.\n", date.empty() ? "" : ", ",
                                report::printable(date));
  for (const CalibratedExperiment& one : report.experiments)
    out += fmt::format("# From {} ({}), XXH3 {}\n", report::printable(one.log_path),
                       report::printable(one.experiment), one.log_hash);
  if (report.prints)
    out += fmt::format("# From finished prints, {}, XXH3 {}\n",
                       report::printable(report.prints->path), report.prints->hash);
  if (report.changes)
    out += fmt::format("# Seconds of changes from {}, XXH3 {}\n",
                       report::printable(report.changes->path), report.changes->hash);
  out += "# key = value (95 % interval; before)\n";
  for (const FittedParameter& one : report.fitted)
    out += fmt::format("# {} = {} ({:.4g} to {:.4g}; was {:.4g})\n", one.key,
                       value_with(one.unit, one.value), one.low, one.high, one.before);
  for (const UnfittedParameter& one : report.not_identifiable)
    out +=
        fmt::format("# {} about as it was, {:.4g} ({:.4g} to {:.4g}): hardly told by these logs\n",
                    one.key, one.value, one.low, one.high);
  return out + "\n" + machine_to_toml(report.machine);
}

}  // namespace platetally
