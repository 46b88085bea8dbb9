// The order of a plate's tools, from an account made by hand.
#include <gtest/gtest.h>

#include <algorithm>

#include "platetally/account.hpp"
#include "platetally/order.hpp"

namespace platetally {
namespace {

/// One nozzle, three filaments; two layers 0 1 2 and 0 1 2: five swaps.
struct Plate {
  Machine machine;
  Account account;

  explicit Plate(std::vector<std::vector<int>> layers = {{0, 1, 2}, {0, 1, 2}}) {
    machine.tools.assign(3, Tool{});
    machine.swap.filament_change_s = {40, 50, 70};
    account.layers.resize(1 + layers.size());
    for (std::size_t i = 0; i < layers.size(); ++i) {
      account.layers[i + 1].index = i + 1;
      account.layers[i + 1].order = layers[i];
      account.visits.push_back({i + 1, layers[i]});
    }
    std::vector<std::uint64_t> counts(9);
    int in_hand = -1;
    for (const auto& layer : layers)
      for (const int tool : layer) {
        if (in_hand >= 0 && in_hand != tool)
          ++counts[static_cast<std::size_t>(in_hand * 3 + tool)];
        in_hand = tool;
      }
    for (int from = 0; from < 3; ++from)
      for (int to = 0; to < 3; ++to)
        if (const auto count = counts[static_cast<std::size_t>(from * 3 + to)]) {
          SwapPairAccount pair;
          pair.from = from;
          pair.to = to;
          pair.count = count;
          pair.purge_g = 0.5 * static_cast<double>(count);
          account.swap_pairs.push_back(pair);
          account.totals.swaps += count;
        }
    for (int tool = 0; tool < 3; ++tool) {
      ToolAccount row;
      row.tool = tool;
      account.tools.push_back(row);
    }
    account.totals.time_by.swap_s = static_cast<double>(account.totals.swaps) * (50.0 + 5.0);
  }
  void measure(int from, int to, double need_mm3) {
    SwapPair pair;
    pair.from = from;
    pair.to = to;
    pair.needed_mm3 = need_mm3;
    machine.swap_pairs.push_back(pair);
  }
  void measure_all(double need_mm3) {
    for (int from = 0; from < 3; ++from)
      for (int to = 0; to < 3; ++to)
        if (from != to)
          measure(from, to, need_mm3);
  }
};

constexpr double kPlaGPerMm3 = 1.24e-3;

TEST(OrderPlan, WithoutNeedTheNumberOfSwapsDecides) {
  const Plate plate;
  const OrderReport report = plan_order(plate.account, plate.machine);
  ASSERT_EQ(report.outcomes.size(), 4U);
  EXPECT_FALSE(report.by_need);
  EXPECT_EQ(report.outcomes[0].name, "actual");
  EXPECT_EQ(report.outcomes[0].swaps, 5U);
  EXPECT_EQ(report.outcomes[3].swaps, 4U);  // 0 1 2, then on from 2
  EXPECT_NEAR(report.outcomes[0].purge_g, 2.5, 1e-12);
  EXPECT_NEAR(report.outcomes[3].purge_g, 2.0, 1e-12);
  // 50 s a change, and 5 s for the purge of each, as on the plate.
  EXPECT_NEAR(report.outcomes[0].time_s, 275.0, 1e-9);
  EXPECT_NEAR(report.outcomes[3].time_s, 220.0, 1e-9);
  EXPECT_TRUE(report.optimal);
}

TEST(OrderPlan, ToolsBeyondTheMachineAreRefusedUnlessAPersonChangesFilament) {
  Plate plate;
  plate.machine.tools.resize(1);
  EXPECT_THROW(plan_order(plate.account, plate.machine), std::invalid_argument);
  plate.machine.swap.filament_change_by_hand = true;
  EXPECT_EQ(plan_order(plate.account, plate.machine).outcomes[3].swaps, 4U);
}

TEST(OrderPlan, MeasuredPairsReplaceColours) {
  Plate plate;
  plate.measure_all(500.0);
  plate.machine.swap_pairs[1].needed_mm3 = 100.0;  // 0 to 2
  const OrderReport report = plan_order(plate.account, plate.machine);
  EXPECT_TRUE(report.by_need);
  // 1 0 2 | 2 1 0 would be 500 + 100 + 500 + 500; 0 2 is used once in 1 0 2 and once in 0 2 1:
  // 1 0 2, 2 ... has 0 2 once; 0 2 1, 1 0 2 has it twice.
  EXPECT_NEAR(report.outcomes[3].purge_g, (100 + 500 + 500 + 100) * kPlaGPerMm3, 1e-9);
  for (const OrderPair& pair : report.pairs) {
    ASSERT_TRUE(pair.needed_g.has_value());
    EXPECT_NEAR(pair.over_purge_g, pair.purged_g - static_cast<double>(pair.count) * *pair.needed_g,
                1e-12);
  }
}

TEST(OrderPlan, ColoursGiveNeedAndAnUnknownColourGivesNone) {
  Plate plate;
  plate.account.tools[0].colour = "black";
  plate.account.tools[1].colour = "white";
  plate.account.tools[2].colour = "red";
  const OrderReport known = plan_order(plate.account, plate.machine);
  EXPECT_TRUE(known.by_need);
  const auto need = [&](int from, int to) {
    for (const OrderPair& pair : known.pairs)
      if (pair.from == from && pair.to == to)
        return pair.needed_mm3.value_or(-1.0);
    return -1.0;
  };
  EXPECT_GT(need(0, 1), 1.5 * need(1, 0));  // dark to light needs most
  EXPECT_GT(need(0, 1), 70.0);
  plate.account.tools[2].colour = "";
  const OrderReport unknown = plan_order(plate.account, plate.machine);
  EXPECT_FALSE(unknown.by_need);
}

TEST(OrderPlan, AnotherHeadNeedsNothing) {
  Plate plate;
  plate.machine.heads.assign(3, Head{});
  for (int tool = 0; tool < 3; ++tool)
    plate.machine.tools[static_cast<std::size_t>(tool)].head = tool;
  for (const OrderPair& pair : plan_order(plate.account, plate.machine).pairs) {
    EXPECT_EQ(pair.kind, SwapKind::head_change);
    EXPECT_EQ(pair.needed_mm3, 0.0);
  }
}

TEST(OrderPlan, FirstKeptAndPrecedenceAreKept) {
  const Plate plate;
  OrderOptions options;
  options.objective = OrderObjective::swaps;
  options.first = 2;
  options.kept = 2;
  options.precedence = {{1, 0}};
  const OrderReport report = plan_order(plate.account, plate.machine, options);
  // From 2: 2 1 0 | 1 0 2 or 2 1 0 | 1 0 ... : the last layer ends with 2, 1 stays before 0.
  for (const auto& order : report.orders) {
    const auto at = [&](int tool) { return std::ranges::find(order, tool) - order.begin(); };
    EXPECT_LT(at(1), at(0));
  }
  EXPECT_EQ(report.orders.front().front(), 2);
  EXPECT_EQ(report.orders.back().back(), 2);
  options.first = 7;
  EXPECT_THROW(plan_order(plate.account, plate.machine, options), std::invalid_argument);
}

TEST(OrderPlan, FixedHeadOrderAssignsColours) {
  Plate plate({{0, 1}, {0, 1}, {0, 1}});
  plate.measure_all(100.0);
  for (SwapPair& pair : plate.machine.swap_pairs)
    if (pair.from == 0 && pair.to == 1)
      pair.needed_mm3 = 900.0;
  OrderOptions options;
  options.head_order = HeadOrder::ascending;
  const OrderReport report = plan_order(plate.account, plate.machine, options);
  ASSERT_TRUE(report.heads.has_value());
  EXPECT_TRUE(report.heads->proven);
  // As it is, 0 1 0 1 0 1: three times 900. With 1 in the lower head: 1 0 1 0 1 0, twice 900.
  EXPECT_NEAR(report.heads->cost_as_is, (3 * 900 + 2 * 100) * kPlaGPerMm3, 1e-9);
  EXPECT_NEAR(report.heads->cost, (2 * 900 + 3 * 100) * kPlaGPerMm3, 1e-9);
  EXPECT_LT(report.heads->tool_to_head[1], report.heads->tool_to_head[0]);
}

TEST(OrderPlan, ObjectsOneAfterTheOtherAreLongerListsOfLayers) {
  Plate plate({{0, 1}, {1, 0}});
  plate.account.visits = {{1, {0, 1}}, {2, {1, 0}}, {1, {0, 2}}, {2, {2, 0}}};
  EXPECT_EQ(plan_order(plate.account, plate.machine).orders.size(), 4U);
  // Up and down without end: each time a layer of its own.
  plate.account.visits.assign(500, {1, {0, 1}});
  const OrderReport report = plan_order(plate.account, plate.machine);
  EXPECT_EQ(report.orders.size(), 500U);
}

}  // namespace
}  // namespace platetally
