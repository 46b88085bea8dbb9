// The place where tools land after swaps: a tower, or the part that is printed first.
#pragma once

#include <cstddef>
#include <vector>

#include "material/swaps/deposit_log.hpp"

namespace platetally::swaps {

struct LandingPlace {
  bool found = false;            ///< nearly all swaps lead there
  std::vector<Box> boxes;        ///< one, or several that stand apart
  std::vector<bool> holds;       ///< by visit: it was laid there
  std::vector<bool> on_the_way;  ///< by visit: laid where nothing else is, before the place
  std::size_t twins = 0;         ///< places of the same size and volume elsewhere
};

/// The islands that nearly all swaps lead to.
LandingPlace place_of_islands(const DepositLog& log);

/// The boxes of what is laid first after swaps, for towers that touch a part: visits that lie in
/// them belong to the place, whatever they touch.
LandingPlace place_of_boxes(const DepositLog& log);

/// The islands of which comments mark at least half as purge, by filament, and what is laid on them
/// without a mark. `marked_share`: of all of them together.
LandingPlace place_of_marks(const DepositLog& log, double& marked_share);

/// One past the last visit of a segment.
std::size_t end_of_segment(const DepositLog& log, std::size_t segment);

}  // namespace platetally::swaps
