// What a change from one tool to another needs on a machine: measured, or from the colours.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "material/swaps/need.hpp"
#include "platetally/machine.hpp"

namespace platetally::swaps {

/// The model with a machine's figures.
NeedModel need_model_of(const Machine& machine);

/// mm3 for a change, row-major from, to, as many tools as the machine has; nothing where it is not
/// known. In this order: the measured pair of the machine file; 0 where another head is picked up,
/// because its nozzle holds its own colour (ooze aside); the washout of the two colours; nothing
/// where a colour is empty or no colour. `colours`: by tool number, empty entries take the
/// machine's.
std::vector<std::optional<double>> pair_needs_mm3(const Machine& machine,
                                                  const std::vector<std::string>& colours);

/// The colour of a tool: the caller's, else the machine file's; may be empty.
std::string colour_of_tool(const Machine& machine, const std::vector<std::string>& colours,
                           std::size_t tool);

}  // namespace platetally::swaps
