// What the file states of itself, held against the account.
#pragma once

#include <vector>

#include "platetally/account.hpp"
#include "platetally/machine.hpp"
#include "platetally/material.hpp"
#include "reading/interpreter/stated_figures.hpp"

namespace platetally::findings {

/// Fills account.stated, whose totals, tools and layers are there. Returns a warning for filament
/// that differs by more than 5 %, for layers that differ by more than 2, and where filament of 2.85
/// mm explains the figures. `materials` by tool number.
std::vector<Diagnostic> hold_stated(const std::vector<interpreter::StatedAt>& stated,
                                    const Machine& machine, const std::vector<Material>& materials,
                                    Account& account);

}  // namespace platetally::findings
