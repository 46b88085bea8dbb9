// Which colour belongs in which head, where the machine or the plate fixes the order of the heads.
#pragma once

#include <optional>

#include "material/ordering/problem.hpp"

namespace platetally::ordering {

/// The order in which every layer goes through the heads that it needs.
enum class FixedOrder : std::uint8_t {
  ascending,    ///< from the lowest number up
  alternating,  ///< up in the first, third, ... layer, down in the others
  cyclic,  ///< up from the head in hand if the layer needs it, else from the next one; round at the
           ///< end
};

struct HeadPlan {
  std::vector<int> head_of;  ///< by colour: the tool number in the problem
  double cost = 0.0;
  bool proven = false;  ///< all placements were searched: no other one costs less
};

/// `problem` speaks of colours where it says tools. A colour may go in every head, and there are as
/// many heads as colours. Nothing if no placement keeps to the precedence, or, without proof, none
/// was found that does. Throws std::invalid_argument if the problem has a fault.
std::optional<HeadPlan> best_heads(const Problem& problem, FixedOrder order);

/// The orders, as colours, that a placement leads to.
Orders fixed_orders(const Problem& problem, FixedOrder order, const std::vector<int>& head_of);

}  // namespace platetally::ordering
