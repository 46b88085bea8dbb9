// Orders that follow a simple rule, to hold the best one against.
#pragma once

#include <optional>

#include "material/ordering/problem.hpp"

namespace platetally::ordering {

/// The tools of one layer: `wanted_first` if the layer has it and precedence lets it, then always
/// the lowest number that precedence lets. Shorter than the layer if precedence goes in a circle.
Tools ascending_layer(const Problem& problem, const Tools& layer, std::optional<int> wanted_first);

/// Every layer by ascending tool number.
Orders ascending_order(const Problem& problem);

/// Every layer starts with the tool in hand if it needs it, then by ascending number.
Orders carry_over_order(const Problem& problem);

}  // namespace platetally::ordering
