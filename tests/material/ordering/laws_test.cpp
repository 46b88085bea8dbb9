// Laws of the cheapest order that no list of costs is needed for: what a plate costs read
// backwards, renumbered, scaled, with more layers, with more said about it.
#include <gtest/gtest.h>

#include <algorithm>
#include <numeric>
#include <random>

#include "material/ordering/assignment.hpp"
#include "material/ordering/exact_order.hpp"
#include "material/ordering/improve.hpp"
#include "material/ordering/layer_paths.hpp"
#include "material/ordering/matching.hpp"
#include "material/ordering/strategies.hpp"
#include "material/ordering/support.hpp"

namespace platetally::ordering {
namespace {

constexpr Shape kUsual{5, 5, false};
// At most 30 costs up to 1031 are added in another order.
constexpr double kRounding = 1e-9;

Problem reversed(const Problem& problem) {
  Problem other = problem;
  for (std::size_t from = 0; from < problem.tools; ++from)
    for (std::size_t to = 0; to < problem.tools; ++to)
      other.cost[to * problem.tools + from] = problem.cost[from * problem.tools + to];
  std::ranges::reverse(other.layers);
  std::swap(other.first, other.kept);
  for (Precedence& rule : other.precedence)
    std::swap(rule.before, rule.after);
  return other;
}

TEST(BestOrderLaws, APlateCostsTheSameBackwards) {
  std::mt19937_64 random(61);
  for (int round = 0; round < 300; ++round) {
    const Problem problem = random_problem(random, kUsual);
    const Problem back = reversed(problem);
    const Solution solution = best_order(problem);
    EXPECT_NEAR(best_order(back).cost, solution.cost, kRounding) << round;
    Orders orders = solution.orders;
    std::ranges::reverse(orders);
    for (Tools& order : orders)
      std::ranges::reverse(order);
    EXPECT_NEAR(order_cost(back, orders), solution.cost, kRounding);
    expect_valid(back, orders);
  }
}

TEST(BestOrderLaws, NumbersOfToolsDoNotMatter) {
  std::mt19937_64 random(62);
  for (int round = 0; round < 200; ++round) {
    const Problem problem = random_problem(random, kUsual);
    std::vector<int> number(problem.tools);
    std::iota(number.begin(), number.end(), 0);
    for (std::size_t i = number.size(); i > 1; --i)
      std::swap(number[i - 1], number[draw(random, i)]);
    const auto now = [&number](int tool) { return number[static_cast<std::size_t>(tool)]; };
    Problem other = problem;
    for (std::size_t from = 0; from < problem.tools; ++from)
      for (std::size_t to = 0; to < problem.tools; ++to)
        other.cost[static_cast<std::size_t>(number[from]) * problem.tools +
                   static_cast<std::size_t>(number[to])] = problem.cost[from * problem.tools + to];
    for (Tools& layer : other.layers)
      for (int& tool : layer)
        tool = now(tool);
    if (problem.first)
      other.first = now(*problem.first);
    if (problem.kept)
      other.kept = now(*problem.kept);
    for (Precedence& rule : other.precedence)
      rule = {now(rule.before), now(rule.after)};
    EXPECT_NEAR(best_order(other).cost, best_order(problem).cost, kRounding);
  }
}

TEST(BestOrderLaws, TwiceTheCostsAreTwiceTheCost) {
  std::mt19937_64 random(63);
  for (int round = 0; round < 100; ++round) {
    const Problem problem = random_problem(random, kUsual);
    Problem doubled = problem;
    for (double& cost : doubled.cost)
      cost *= 2.0;
    EXPECT_EQ(best_order(doubled).cost, 2.0 * best_order(problem).cost) << "to the bit";
    Problem dearer = problem;
    dearer.cost[draw(random, dearer.cost.size())] += 50.0;
    EXPECT_GE(best_order(dearer).cost, best_order(problem).cost - kRounding);
  }
}

TEST(BestOrderLaws, SayingMoreNeverMakesItCheaper) {
  std::mt19937_64 random(64);
  for (int round = 0; round < 200; ++round) {
    Problem problem = random_problem(random, kUsual);
    problem.first = problem.kept = std::nullopt;
    problem.precedence.clear();
    const double free_cost = best_order(problem).cost;
    Problem more = problem;
    more.first = static_cast<int>(draw(random, problem.tools));
    const double with_first = best_order(more).cost;
    EXPECT_GE(with_first, free_cost - kRounding);
    more.kept = static_cast<int>(draw(random, problem.tools));
    const double with_kept = best_order(more).cost;
    EXPECT_GE(with_kept, with_first - kRounding);
    more.precedence = {{0, 1}};
    EXPECT_GE(best_order(more).cost, with_kept - kRounding);
    // The dearest tool to begin with is no cheaper than the cheapest, which costs nothing.
    double least = 1e300;
    for (std::size_t tool = 0; tool < problem.tools; ++tool) {
      Problem begun = problem;
      begun.first = static_cast<int>(tool);
      least = std::min(least, best_order(begun).cost);
    }
    EXPECT_NEAR(least, free_cost, kRounding) << "some tool in hand is as good as a free choice";
  }
}

TEST(BestOrderLaws, AnEmptyLayerAndARepeatedLoneToolCostNothing) {
  std::mt19937_64 random(65);
  for (int round = 0; round < 100; ++round) {
    const Problem problem = random_problem(random, kUsual);
    const double cost = best_order(problem).cost;
    Problem with_empty = problem;
    with_empty.layers.insert(with_empty.layers.begin() + static_cast<std::ptrdiff_t>(draw(
                                                             random, with_empty.layers.size() + 1)),
                             Tools{});
    EXPECT_NEAR(best_order(with_empty).cost, cost, kRounding);
    for (std::size_t layer = 0; layer < problem.layers.size(); ++layer)
      if (problem.layers[layer].size() == 1) {
        Problem twice = problem;
        twice.layers.insert(twice.layers.begin() + static_cast<std::ptrdiff_t>(layer),
                            problem.layers[layer]);
        EXPECT_NEAR(best_order(twice).cost, cost, kRounding);
      }
  }
}

TEST(BestOrderLaws, NoRuleOfThumbIsCheaperAndTheBoundIsNeverPassed) {
  std::mt19937_64 random(66);
  for (int round = 0; round < 200; ++round) {
    const Problem problem = random_problem(random, kUsual);
    const Solution best = best_order(problem);
    expect_valid(problem, best.orders);
    EXPECT_TRUE(best.proof.optimal);
    EXPECT_EQ(best.proof.gap, 0.0);
    for (const Orders& orders : {ascending_order(problem), carry_over_order(problem)}) {
      expect_valid(problem, orders);
      EXPECT_GE(order_cost(problem, orders), best.cost - kRounding);
    }
    const Solution rough = best_order(problem, {1, 2e9});
    expect_valid(problem, rough.orders);
    EXPECT_GE(rough.cost, best.cost - kRounding);
    EXPECT_LE(rough.proof.bound, best.cost + kRounding);
    EXPECT_NEAR(rough.proof.gap,
                rough.cost > 0.0 ? (rough.cost - rough.proof.bound) / rough.cost : 0.0, 1e-9);
    for (const FixedOrder kind :
         {FixedOrder::ascending, FixedOrder::alternating, FixedOrder::cyclic})
      if (const auto plan = best_heads(problem, kind)) {
        EXPECT_GE(plan->cost, best.cost - kRounding) << "a fixed order is one of all orders";
      }
  }
}

TEST(BestOrderLaws, DetoursNeverCostMoreAndAreTakenOnce) {
  std::mt19937_64 random(67);
  for (int round = 0; round < 100; ++round) {
    const Problem problem = random_problem(random, kUsual);
    Tools all(problem.tools);
    std::iota(all.begin(), all.end(), 0);
    const Problem shorter = with_detours(problem, all);
    for (int from : all)
      for (int to : all) {
        EXPECT_LE(shorter.change(from, to), problem.change(from, to));
        for (int via : all)
          EXPECT_LE(shorter.change(from, to),
                    shorter.change(from, via) + shorter.change(via, to) + kRounding);
      }
    EXPECT_EQ(with_detours(shorter, all).cost.size(), shorter.cost.size());
    EXPECT_LE(best_order(shorter).cost, best_order(problem).cost + kRounding);
    EXPECT_EQ(with_detours(problem, {}).cost, problem.cost) << "through none, all stay";
  }
}

TEST(Improve, NeverMakesItDearerAndTwiceIsOnce) {
  std::mt19937_64 random(68);
  for (int round = 0; round < 200; ++round) {
    Problem problem = random_problem(random, {9, 1, round % 2 == 0});
    Tools order(problem.tools);
    std::iota(order.begin(), order.end(), 0);
    if (!keeps_precedence(problem, order))
      problem.precedence.clear();
    problem.layers = {order};
    const auto cost_of = [&problem](const Tools& tools) { return order_cost(problem, {tools}); };
    const Tools better = improve_layer(problem, order, problem.first, problem.kept);
    EXPECT_TRUE(std::ranges::is_permutation(better, order));
    EXPECT_TRUE(keeps_precedence(problem, better));
    EXPECT_LE(cost_of(better), cost_of(order) + kRounding);
    EXPECT_GE(cost_of(better), best_order(problem).cost - kRounding);
    EXPECT_NEAR(cost_of(improve_layer(problem, better, problem.first, problem.kept)),
                cost_of(better), kRounding);
  }
}

TEST(LayerPaths, OfAnExactSearchCostWhatTheirOrderCosts) {
  std::mt19937_64 random(69);
  for (int round = 0; round < 60; ++round) {
    const Problem problem = random_problem(random, {6, 1, round % 2 == 0});
    Tools tools(problem.tools);
    std::iota(tools.begin(), tools.end(), 0);
    const LayerPaths paths(problem, tools, true);
    EXPECT_TRUE(paths.exact());
    for (std::size_t i = 0; i < paths.paths().size(); ++i) {
      const Path& path = paths.paths()[i];
      const Tools order = paths.order(i);
      EXPECT_TRUE(std::ranges::is_permutation(order, tools));
      EXPECT_EQ(order.front(), tools[path.first]);
      EXPECT_EQ(order.back(), tools[path.last]);
      EXPECT_TRUE(keeps_precedence(problem, order));
      double cost = 0.0;
      for (std::size_t k = 1; k < order.size(); ++k)
        cost += problem.change(order[k - 1], order[k]);
      EXPECT_NEAR(path.cost, cost, kRounding);
    }
  }
}

TEST(Matching, PricesProveIt) {
  std::mt19937_64 random(70);
  for (std::size_t n = 1; n <= 12; ++n)
    for (int round = 0; round < 20; ++round) {
      std::vector<double> cost(n * n);
      for (double& one : cost)
        one = static_cast<double>(draw(random, 2000)) / 7.0 - 100.0;
      const Matching matching = cheapest_matching(cost, n);
      std::vector<bool> taken(n, false);
      double sum = 0.0, prices = 0.0;
      for (std::size_t row = 0; row < n; ++row) {
        const std::size_t column = matching.column_of_row[row];
        EXPECT_FALSE(taken[column]);
        taken[column] = true;
        sum += cost[row * n + column];
        prices += matching.row_price[row] + matching.column_price[row];
        for (std::size_t other = 0; other < n; ++other)
          EXPECT_LE(matching.row_price[row] + matching.column_price[other],
                    cost[row * n + other] + kRounding);
      }
      EXPECT_NEAR(sum, matching.cost, kRounding);
      EXPECT_NEAR(prices, matching.cost, kRounding) << "so no matching is cheaper";
    }
}

TEST(Strategies, StartWithTheToolInHandWherePrecedenceLetsThem) {
  std::mt19937_64 random(71);
  for (int round = 0; round < 100; ++round) {
    Problem problem = random_problem(random, kUsual);
    problem.precedence.clear();
    const Orders orders = carry_over_order(problem);
    int in_hand = problem.first.value_or(-1);
    for (std::size_t layer = 0; layer < orders.size(); ++layer) {
      Tools expected = problem.layers[layer];
      std::ranges::sort(expected);
      const auto held = std::ranges::find(expected, in_hand);
      if (held != expected.end())
        std::rotate(expected.begin(), held, held + 1);
      EXPECT_EQ(orders[layer], expected);
      if (!expected.empty())
        in_hand = expected.back();
    }
  }
}

}  // namespace
}  // namespace platetally::ordering
