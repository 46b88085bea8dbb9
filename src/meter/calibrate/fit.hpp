// Least squares over windows of all experiments.
#pragma once

#include <utility>
#include <vector>

#include "meter/calibrate/experiment.hpp"

namespace platetally::calibrate {

/// Throws std::invalid_argument where nothing can be fitted.
CalibrationReport fit(const Machine& machine, const std::vector<Material>& materials,
                      const std::vector<Experiment>& experiments,
                      const CalibrationOptions& options);

/// What a log of the experiment would tell: how many parameters, and the largest standard deviation
/// of them as a share, with windows that are off by 1 W. The experiment's log must be there.
std::pair<std::size_t, double> promise_of(const Machine& machine,
                                          const std::vector<Material>& materials,
                                          const Experiment& experiment);

}  // namespace platetally::calibrate
