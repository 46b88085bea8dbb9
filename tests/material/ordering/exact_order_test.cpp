#include "material/ordering/exact_order.hpp"

#include "material/ordering/strategies.hpp"
#include "material/ordering/support.hpp"
#include "oracle/slow_order.hpp"

namespace platetally::ordering {
namespace {

Problem full_layers(std::size_t tools, std::size_t layers, std::uint64_t seed) {
  std::mt19937_64 random(seed);
  Problem problem;
  problem.tools = tools;
  for (std::size_t i = 0; i < tools * tools; ++i)
    problem.cost.push_back(50.0 + static_cast<double>(draw(random, 6500)) / 10.0);
  Tools all(tools);
  std::iota(all.begin(), all.end(), 0);
  problem.layers.assign(layers, all);
  return problem;
}

TEST(BestOrder, FiveGivenInstances) {
  const auto rows = check_file("order_small.json")["instances"];
  ASSERT_EQ(rows.size(), 5u);
  for (const auto& row : rows) {
    SCOPED_TRACE(row["name"].get<std::string>());
    Problem problem;
    problem.tools = row["k"];
    for (const auto& from : row["cost"])
      for (const double cost : from)
        problem.cost.push_back(cost);
    problem.layers = row["layers"].get<Orders>();
    problem.first = tool_or_none(row["start"]);
    const Solution solution = best_order(problem);
    expect_valid(problem, solution.orders);
    // Whole numbers: exact.
    EXPECT_EQ(solution.cost, row["optimum_cost"].get<double>());
    EXPECT_TRUE(solution.proof.optimal);
    EXPECT_EQ(order_cost(problem, row["one_optimal_order"].get<Orders>()), solution.cost);
    EXPECT_EQ(order_cost(problem, ascending_order(problem)),
              row["ascending_order_cost"].get<double>());
    EXPECT_EQ(best_order(with_unit_costs(problem)).cost,
              row["minimum_number_of_changes"].get<double>());
  }
}

TEST(BestOrder, PurgeInstances) {
  const auto rows = check_file("order_purge.json")["instances"];
  ASSERT_EQ(rows.size(), 63u);
  for (const auto& row : rows) {
    SCOPED_TRACE(row.dump());
    Problem problem;
    problem.tools = row["colors"].size();
    problem.cost = calibrated_costs(row["colors"]);
    if (row.contains("layers"))
      problem.layers = row["layers"].get<Orders>();
    else
      problem.layers.assign(row["layers_repeat"][1].get<std::size_t>(),
                            row["layers_repeat"][0].get<Tools>());
    problem.first = tool_or_none(row["start"]);
    for (const auto& rule : row.value("precedence", nlohmann::json::array()))
      problem.precedence.push_back({rule[0], rule[1]});
    const Solution solution = best_order(problem);
    expect_valid(problem, solution.orders);
    EXPECT_TRUE(solution.proof.optimal);
    EXPECT_NEAR(solution.cost, row["min_mm3"].get<double>(), 5.01e-4);  // half of the last digit
    if (row.contains("min_swaps")) {
      // Given for the layers alone: any tool first, no precedence.
      Problem free = with_unit_costs(problem);
      free.first.reset();
      free.precedence.clear();
      EXPECT_EQ(best_order(free).cost, row["min_swaps"].get<double>());
    } else {
      EXPECT_NEAR(order_cost(problem, ascending_order(problem)), row["cyclic_mm3"].get<double>(),
                  5.01e-3);
      EXPECT_EQ(count_changes(problem, ascending_order(problem)),
                row["cyclic_swaps"].get<std::uint64_t>());
    }
  }
}

/// Sums of at most 20 costs up to 1031, in another order: 20 roundings of 2e-12.
constexpr double kRounding = 1e-10;

TEST(BestOrder, FiveHundredRandomInstancesByBruteForce) {
  std::mt19937_64 random(20261125);
  for (int i = 0; i < 500; ++i) {
    SCOPED_TRACE(i);
    const Problem problem = random_problem(random, {4, 3, i % 3 == 0});
    const Solution solution = best_order(problem);
    expect_valid(problem, solution.orders);
    EXPECT_NEAR(solution.cost, oracle::least_cost(problem), kRounding);
    EXPECT_EQ(solution.cost, order_cost(problem, solution.orders));
    EXPECT_TRUE(solution.proof.optimal);
    EXPECT_EQ(solution.proof.gap, 0.0);
    for (const Orders& other : {ascending_order(problem), carry_over_order(problem)}) {
      expect_valid(problem, other);
      EXPECT_GE(order_cost(problem, other), solution.cost - kRounding);
    }
  }
}

TEST(BestOrder, FewestChangesByBruteForce) {
  std::mt19937_64 random(7);
  for (int i = 0; i < 200; ++i) {
    SCOPED_TRACE(i);
    const Problem problem = with_unit_costs(random_problem(random, {4, 3}));
    const Solution solution = best_order(problem);
    EXPECT_EQ(solution.cost, oracle::least_cost(problem));
    EXPECT_EQ(static_cast<double>(count_changes(problem, solution.orders)), solution.cost);
  }
}

TEST(BestOrder, WithoutExactLayersTheBoundHolds) {
  std::mt19937_64 random(99);
  int met = 0;
  int proven = 0;
  for (int i = 0; i < 500; ++i) {
    SCOPED_TRACE(i);
    const Problem problem = random_problem(random, {5, 3, i % 2 == 0});
    const double best = best_order(problem).cost;
    const Solution solution = best_order(problem, {1 + draw(random, 3), 2e9});
    expect_valid(problem, solution.orders);
    EXPECT_GE(solution.cost, best - kRounding);
    EXPECT_LE(solution.proof.bound, best + kRounding);
    if (solution.proof.optimal) {
      // "Optimal" from the bound is good to the 1e-9 of the cost that rounding may part them by.
      EXPECT_NEAR(solution.cost, best, 1e-5);
      proven += solution.proof.open_layers > 0 ? 1 : 0;
    } else {
      EXPECT_GT(solution.proof.gap, 0.0);
      EXPECT_NEAR(solution.proof.gap * solution.cost, solution.cost - solution.proof.bound, 1e-9);
      EXPECT_GT(solution.proof.open_layers, 0u);
    }
    met += solution.cost <= best + kRounding ? 1 : 0;
  }
  // The search without proof is meant to be good: nine of ten small plates at their best.
  EXPECT_GT(met, 450);
  EXPECT_GT(proven, 50);
}

TEST(BestOrder, SixteenToolsAreExactAndSeventeenAreNot) {
  const Solution exact = best_order(full_layers(16, 2, 3));
  EXPECT_TRUE(exact.proof.optimal);
  EXPECT_EQ(exact.proof.open_layers, 0u);
  const Problem large = full_layers(24, 30, 4);
  const Solution solution = best_order(large);
  expect_valid(large, solution.orders);
  EXPECT_EQ(solution.proof.open_layers, 30u);
  EXPECT_LE(solution.proof.bound, solution.cost);
  EXPECT_LT(solution.proof.gap, 0.25);
  EXPECT_LT(solution.cost, order_cost(large, carry_over_order(large)));
}

TEST(BestOrder, WithoutProofSixteenToolsComeNearTheBest) {
  const Problem problem = full_layers(16, 10, 11);
  const double best = best_order(problem).cost;
  const Solution solution = best_order(problem, {15, 2e9});
  EXPECT_LE(solution.proof.bound, best + kRounding);
  EXPECT_GE(solution.cost, best - kRounding);
  EXPECT_LT(solution.cost, 1.15 * best);
}

TEST(BestOrder, UnitCostsAreProvenByTheBoundAlone) {
  const Solution solution = best_order(with_unit_costs(full_layers(20, 5, 1)));
  EXPECT_TRUE(solution.proof.optimal);
  EXPECT_EQ(solution.cost,
            95.0);  // 19 within each layer; the next one goes on with the tool in hand
}

TEST(BestOrder, WorkIsLimited) {
  const Problem problem = full_layers(12, 3, 5);
  const Solution solution = best_order(problem, {16, 1e5});
  expect_valid(problem, solution.orders);
  EXPECT_EQ(solution.proof.open_layers, 3u);
  EXPECT_LE(solution.proof.bound, best_order(problem).cost + kRounding);
}

TEST(BestOrder, EmptyPlatesAndLayers) {
  Problem problem{2, {0, 5, 3, 0}, {}, std::nullopt, std::nullopt, {}};
  EXPECT_EQ(best_order(problem).cost, 0.0);
  problem.first = 0;
  problem.kept = 1;
  EXPECT_EQ(best_order(problem).cost, 5.0);
  problem.layers = {{}, {1}, {}};
  const Solution solution = best_order(problem);
  EXPECT_EQ(solution.cost, 5.0);
  EXPECT_EQ(solution.orders, problem.layers);
  EXPECT_TRUE(solution.proof.optimal);
}

TEST(BestOrder, KeptToolEndsTheLastLayerIfThatIsCheapest) {
  Problem problem{3, {0, 1, 1, 1, 0, 1, 1, 1, 0}, {{0, 1, 2}}, std::nullopt, 1, {}};
  const Solution solution = best_order(problem);
  EXPECT_EQ(solution.cost, 2.0);
  EXPECT_EQ(solution.orders[0].back(), 1);
}

TEST(BestOrder, RefusesWhatHasAFault) {
  EXPECT_THROW(best_order({2, {0, 1}, {}, std::nullopt, std::nullopt, {}}), std::invalid_argument);
}

TEST(BestOrder, SaysWhatIsProven) {
  EXPECT_EQ(text_of(Solution{{}, 1140.0, {true, 1140.0, 0.0, 0}}, " mm3"),
            "optimal: no order costs less than 1140 mm3");
  EXPECT_EQ(text_of(Solution{{}, 200.0, {false, 150.0, 0.25, 3}}, " g"),
            "not proven: 3 layers were searched without proof; no order costs less than 150 g, so "
            "that at most 25.0 % of 200 g could still be saved");
}

}  // namespace
}  // namespace platetally::ordering
