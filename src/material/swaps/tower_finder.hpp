// Finds a prime tower, or lines that serve as one, from what tools do after a swap.
#pragma once

#include <cstddef>
#include <cstdint>
#include <string>
#include <vector>

#include "material/swaps/deposit_log.hpp"
#include "material/swaps/landing_evidence.hpp"

namespace platetally::swaps {

enum class TowerVerdict : std::uint8_t {
  no_swaps,
  none,  ///< tools go straight to the parts
  tower,
  undecided,  ///< looks like one, and parts could look the same
};

/// A reason for or against a tower, and what it weighs.
struct TowerReason {
  double weight = 0.0;  ///< above 0: for a tower
  std::string text;
};

struct TowerFinding {
  TowerVerdict verdict = TowerVerdict::no_swaps;
  TowerEvidence evidence;
  std::vector<TowerReason> reasons;
  std::vector<Box> places;          ///< one, or several if they stand apart
  std::vector<std::size_t> visits;  ///< indices into the log: what was laid in the places
  double dropped_mm = 0.0;          ///< filament that the log could not keep; may be on the tower
};

TowerFinding find_tower(const DepositLog& log);

/// "no-swaps", "none", "tower" or "undecided".
std::string name_of(TowerVerdict verdict);

/// The verdict and what it rests on, in a plain sentence.
std::string explain(const TowerFinding& finding);

}  // namespace platetally::swaps
