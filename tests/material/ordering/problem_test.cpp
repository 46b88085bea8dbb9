#include "material/ordering/problem.hpp"

#include <limits>

#include "material/ordering/matching.hpp"
#include "material/ordering/plan.hpp"
#include "material/ordering/strategies.hpp"
#include "material/ordering/support.hpp"

namespace platetally::ordering {
namespace {

const std::vector<double> kCost = {0, 90, 140, 60, 0, 70, 200, 120, 0};

TEST(Problem, SaysWhatIsWrong) {
  const double nan = std::numeric_limits<double>::quiet_NaN();
  const struct {
    Problem problem;
    const char* fault;
  } rows[] = {
      {{3, kCost, {{0, 1}, {2}}, 0, 2, {{0, 1}, {1, 2}}}, ""},
      {{3, {0, 1}, {}, {}, {}, {}}, "2 given, 3 x 3 expected"},
      {{2, {0, -1, 1, 0}, {}, {}, {}, {}}, "from 0 to 1: -1"},
      {{2, {0, 1, nan, 0}, {}, {}, {}, {}}, "from 1 to 0: nan"},
      {{2, {nan, 1, 1, nan}, {}, {}, {}, {}}, ""},
      {{3, kCost, {}, 3, {}, {}}, "in hand at the start: there is no tool 3"},
      {{3, kCost, {}, {}, -1, {}}, "kept at the end: there is no tool -1"},
      {{3, kCost, {}, {}, {}, {{0, 9}}}, "precedence: there is no tool 9"},
      {{3, kCost, {{0}, {1, 3}}, {}, {}, {}}, "layer 2: there is no tool 3"},
      {{3, kCost, {{0, 2, 0}}, {}, {}, {}}, "layer 1: tool 0 is named twice"},
      {{3, kCost, {{0, 1, 2}}, {}, {}, {{0, 1}, {1, 2}, {2, 0}}}, "in a circle"},
      {{3, kCost, {{0, 1}, {1, 2}}, {}, {}, {{0, 1}, {1, 2}, {2, 0}}}, ""},
  };
  for (const auto& row : rows) {
    const std::string fault = fault_of(row.problem);
    EXPECT_EQ(fault.empty(), row.fault[0] == '\0') << fault;
    EXPECT_NE(fault.find(row.fault), std::string::npos) << fault;
  }
}

TEST(Problem, AddsUpOrdersThatUseAToolTwice) {
  const Problem problem{3, kCost, {{0, 1}, {2}}, 1, 0, {}};
  const Orders orders = {{0, 1, 0}, {0, 2}};
  EXPECT_EQ(order_cost(problem, orders), 60.0 + 90.0 + 60.0 + 0.0 + 140.0 + 200.0);
  EXPECT_EQ(count_changes(problem, orders), 5u);
}

TEST(Problem, DetoursAreTakenWhereTheyCostLess) {
  //                     from 0              from 1         from 2           from 3
  const Problem problem{
      4, {0, 900, 100, 900, 10, 0, 500, 7, 800, 200, 0, 50, 1, 1, 900, 0}, {}, {}, {}, {}};
  const std::vector<double> cost = with_detours(problem, {0, 1, 2, 3}).cost;
  // 0 to 1 by 2 and 3; 0 to 3 by 2; 1 to 2 by 3 and 0 or by 0; 2 to 0 by 3.
  EXPECT_EQ(cost,
            (std::vector<double>{0, 151, 100, 150, 8, 0, 108, 7, 51, 51, 0, 50, 1, 1, 101, 0}));
  EXPECT_EQ(with_detours(problem, {}).cost, problem.cost);
  EXPECT_EQ(with_detours(problem, {3}).cost[1], 900.0);  // 0 to 1 by 3 costs 901
}

TEST(Strategies, AscendingAndCarryOver) {
  Problem problem{4, std::vector<double>(16, 1.0), {{3, 1, 0}, {0, 3}, {}, {2, 3, 1}}, 1, {}, {}};
  EXPECT_EQ(ascending_order(problem), (Orders{{0, 1, 3}, {0, 3}, {}, {1, 2, 3}}));
  EXPECT_EQ(carry_over_order(problem), (Orders{{1, 0, 3}, {3, 0}, {}, {1, 2, 3}}));
  problem.precedence = {{3, 0}, {0, 1}};
  EXPECT_EQ(ascending_order(problem), (Orders{{3, 0, 1}, {3, 0}, {}, {1, 2, 3}}));
  EXPECT_EQ(carry_over_order(problem), (Orders{{3, 0, 1}, {3, 0}, {}, {1, 2, 3}}));
}

TEST(Plan, RunsAndCycles) {
  const Tools a{0, 1};
  const Tools b{1, 0};
  const Tools c{2};
  const struct {
    Orders orders;
    std::vector<std::string> lines;
  } rows[] = {
      {{}, {}},
      {{a}, {"layer 1: 0 1"}},
      {{a, a, a, b}, {"layers 1-3: 0 1", "layer 4: 1 0"}},
      {{a, b, a, b, a, c}, {"layers 1-5: 0 1 | 1 0", "layer 6: 2"}},
      {{a, b, a}, {"layer 1: 0 1", "layer 2: 1 0", "layer 3: 0 1"}},
      {{a, b, a, c, c}, {"layer 1: 0 1", "layer 2: 1 0", "layer 3: 0 1", "layers 4-5: 2"}},
      {{a, b, c, a, b, c, {}}, {"layers 1-6: 0 1 | 1 0 | 2", "layer 7: -"}},
  };
  for (const auto& row : rows) {
    std::vector<std::string> lines;
    for (const LayerRun& run : compact_plan(row.orders))
      lines.push_back(text_of(run));
    EXPECT_EQ(lines, row.lines);
  }
}

TEST(Plan, RunsUnfoldToTheOrders) {
  std::mt19937_64 random(17);
  for (int i = 0; i < 300; ++i) {
    Orders orders(draw(random, 25));
    for (Tools& order : orders)
      order = {static_cast<int>(draw(random, 2))};
    Orders unfolded;
    for (const LayerRun& run : compact_plan(orders)) {
      ASSERT_EQ(run.from, unfolded.size());
      for (std::size_t layer = run.from; layer <= run.to; ++layer)
        unfolded.push_back(run.cycle[(layer - run.from) % run.cycle.size()]);
    }
    EXPECT_EQ(unfolded, orders);
  }
}

TEST(Matching, RandomSquaresAgainstAllPermutations) {
  std::mt19937_64 random(23);
  for (int i = 0; i < 200; ++i) {
    SCOPED_TRACE(i);
    const std::size_t n = 1 + draw(random, 6);
    std::vector<double> cost;
    for (std::size_t j = 0; j < n * n; ++j)
      cost.push_back(static_cast<double>(draw(random, 50)) - 10.0);
    std::vector<std::size_t> columns(n);
    std::iota(columns.begin(), columns.end(), std::size_t{0});
    double best = 1e9;
    do {
      double sum = 0.0;
      for (std::size_t row = 0; row < n; ++row)
        sum += cost[row * n + columns[row]];
      best = std::min(best, sum);
    } while (std::ranges::next_permutation(columns).found);
    const Matching matching = cheapest_matching(cost, n);
    EXPECT_EQ(matching.cost, best);  // whole numbers
    double prices = 0.0;
    for (std::size_t row = 0; row < n; ++row) {
      prices += matching.row_price[row] + matching.column_price[row];
      for (std::size_t column = 0; column < n; ++column)
        EXPECT_LE(matching.row_price[row] + matching.column_price[column], cost[row * n + column]);
    }
    EXPECT_EQ(prices, best);
  }
}

}  // namespace
}  // namespace platetally::ordering
