// Every order of every layer tried, one after the other: slow, obvious, and apart from the
// library's own way to add up costs.
#pragma once

#include <algorithm>
#include <limits>
#include <optional>

#include "material/ordering/problem.hpp"

namespace platetally::oracle {

inline bool allowed(const ordering::Problem& problem, const ordering::Tools& order) {
  for (std::size_t i = 0; i < order.size(); ++i)
    for (std::size_t j = i + 1; j < order.size(); ++j)
      for (const ordering::Precedence& rule : problem.precedence)
        if (rule.before == order[j] && rule.after == order[i])
          return false;
  return true;
}

/// Least cost of `layer` and those behind it with `in_hand` (-1: nothing) before.
inline double least_from(const ordering::Problem& problem, std::size_t layer, int in_hand) {
  const auto change = [&](int from, int to) {
    return from < 0 || from == to ? 0.0
                                  : problem.cost[static_cast<std::size_t>(from) * problem.tools +
                                                 static_cast<std::size_t>(to)];
  };
  if (layer == problem.layers.size())
    return problem.kept ? change(in_hand, *problem.kept) : 0.0;
  ordering::Tools order = problem.layers[layer];
  std::ranges::sort(order);
  double least = std::numeric_limits<double>::infinity();
  do {
    if (!allowed(problem, order))
      continue;
    double cost = 0.0;
    int hand = in_hand;
    for (const int tool : order) {
      cost += change(hand, tool);
      hand = tool;
    }
    least = std::min(least, cost + least_from(problem, layer + 1, hand));
  } while (std::ranges::next_permutation(order).found);
  return least;
}

inline double least_cost(const ordering::Problem& problem) {
  return least_from(problem, 0, problem.first.value_or(-1));
}

}  // namespace platetally::oracle
