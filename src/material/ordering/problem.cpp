#include "material/ordering/problem.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <stdexcept>

#include "material/ordering/strategies.hpp"

namespace platetally::ordering {
namespace {

bool is_tool(const Problem& problem, int tool) {
  return tool >= 0 && static_cast<std::size_t>(tool) < problem.tools;
}

std::string no_tool(const Problem& problem, const std::string& where, int tool) {
  return fmt::format("{}: there is no tool {}; there are {} tools, from 0", where, tool,
                     problem.tools);
}

std::string fault_of_costs(const Problem& problem) {
  if (problem.cost.size() != problem.tools * problem.tools)
    return fmt::format("costs of changes: {} given, {} x {} expected", problem.cost.size(),
                       problem.tools, problem.tools);
  for (std::size_t i = 0; i < problem.cost.size(); ++i) {
    const std::size_t from = i / problem.tools;
    const std::size_t to = i % problem.tools;
    if (from != to && !(std::isfinite(problem.cost[i]) && problem.cost[i] >= 0.0))
      return fmt::format("cost of the change from {} to {}: {} is not a finite number from 0 up",
                         from, to, problem.cost[i]);
  }
  return {};
}

std::string fault_of_layer(const Problem& problem, std::size_t index) {
  const std::string where = fmt::format("layer {}", index + 1);
  Tools sorted = problem.layers[index];
  std::ranges::sort(sorted);
  for (const int tool : sorted)
    if (!is_tool(problem, tool))
      return no_tool(problem, where, tool);
  const auto twice = std::ranges::adjacent_find(sorted);
  if (twice != sorted.end())
    return fmt::format("{}: tool {} is named twice", where, *twice);
  if (!problem.precedence.empty() &&
      ascending_layer(problem, sorted, std::nullopt).size() < sorted.size())
    return fmt::format("{}: its tools have to come before each other in a circle", where);
  return {};
}

/// Calls `take(from, to)` for every two tools in a row; `from` is -1 where nothing is in hand.
template <typename Take>
void each_step(const Problem& problem, const Orders& orders, Take take) {
  int in_hand = problem.first.value_or(-1);
  for (const Tools& order : orders)
    for (const int tool : order) {
      take(in_hand, tool);
      in_hand = tool;
    }
  if (problem.kept)
    take(in_hand, *problem.kept);
}

}  // namespace

std::string fault_of(const Problem& problem) {
  if (std::string fault = fault_of_costs(problem); !fault.empty())
    return fault;
  if (problem.first && !is_tool(problem, *problem.first))
    return no_tool(problem, "tool in hand at the start", *problem.first);
  if (problem.kept && !is_tool(problem, *problem.kept))
    return no_tool(problem, "tool kept at the end", *problem.kept);
  for (const Precedence& rule : problem.precedence)
    for (const int tool : {rule.before, rule.after})
      if (!is_tool(problem, tool))
        return no_tool(problem, "precedence", tool);
  for (std::size_t layer = 0; layer < problem.layers.size(); ++layer)
    if (std::string fault = fault_of_layer(problem, layer); !fault.empty())
      return fault;
  return {};
}

void require_valid(const Problem& problem) {
  if (const std::string fault = fault_of(problem); !fault.empty())
    throw std::invalid_argument(fault);
}

double order_cost(const Problem& problem, const Orders& orders) {
  double sum = 0.0;
  each_step(problem, orders, [&](int from, int to) {
    if (from >= 0)
      sum += problem.change(from, to);
  });
  return sum;
}

Problem with_detours(const Problem& problem, const Tools& through) {
  Problem shortest = problem;
  const auto cost = [&shortest](std::size_t from, std::size_t to) -> double& {
    return shortest.cost[from * shortest.tools + to];
  };
  for (const int tool : through) {
    const auto via = static_cast<std::size_t>(tool);
    for (std::size_t from = 0; from < shortest.tools; ++from)
      for (std::size_t to = 0; to < shortest.tools; ++to)
        if (from != to && from != via && to != via)
          cost(from, to) = std::min(cost(from, to), cost(from, via) + cost(via, to));
  }
  return shortest;
}

bool keeps_precedence(const Problem& problem, const Tools& order) {
  return std::ranges::none_of(problem.precedence, [&](const Precedence& rule) {
    const auto before = std::ranges::find(order, rule.before);
    const auto after = std::ranges::find(order, rule.after);
    return before != order.end() && after < before;
  });
}

}  // namespace platetally::ordering
