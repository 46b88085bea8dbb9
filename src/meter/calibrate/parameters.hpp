// The entries of a machine file that a metering plug, or a log of the heaters, can say something
// about, and how far the figure of a machine file may be off before anything was measured.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "platetally/machine.hpp"

namespace platetally::calibrate {

struct Parameter {
  std::string key;  ///< of the machine file: "bed.tile_power_w"; of heads: of all alike
  std::string unit;
  double low = 0.0;  ///< the fit stays inside, and so does the machine file
  double high = 0.0;
  double prior = 0.5;      ///< standard deviation, of the logarithm, of the figure that is there
  std::string settled_by;  ///< the experiment that tells it
  double (*get)(const Machine& machine);
  void (*set)(Machine& machine, double value);

  /// Whether the machine has it: a value above zero, and an enclosure where it is one of its own.
  bool applies(const Machine& machine) const;
};

/// What is fitted. All are positive and fitted by their logarithms.
const std::vector<Parameter>& parameters();

/// The one of them with this key, which has to be there.
const Parameter& parameter_named(std::string_view key);

/// Of them, those that apply.
std::vector<std::size_t> applicable(const Machine& machine);

}  // namespace platetally::calibrate
