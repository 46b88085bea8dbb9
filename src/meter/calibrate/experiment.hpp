// An experiment: what the machine did, as the heat model plays it, and what the plug saw.
#pragma once

#include <string>
#include <vector>

#include "meter/logs/align.hpp"
#include "motion/timeline/heat_log.hpp"
#include "platetally/calibrate.hpp"

namespace platetally::calibrate {

/// "bed=60,zones=0.0+0.1", taken apart.
struct ExperimentName {
  enum class Kind { idle, bed, nozzle, fan, plate } kind = Kind::idle;
  double value = 0.0;
  std::uint64_t zones = 0;  ///< bits row * columns + column; 0: all
  std::string path;
};

/// Throws std::invalid_argument, with what was expected.
ExperimentName parse_experiment(const std::string& text, const Machine& machine);

/// The log of heat events of an experiment that is no plate, as long as `duration_s`.
timeline::HeatLog heat_log_of(const ExperimentName& name, double duration_s);

/// Long spans in pieces, so that the prediction has a step every few seconds.
void split_spans(timeline::HeatLog& log);

struct Experiment {
  std::string name;
  timeline::HeatLog heat_log;
  const MeterLog* log = nullptr;
  bool is_idle = false;
};

/// Predicted power of a machine over an experiment.
meter::PowerSeries predict(const Machine& machine, const std::vector<Material>& materials,
                           const Experiment& experiment);

}  // namespace platetally::calibrate
