// A measuring plan: what to run so that the logs tell most in least time.
#pragma once

#include <string>

#include "motion/timeline/heat_log.hpp"
#include "platetally/machine.hpp"

namespace platetally::calibrate {

struct Plan {
  std::string gcode;
  timeline::HeatLog heat_log;
  double seconds = 0.0;  ///< without heating up
};

/// Idle, the bed held, a nozzle held and left to cool, the part fan; `scale` stretches all of it.
Plan plan_at(const Machine& machine, double scale);

}  // namespace platetally::calibrate
