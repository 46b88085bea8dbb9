// What a plug sees of a plate on a machine whose every figure is known.
#pragma once

#include <string>

#include "account/join/heat_input.hpp"
#include "heat/simulate.hpp"
#include "platetally/meter.hpp"
#include "support/synthetic_log.hpp"

namespace platetally::test {

/// No noise and no outliers, every second.
inline PlugFaults exact_plug() {
  PlugFaults faults;
  faults.noise_w = 0.0;
  faults.outlier_share = 0.0;
  return faults;
}

/// The text of a log; the plug sees the machine's own idling before and behind.
inline std::string seen_by_plug(const std::string& plate, const Machine& truth, PlugFaults faults,
                                unsigned seed = 1) {
  const HeatInput input = heat_input_of(plate, truth, {});
  faults.idle_w = truth.supply.idle_w;
  return synthetic_log(heat::run_heat(truth, input.materials, input.log).power, faults, seed);
}

inline MeterLog log_of_plug(const std::string& plate, const Machine& truth,
                            const PlugFaults& faults, unsigned seed = 1) {
  return parse_meter_log(seen_by_plug(plate, truth, faults, seed), "plug.csv");
}

}  // namespace platetally::test
