// Least squares over windows of all experiments.
#pragma once

#include <string>
#include <vector>

#include "meter/calibrate/experiment.hpp"

namespace platetally::calibrate {

/// Throws std::invalid_argument where nothing can be fitted.
CalibrationReport fit(const Machine& machine, const std::vector<Material>& materials,
                      const std::vector<Experiment>& experiments,
                      const CalibrationOptions& options);

/// What a log of the experiment would tell: the largest standard deviation, as a share, of the
/// entries with these keys, with windows that are off by 1 W. The experiment's log must be there.
double promise_of(const Machine& machine, const std::vector<Material>& materials,
                  const Experiment& experiment, const std::vector<std::string>& keys);

}  // namespace platetally::calibrate
