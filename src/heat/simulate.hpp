// From the log of a print to watt-hours.
#pragma once

#include <vector>

#include "heat/heat_result.hpp"
#include "motion/timeline/heat_log.hpp"
#include "platetally/machine.hpp"
#include "platetally/material.hpp"

namespace platetally::heat {

/// Runs the machine's thermal network over the log. `materials`: by tool number. Everything starts
/// at room temperature with all heaters off.
HeatResult run_heat(const Machine& machine, const std::vector<Material>& materials,
                    const timeline::HeatLog& log);

}  // namespace platetally::heat
