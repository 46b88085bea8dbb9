// Finds a prime tower, or lines that serve as one, from what tools do after a swap.
#pragma once

#include <cstddef>
#include <cstdint>
#include <string>
#include <vector>

#include "material/swaps/deposit_log.hpp"

namespace platetally::swaps {

enum class TowerVerdict : std::uint8_t {
  no_swaps,
  none,  ///< tools go straight to the parts
  tower,
  undecided,  ///< looks like one, and parts could look the same
};

/// What was seen around the place where tools land.
struct TowerEvidence {
  bool too_small = false;    ///< a place is too small for a tower or a line
  double landed = 0.0;       ///< share of swaps after which the tool lands in the place
  double left = 0.0;         ///< share of those that go on to lay elsewhere before the next swap
  std::size_t carried = 0;   ///< tools that went on into a layer with landings without a swap
  std::size_t returned = 0;  ///< of those, how many laid in the place: parts are, towers are not
  std::size_t twins = 0;     ///< landings repeated elsewhere with the same size and volume
  std::size_t quiet = 0;     ///< layers without a landing in which nothing is laid in the place
  double mixed = 0.0;        ///< share of the place's cells that several tools laid on
};

struct TowerFinding {
  TowerVerdict verdict = TowerVerdict::no_swaps;
  TowerEvidence evidence;
  std::vector<Box> places;          ///< one, or one a tool if tools keep to their own
  std::vector<std::size_t> visits;  ///< indices into the log: what was laid in the places
};

TowerFinding find_tower(const DepositLog& log);

/// "no-swaps", "none", "tower" or "undecided".
std::string name_of(TowerVerdict verdict);

/// The verdict and what it rests on, in a plain sentence.
std::string explain(const TowerFinding& finding);

}  // namespace platetally::swaps
