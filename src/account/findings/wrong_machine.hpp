// Says when a plate was not made for the machine that it is tallied on.
#pragma once

#include <string_view>
#include <vector>

#include "account/ledgers/machine_requirements.hpp"
#include "account/ledgers/tool_use.hpp"
#include "account/ledgers/turn_ledger.hpp"
#include "platetally/account.hpp"
#include "platetally/diagnostic.hpp"
#include "platetally/machine.hpp"
#include "platetally/material.hpp"

namespace platetally::findings {

/// One warning for each demand that the machine does not meet (room, bed, nozzle, enclosure), with
/// the embedded machines that would. `tools`: highest tool number that the plate selects, plus one.
std::vector<Diagnostic> check_machine(const ledgers::Demand& demand, int tools,
                                      const Machine& machine);

/// A warning where the plate was sliced for a machine that changes heads and this one changes
/// filament in one nozzle: its swaps purge so little that no new colour could arrive
/// (whatif::kOtherMachine). It says which embedded machine would fit. Needs what
/// hold_against_need() writes. Nothing where a person changes the filament, who purges too.
std::vector<Diagnostic> check_purge(const Account& account, const std::vector<ledgers::Turn>& turns,
                                    const ledgers::Demand& demand, int tools,
                                    const Machine& machine, const std::vector<Material>& materials);

/// A warning that names every head that lays material and is never heated, where others are (where
/// none is, check_machine() says so). `uses` by tool number.
std::vector<Diagnostic> check_heads(const std::vector<ToolAccount>& tools,
                                    const std::vector<ledgers::ToolUse>& uses,
                                    const Machine& machine);

}  // namespace platetally::findings
