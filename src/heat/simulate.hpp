// From the log of a print to watt-hours.
#pragma once

#include <optional>
#include <vector>

#include "heat/heat_result.hpp"
#include "motion/timeline/heat_log.hpp"
#include "platetally/machine.hpp"
#include "platetally/material.hpp"

namespace platetally::heat {

/// What is not as it is by default.
struct HeatOptions {
  std::optional<double> start_bed_c;   ///< of all of the bed; absent: the room's
  std::optional<double> start_head_c;  ///< of all heads
  bool keeps_heaters = false;          ///< HeatResult::heaters is filled
};

/// Runs the machine's thermal network over the log. `materials`: by tool number. All heaters are
/// off at the start, and what `options` says nothing of is at room temperature.
HeatResult run_heat(const Machine& machine, const std::vector<Material>& materials,
                    const timeline::HeatLog& log, const HeatOptions& options = {});

}  // namespace platetally::heat
