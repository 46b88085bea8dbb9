// Makes the order of one large layer cheaper by small changes.
#pragma once

#include <optional>

#include "material/ordering/problem.hpp"

namespace platetally::ordering {

/// Moves up to three tools in a row elsewhere and exchanges two, while that saves anything; keeps
/// to the precedence. `before` and `after` are the tools in hand around the layer.
Tools improve_layer(const Problem& problem, Tools order, std::optional<int> before,
                    std::optional<int> after);

}  // namespace platetally::ordering
