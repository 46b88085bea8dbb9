// Says when a plate was not made for the machine that it is tallied on.
#pragma once

#include <vector>

#include "account/ledgers/machine_requirements.hpp"
#include "platetally/diagnostic.hpp"
#include "platetally/machine.hpp"

namespace platetally::findings {

/// One warning for each demand that the machine does not meet (room, bed, nozzle, enclosure), with
/// the embedded machines that would. `tools`: highest tool number that the plate selects, plus one.
std::vector<Diagnostic> check_machine(const ledgers::Demand& demand, int tools,
                                      const Machine& machine);

}  // namespace platetally::findings
