// The entries of a machine file that a metering plug can say something about.
#pragma once

#include <string>
#include <vector>

#include "platetally/machine.hpp"

namespace platetally::calibrate {

struct Parameter {
  std::string key;  ///< of the machine file: "bed.tile_power_w"; of heads: of all alike
  std::string unit;
  double low = 0.0;  ///< the fit stays inside, and so does the machine file
  double high = 0.0;
  std::string settled_by;  ///< the experiment that tells it
  double (*get)(const Machine& machine);
  void (*set)(Machine& machine, double value);
};

/// What is fitted, where the logs tell it. All are positive and fitted by their logarithms.
const std::vector<Parameter>& parameters();

}  // namespace platetally::calibrate
