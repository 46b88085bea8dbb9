#include "material/ordering/assignment.hpp"

#include "material/ordering/exact_order.hpp"
#include "material/ordering/support.hpp"

namespace platetally::ordering {
namespace {

constexpr FixedOrder kKinds[] = {FixedOrder::ascending, FixedOrder::alternating,
                                 FixedOrder::cyclic};

/// Least over all placements, without any short cut; infinite if none keeps to the precedence.
double slow_best(const Problem& problem, FixedOrder kind) {
  std::vector<int> head_of(problem.tools);
  std::iota(head_of.begin(), head_of.end(), 0);
  double best = std::numeric_limits<double>::infinity();
  do {
    const Orders orders = fixed_orders(problem, kind, head_of);
    if (std::ranges::all_of(orders, [&](const Tools& o) { return keeps_precedence(problem, o); }))
      best = std::min(best, order_cost(problem, orders));
  } while (std::ranges::next_permutation(head_of).found);
  return best;
}

TEST(BestHeads, FourColoursInAHundredLayers) {
  const auto row = check_file("order_purge.json")["relabel"];
  Problem problem;
  problem.tools = 4;
  problem.cost = calibrated_costs(row["colors"]);
  problem.layers.assign(row["layers"].get<std::size_t>(), {0, 1, 2, 3});
  // Given without decimals.
  EXPECT_NEAR(best_heads(problem, FixedOrder::ascending)->cost, row["cyc_best"].get<double>(),
              0.51);
  EXPECT_NEAR(best_heads(problem, FixedOrder::alternating)->cost, row["snake_best"].get<double>(),
              0.51);
  EXPECT_NEAR(best_order(problem).cost, row["free_dp"].get<double>(), 0.51);
  EXPECT_TRUE(best_heads(problem, FixedOrder::cyclic)->proven);
}

TEST(BestHeads, RandomInstancesAgainstAllPlacements) {
  std::mt19937_64 random(31);
  for (int i = 0; i < 200; ++i)
    for (const FixedOrder kind : kKinds) {
      SCOPED_TRACE(i);
      const Problem problem = random_problem(random, {5, 6, i % 2 == 0});
      const double slow = slow_best(problem, kind);
      const auto plan = best_heads(problem, kind);
      ASSERT_EQ(plan.has_value(), std::isfinite(slow));
      if (!plan)
        continue;
      EXPECT_TRUE(plan->proven);
      // At most 30 costs up to 1031 added in another order.
      EXPECT_NEAR(plan->cost, slow, 1e-10);
      const Orders orders = fixed_orders(problem, kind, plan->head_of);
      expect_valid(problem, orders);
      EXPECT_NEAR(order_cost(problem, orders), plan->cost, 1e-10);
    }
}

TEST(BestHeads, OrdersOfTheThreeKinds) {
  const Problem problem{
      4, std::vector<double>(16, 1.0), {{0, 1, 2, 3}, {0, 2, 3}, {}, {0, 1}}, 2, std::nullopt, {}};
  const std::vector<int> head_of = {3, 0, 1, 2};  // heads 0 to 3 hold colours 1, 2, 3, 0
  EXPECT_EQ(fixed_orders(problem, FixedOrder::ascending, head_of),
            (Orders{{1, 2, 3, 0}, {2, 3, 0}, {}, {1, 0}}));
  EXPECT_EQ(fixed_orders(problem, FixedOrder::alternating, head_of),
            (Orders{{1, 2, 3, 0}, {0, 3, 2}, {}, {1, 0}}));
  EXPECT_EQ(fixed_orders(problem, FixedOrder::cyclic, head_of),
            (Orders{{2, 3, 0, 1}, {2, 3, 0}, {}, {0, 1}}));
}

TEST(BestHeads, NineColoursAreNotProven) {
  Problem problem;
  problem.tools = 9;
  std::mt19937_64 random(5);
  for (int i = 0; i < 81; ++i)
    problem.cost.push_back(static_cast<double>(draw(random, 1000)));
  Tools all(9);
  std::iota(all.begin(), all.end(), 0);
  problem.layers.assign(20, all);
  std::vector<int> as_it_is(9);
  std::iota(as_it_is.begin(), as_it_is.end(), 0);
  const double before = order_cost(problem, fixed_orders(problem, FixedOrder::ascending, as_it_is));
  const auto plan = best_heads(problem, FixedOrder::ascending);
  ASSERT_TRUE(plan);
  EXPECT_FALSE(plan->proven);
  EXPECT_LT(plan->cost, before);
  EXPECT_GE(plan->cost, best_order(problem).cost);
}

TEST(BestHeads, PrecedenceMayForbidEveryPlacement) {
  // Up and down in turn cannot keep 0 before 1 in both layers.
  const Problem problem{2, {0, 1, 1, 0}, {{0, 1}, {0, 1}}, std::nullopt, std::nullopt, {{0, 1}}};
  EXPECT_FALSE(best_heads(problem, FixedOrder::alternating));
  const auto plan = best_heads(problem, FixedOrder::ascending);
  ASSERT_TRUE(plan);
  EXPECT_EQ(plan->cost, 3.0);
}

}  // namespace
}  // namespace platetally::ordering
