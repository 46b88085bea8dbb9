// Experiments out of logs that hold set points and what heaters did: the log says itself what the
// machine was told.
#pragma once

#include <vector>

#include "meter/calibrate/experiment.hpp"

namespace platetally::calibrate {

/// One experiment for each session that heats; logs are those of `sessions`, which must outlive it.
/// Empty: nothing is heated for long enough.
std::vector<Experiment> logged_experiments(const std::vector<MeterLog>& sessions,
                                           const Machine& machine);

}  // namespace platetally::calibrate
