// Calibration and its measuring plan: plates are read, everything else is in calibrate/.
#include <fmt/format.h>

#include <cmath>
#include <stdexcept>

#include "calibrate/fit.hpp"
#include "calibrate/parameters.hpp"
#include "calibrate/plan.hpp"
#include "heat_input.hpp"
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
  constexpr std::size_t kTold = 9;
  constexpr double kWellKnown = 0.05;
  constexpr double kScales[] = {0.3, 0.5, 0.7, 1.0, 1.5, 2.0};
  const std::vector<Material> materials = materials_of(machine, {});
  for (const double scale : kScales) {
    const calibrate::Plan plan = calibrate::plan_at(machine, scale);
    calibrate::Experiment experiment;
    experiment.heat_log = plan.heat_log;
    const meter::PowerSeries series = calibrate::predict(machine, materials, experiment);
    std::string text;
    for (double t_s = 0.0; t_s < series.end_s; t_s += 5.0)
      text += fmt::format("{:.1f},{:.2f}\n", t_s, series.mean_w(t_s, t_s + 5.0));
    const MeterLog log = parse_meter_log(text, "(plan)");
    experiment.log = &log;
    const auto [count, worst] = calibrate::promise_of(machine, materials, experiment);
    if ((count >= kTold && worst < kWellKnown) || scale == 2.0)
      return plan.gcode;
  }
  return calibrate::plan_at(machine, 2.0).gcode;
}

}  // namespace platetally
