// The bound of a layer that is too large for the exact search, against that search.
#include "material/ordering/layer_paths.hpp"

#include <gtest/gtest.h>

#include <numeric>

#include "material/ordering/support.hpp"

namespace platetally::ordering {
namespace {

TEST(LayerPaths, NoPathCostsLessThanItsBound) {
  std::mt19937_64 random(31);
  std::size_t seen = 0;
  std::size_t close = 0;
  for (int round = 0; round < 300; ++round) {
    const Problem problem = random_problem(random, {8, 1, round % 3 == 0});
    Tools tools(problem.tools);
    std::iota(tools.begin(), tools.end(), 0);
    const LayerPaths exact(problem, tools, true);
    const LayerPaths bounded(problem, tools, false);
    for (const Path& path : exact.paths()) {
      const double bound = bounded.bound(path.first, path.last);
      EXPECT_LE(bound, path.cost * (1.0 + 1e-12) + 1e-9)
          << "round " << round << ": " << path.first << " to " << path.last;
      ++seen;
      close += bound > 0.5 * path.cost;
    }
  }
  EXPECT_GT(seen, 3000U);
  EXPECT_GT(close, seen / 2) << "a bound that says next to nothing";
}

}  // namespace
}  // namespace platetally::ordering
