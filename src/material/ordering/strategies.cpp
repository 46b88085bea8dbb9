#include "material/ordering/strategies.hpp"

#include <algorithm>

namespace platetally::ordering {
namespace {

/// Whether no tool that is still to come has to be used before `tool`.
bool is_free(const Problem& problem, const Tools& to_come, int tool) {
  return std::ranges::none_of(problem.precedence, [&](const Precedence& rule) {
    return rule.after == tool && std::ranges::find(to_come, rule.before) != to_come.end();
  });
}

}  // namespace

Tools ascending_layer(const Problem& problem, const Tools& layer, std::optional<int> wanted_first) {
  Tools to_come = layer;
  std::ranges::sort(to_come);
  if (problem.precedence.empty() && !wanted_first)
    return to_come;
  Tools order;
  const auto take = [&](Tools::iterator tool) {
    order.push_back(*tool);
    to_come.erase(tool);
  };
  if (wanted_first) {
    const auto wanted = std::ranges::find(to_come, *wanted_first);
    if (wanted != to_come.end() && is_free(problem, to_come, *wanted))
      take(wanted);
  }
  while (!to_come.empty()) {
    const auto next =
        std::ranges::find_if(to_come, [&](int tool) { return is_free(problem, to_come, tool); });
    if (next == to_come.end())
      break;
    take(next);
  }
  return order;
}

Orders ascending_order(const Problem& problem) {
  Orders orders;
  for (const Tools& layer : problem.layers)
    orders.push_back(ascending_layer(problem, layer, std::nullopt));
  return orders;
}

Orders carry_over_order(const Problem& problem) {
  Orders orders;
  std::optional<int> in_hand = problem.first;
  for (const Tools& layer : problem.layers) {
    orders.push_back(ascending_layer(problem, layer, in_hand));
    if (!layer.empty())
      in_hand = orders.back().back();
  }
  return orders;
}

}  // namespace platetally::ordering
