// Says when a plate was not made for the machine that it is tallied on.
#pragma once

#include <vector>

#include "account/ledgers/machine_requirements.hpp"
#include "account/ledgers/tool_use.hpp"
#include "platetally/account.hpp"
#include "platetally/diagnostic.hpp"
#include "platetally/machine.hpp"

namespace platetally::findings {

/// One warning for each demand that the machine does not meet (room, bed, nozzle, enclosure), with
/// the embedded machines that would. `tools`: highest tool number that the plate selects, plus one.
std::vector<Diagnostic> check_machine(const ledgers::Demand& demand, int tools,
                                      const Machine& machine);

/// A warning that names every head that lays material and is never heated, where others are (where
/// none is, check_machine() says so). `uses` by tool number.
std::vector<Diagnostic> check_heads(const std::vector<ToolAccount>& tools,
                                    const std::vector<ledgers::ToolUse>& uses,
                                    const Machine& machine);

}  // namespace platetally::findings
