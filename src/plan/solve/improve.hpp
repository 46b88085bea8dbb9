// Improving a schedule step by step: a batch is moved, two are exchanged, batches of a job are
// joined, split or trimmed, and the change is kept if it helps or, more and more seldom, although
// it does not (simulated annealing; Kirkpatrick, Gelatt, Vecchi, Science 220, 1983). The same
// lanes, seed and steps give the same result.
#pragma once

#include <cstdint>
#include <functional>
#include <vector>

#include "plan/solve/problem.hpp"
#include "plan/solve/timing.hpp"

namespace platetally::solve {

struct Improved {
  std::vector<Lane> lanes;
  double value = 0.0;
  double tie = 0.0;  ///< decides between equals: earlier, and more evenly
  std::int64_t steps = 0;
  bool stopped = false;
};

struct Start {
  std::uint64_t seed = 1;
  std::int64_t steps = 0;
  double warmest = 0.03;       ///< at first, of the mean worth of a batch
  bool over_lateness = false;  ///< warm enough to pass over plans that are later
};

/// So many steps of improvement from `lanes`.
Improved improve(const Problem& problem, std::vector<Lane> lanes, const Start& start,
                 const std::function<bool()>& stop);

}  // namespace platetally::solve
