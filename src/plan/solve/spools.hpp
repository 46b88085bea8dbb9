// Which spools are changed between batches, for a given sequence of them.
//
// Each change takes as long as any other, so the fewest changes are those of "keep the filament
// that is needed soonest": when a feed has to be freed, the loaded filament whose next use lies
// furthest ahead gives way. Proven optimal for a fixed sequence by Tang and Denardo, "Models
// arising from a flexible manufacturing machine, part I: minimization of the number of tool
// switches", Operations Research 36 (1988).
#pragma once

#include <span>
#include <vector>

#include "plan/solve/problem.hpp"

namespace platetally::solve {

/// Spools before one batch.
struct SpoolChange {
  Filaments put_in = 0;
  Filaments loaded = 0;  ///< behind it
};

/// `needs`: what each batch takes, at most `feeds` filaments each; `loaded` at most `feeds`.
/// `out` gets one entry a batch.
void change_spools(std::span<const Filaments> needs, Filaments loaded, int feeds,
                   std::vector<SpoolChange>& out);

}  // namespace platetally::solve
