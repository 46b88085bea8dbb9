// What heat computes, in the rows of an account.
#pragma once

#include <cstddef>
#include <vector>

#include "heat/heat_result.hpp"
#include "platetally/account.hpp"
#include "platetally/machine.hpp"

namespace platetally::ledgers {

/// Writes start, heat wait, energy and zones of the layers, seconds and energy of the tools, all
/// bed zones, and powers of the totals. Layers and tools must be there. `ordinals`: of the layers,
/// row by row; `start_layers`: of layers of nothing but start lines, which count in the first row.
void write_heat_rows(const heat::HeatResult& heat, const std::vector<std::size_t>& ordinals,
                     const Machine& machine, Account& account,
                     const std::vector<std::uint32_t>& start_layers = {});

/// Those totals that are sums over the layers: time and energy by cause, grams, swaps, layers.
void sum_layers(Account& account);

}  // namespace platetally::ledgers
