// What the books need to know of every tool, by tool number.
#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "platetally/machine.hpp"
#include "platetally/material.hpp"

namespace platetally {
struct Account;
}

namespace platetally::ledgers {

/// Grams per mm of filament. `materials`: by tool number.
std::vector<double> g_per_mm_by_tool(const Machine& machine,
                                     const std::vector<Material>& materials);

/// Millimetres of filament that the machine's own macro purges at a swap to the tool.
std::vector<double> hidden_mm_by_tool(const Machine& machine);

/// As the account names them; empty where it does not.
std::vector<std::string> colours_by_tool(const Account& account, const Machine& machine);

/// One's own material of that name, else the one that comes with the library; null: neither.
const Material* find_material(const std::string& name, const std::vector<Material>& own);

}  // namespace platetally::ledgers
