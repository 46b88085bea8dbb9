// The cheapest order of tools on a plate, with its proof. Idea and range: exact_order.cpp.
#pragma once

#include "material/ordering/problem.hpp"

namespace platetally::ordering {

struct Limits {
  std::size_t exact_tools = 16;  ///< larger layers are searched without proof; at most 16
  double work = 2e9;             ///< steps for all sets together, some nanoseconds each
};

struct Proof {
  bool optimal = false;
  double bound = 0.0;           ///< no order costs less
  double gap = 0.0;             ///< (cost - bound) / cost; 0 if optimal
  std::size_t open_layers = 0;  ///< layers that were not searched exactly
};

struct Solution {
  Orders orders;
  double cost = 0.0;
  Proof proof;
};

/// Throws std::invalid_argument if the problem has a fault.
Solution best_order(const Problem& problem, const Limits& limits = {});

/// "optimal: no order costs less than 1140", or the bound and the gap; `unit` follows each amount.
std::string text_of(const Solution& solution, const std::string& unit);

}  // namespace platetally::ordering
