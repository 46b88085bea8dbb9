// Orders of all layers in a few lines.
#pragma once

#include <string>

#include "material/ordering/problem.hpp"

namespace platetally::ordering {

/// Layers `from` to `to`, counted from 0 and both included, take the orders of `cycle` in turn.
struct LayerRun {
  std::size_t from = 0;
  std::size_t to = 0;
  Orders cycle;
};

/// Greedy: from each layer on, the cycle of up to four orders that goes on for longest; a cycle of
/// more than one is taken only if it comes round at least twice.
std::vector<LayerRun> compact_plan(const Orders& orders);

/// "layers 1-40: 0 2 1 | 1 2 0" with layers counted from 1; `|` stands between the orders in turn.
std::string text_of(const LayerRun& run);

}  // namespace platetally::ordering
