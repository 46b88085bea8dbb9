// Ordering problems for tests: random ones from a seed, and those of the check files.
#pragma once

#include <gtest/gtest.h>

#include <algorithm>
#include <fstream>
#include <nlohmann/json.hpp>
#include <numeric>
#include <random>
#include <set>
#include <string>

#include "material/ordering/problem.hpp"

namespace platetally::ordering {

struct Shape {
  std::size_t most_tools = 4;
  std::size_t most_layers = 3;
  bool whole_costs = false;  ///< few values, so that many orders cost the same
};

/// mt19937_64 gives the same numbers everywhere; the distributions of the library do not.
inline std::size_t draw(std::mt19937_64& random, std::size_t below) {
  return static_cast<std::size_t>(random() % below);
}

inline Problem random_problem(std::mt19937_64& random, const Shape& shape) {
  Problem problem;
  problem.tools = 2 + draw(random, shape.most_tools - 1);
  const auto any_tool = [&] { return static_cast<int>(draw(random, problem.tools)); };
  for (std::size_t i = 0; i < problem.tools * problem.tools; ++i)
    problem.cost.push_back(shape.whole_costs ? static_cast<double>(draw(random, 4))
                                             : static_cast<double>(draw(random, 100000)) / 97.0);
  const std::size_t layers = 1 + draw(random, shape.most_layers);
  for (std::size_t i = 0; i < layers; ++i) {
    std::set<int> tools;
    const std::size_t size = draw(random, problem.tools + 1);
    while (tools.size() < size)
      tools.insert(any_tool());
    problem.layers.emplace_back(tools.begin(), tools.end());
    if (draw(random, 2) == 0)
      std::ranges::reverse(problem.layers.back());
  }
  if (draw(random, 2) == 0)
    problem.first = any_tool();
  if (draw(random, 3) == 0)
    problem.kept = any_tool();
  if (draw(random, 3) == 0) {
    // Along one ranking of the tools, so that there is no circle.
    const int shift = any_tool();
    const auto rank = [&](int tool) { return (tool + shift) % static_cast<int>(problem.tools); };
    for (int i = 0; i < 2; ++i) {
      const int one = any_tool();
      const int other = any_tool();
      if (rank(one) < rank(other))
        problem.precedence.push_back({one, other});
    }
  }
  return problem;
}

/// The same problem with every change at 1.
inline Problem with_unit_costs(Problem problem) {
  std::ranges::fill(problem.cost, 1.0);
  return problem;
}

/// How many changes there are.
inline std::uint64_t count_changes(const Problem& problem, const Orders& orders) {
  return static_cast<std::uint64_t>(order_cost(with_unit_costs(problem), orders));
}

inline nlohmann::json check_file(const std::string& name) {
  std::ifstream file(std::string(PLATETALLY_TESTDATA) + "/checks/" + name);
  return nlohmann::json::parse(file);
}

/// Costs between named colours, from the matrix that the check files share.
inline std::vector<double> calibrated_costs(const nlohmann::json& colours) {
  static const nlohmann::json matrix = check_file("need_pairs.json")["matrix_mm3_calibrated"];
  std::vector<double> cost;
  for (const std::string from : colours)
    for (const std::string to : colours)
      cost.push_back(matrix[from][to]);
  return cost;
}

inline std::optional<int> tool_or_none(const nlohmann::json& value) {
  return value.is_null() ? std::nullopt : std::optional<int>(value.get<int>());
}

/// Every layer's set once, and nothing against the precedence.
inline void expect_valid(const Problem& problem, const Orders& orders) {
  ASSERT_EQ(orders.size(), problem.layers.size());
  for (std::size_t i = 0; i < orders.size(); ++i) {
    EXPECT_TRUE(std::ranges::is_permutation(orders[i], problem.layers[i])) << "layer " << i;
    EXPECT_TRUE(keeps_precedence(problem, orders[i])) << "layer " << i;
  }
}

}  // namespace platetally::ordering
