// What a machine file says of its motion beyond single keys: which it takes from the machine that
// it extends, which are without effect, and which exclude one another.
#pragma once

#include <string>
#include <vector>

#include "machine/description/keys.hpp"

namespace platetally::machine {

/// More than half a line's width of a corner is cut away by no controller; common practice is 0.005
/// to 0.05 mm (no source).
inline constexpr double kLargeDeviation_mm = 0.2;

/// Where a key of [motion] stands in the file.
struct StatedKey {
  std::string name;
  std::uint64_t line = 0;
  std::uint64_t column = 0;
};

/// Whether that corner key has a meaning by that model; true for keys that are no corner's.
bool has_effect(const std::string& motion_key, CornerModel model);

/// `load`: with the file read into it; `before`: as it was, the machine that it extends or the
/// defaults.
void check_motion_keys(const std::vector<StatedKey>& stated, const Machine& before,
                       MachineLoad& load);

}  // namespace platetally::machine
