// Calibration and its measuring plan: plates are read, everything else is in calibrate/.
#include <fmt/format.h>

#include <cmath>
#include <stdexcept>

#include "account/join/heat_input.hpp"
#include "meter/calibrate/fit.hpp"
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
  std::vector<calibrate::Experiment> experiments;
  for (const CalibrationLog& one : logs) {
    const calibrate::ExperimentName name = calibrate::parse_experiment(one.experiment, machine);
    using Kind = calibrate::ExperimentName::Kind;
    calibrate::Experiment experiment;
    experiment.name = one.experiment;
    experiment.log = &one.log;
    experiment.is_idle = name.kind == Kind::idle;
    experiment.heat_log = name.kind == Kind::plate
                              ? heat_input_of(name.path, machine, analyze).log
                              : calibrate::heat_log_of(name, one.log.duration_s());
    calibrate::split_spans(experiment.heat_log);
    experiments.push_back(std::move(experiment));
  }
  return calibrate::fit(machine, materials, experiments, options);
}

std::string measuring_plan(const Machine& machine) {
  // The shortest that tells all that can be told without motion, well enough.
  constexpr std::size_t kTold = 9;     // all entries but the two of the motors
  constexpr double kWellKnown = 0.05;  // assumed
  constexpr int kSampled_s = 5;        // assumed, of a plug
  // Shorter and longer holds that are tried.
  constexpr double kScales[] = {0.3, 0.5, 0.7, 1.0, 1.5, 2.0};
  const std::vector<Material> materials = materials_of(machine, {});
  for (const double scale : kScales) {
    const calibrate::Plan plan = calibrate::plan_at(machine, scale);
    calibrate::Experiment experiment;
    experiment.heat_log = plan.heat_log;
    const meter::PowerSeries series = calibrate::predict(machine, materials, experiment);
    std::string text;
    for (int t_s = 0; t_s < series.end_s; t_s += kSampled_s)
      text += fmt::format("{},{:.2f}\n", t_s, series.mean_w(t_s, t_s + kSampled_s));
    const MeterLog log = parse_meter_log(text, "(plan)");
    experiment.log = &log;
    const auto [count, worst] = calibrate::promise_of(machine, materials, experiment);
    if ((count >= kTold && worst < kWellKnown) || scale == 2.0)
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
    out += fmt::format("# {} stays {:.4g}: not told by these logs\n", one.key, one.value);
  return out + "\n" + machine_to_toml(report.machine);
}

}  // namespace platetally
