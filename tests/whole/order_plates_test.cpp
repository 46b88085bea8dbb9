// The order of the tools on plates drawn by chance: the best never costs more than what is there,
// "optimal" holds against every order tried, and what is not understood keeps its order and is
// said.
#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <random>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include "oracle/slow_order.hpp"
#include "platetally/account.hpp"
#include "platetally/order.hpp"
#include "support.hpp"
#include "support/temp_folder.hpp"

namespace platetally {
namespace {

using Layers = std::vector<std::vector<int>>;

/// Sums of a few hundred costs, added up in another order.
constexpr double kRounding = 1e-9;

std::vector<int> sorted(std::vector<int> tools) {
  std::ranges::sort(tools);
  return tools;
}

class Dice {
 public:
  explicit Dice(std::uint64_t seed) : random_(seed) {}
  std::size_t below(std::size_t bound) { return static_cast<std::size_t>(random_() % bound); }
  template <typename T>
  T of(std::initializer_list<T> choices) {
    return choices.begin()[below(choices.size())];
  }

 private:
  std::mt19937_64 random_;  // gives the same numbers everywhere
};

/// Arguments of a small plate of several tools, laid out in one of the ways of practice.
std::string random_arguments(Dice& dice) {
  const std::string kind =
      dice.of({"labels", "lantern", "blocks", "ring", "figures", "pillars", "logo", "lithophane"});
  std::string arguments = fmt::format(
      "{} --tools {} --layers {} --seed {} --comments none --density 0.15 --e {} --order {}", kind,
      2 + dice.below(3), 3 + dice.below(4), dice.below(1'000'000),
      dice.of({"absolute", "relative"}), dice.of({"ascending", "descending", "carry-over"}));
  if (kind == "labels" || kind == "logo")
    arguments += fmt::format(" --{}-layers 2", kind == "labels" ? "upper" : "logo");
  else if (kind != "figures" && kind != "pillars" && kind != "lithophane" && dice.below(3) == 0)
    arguments += " --colours bands --band-layers 2";
  if (kind == "figures" || kind == "pillars")
    arguments += " --figures 4";  // one for every tool
  if (kind == "blocks" && dice.below(2) == 0)
    return arguments + " --copies 2x1 --sequential yes --purge chute --purge-at 5,5";
  arguments += dice.of({"", " --purge chute --purge-mm3 90 --purge-at 5,5",
                        " --purge tower --purge-mm3 40 --purge-at 200,200",
                        " --purge tower --purge-mm3 40 --purge-at 200,200 --tower-walls carried",
                        " --purge tower --purge-mm3 40 --purge-at 200,200 --tower-lags yes",
                        " --purge object --purge-mm3 40 --purge-at 200,200",
                        " --purge line --purge-mm3 30 --purge-at 10,200"});
  return arguments;
}

/// A plate of plate-maker, its account, and what each layer's tools are by its truth.
struct MadePlate {
  Account account;
  Layers printed;  ///< in order; a tool that lays a tower's walls and its part later comes twice
  Layers layers;   ///< every tool once

  bool by_height = false;  ///< the truth's layers are those of several objects together

  MadePlate(const std::string& arguments, const Machine& machine)
      : by_height(arguments.find("--sequential yes") != std::string::npos) {
    const test::TempFolder folder;
    const std::string plate = (folder.path() / "plate.gcode").string();
    const std::string truth = (folder.path() / "truth.json").string();
    const std::string command = fmt::format("'{}' {} -o '{}' --truth '{}'", PLATETALLY_PLATE_MAKER,
                                            arguments, plate, truth);
    EXPECT_EQ(std::system(command.c_str()), 0) << command;
    account = analyze_file(plate, machine);
    const auto known = test::read_json(truth);
    for (const auto& layer : known["by_layer"])
      printed.push_back(layer["tools"].get<std::vector<int>>());
    for (const std::vector<int>& tools : printed) {
      const std::set<int> once(tools.begin(), tools.end());
      layers.emplace_back(once.begin(), once.end());
    }
  }
};

double cost_of(const OrderPair& pair, OrderObjective objective) {
  return objective == OrderObjective::grams     ? pair.plan_g
         : objective == OrderObjective::seconds ? pair.plan_s
                                                : 1.0;
}

/// What `orders` cost by the report's own costs of changes.
double cost_of(const Layers& orders, const OrderReport& report) {
  double cost = 0.0;
  int in_hand = -1;
  for (const std::vector<int>& order : orders)
    for (const int tool : order) {
      if (in_hand >= 0 && in_hand != tool) {
        const auto pair = std::ranges::find_if(report.pairs, [&](const OrderPair& row) {
          return row.from == in_hand && row.to == tool;
        });
        EXPECT_NE(pair, report.pairs.end()) << in_hand << " to " << tool;
        if (pair != report.pairs.end())
          cost += cost_of(*pair, report.objective);
      }
      in_hand = tool;
    }
  return cost;
}

/// The cheapest of all orders, each layer's tools in any order; a layer of one tool after the other
/// where it is kept. Negative where there are too many to try.
double cheapest(const Layers& layers, const OrderReport& report, std::size_t tools) {
  ordering::Problem problem;
  problem.tools = tools;
  problem.layers = layers;
  problem.cost.assign(tools * tools, 0.0);
  for (const OrderPair& pair : report.pairs)
    problem.cost[static_cast<std::size_t>(pair.from) * tools + static_cast<std::size_t>(pair.to)] =
        cost_of(pair, report.objective);
  double orders = 1.0;
  for (const std::vector<int>& layer : layers)
    orders *= std::tgamma(static_cast<double>(layer.size()) + 1.0);
  return orders > 200'000.0 ? -1.0 : oracle::least_cost(problem);
}

/// One nozzle for four filaments, and several heads; what pairs need is known of some.
std::vector<std::pair<std::string, Machine>> machines(Dice& dice) {
  std::vector<std::pair<std::string, Machine>> all{{"changer-5", test::embedded("changer-5")},
                                                   {"switcher-4", test::embedded("switcher-4")},
                                                   {"measured", test::embedded("switcher-4")}};
  Machine& measured = all.back().second;
  for (int from = 0; from < 4; ++from)
    for (int to = 0; to < 4; ++to)
      if (from != to) {
        SwapPair pair;
        pair.from = from;
        pair.to = to;
        pair.needed_mm3 = 70.0 + 10.0 * static_cast<double>(dice.below(64));
        measured.swap_pairs.push_back(pair);
      }
  return all;
}

TEST(OrderOnPlates, BestNeverCostsMoreThanActualAndOptimalMeansOptimal) {
  Dice dice(20);
  std::size_t plans = 0, tried = 0, saving = 0;
  for (int plate = 0; plate < 32; ++plate) {
    const std::string arguments = random_arguments(dice);
    const bool walls = arguments.find("--tower-walls") != std::string::npos;
    for (const auto& [name, machine] : machines(dice)) {
      const MadePlate made(arguments, machine);
      for (const OrderObjective objective :
           {OrderObjective::grams, OrderObjective::seconds, OrderObjective::swaps}) {
        SCOPED_TRACE(
            fmt::format("{} on {}, objective {}", arguments, name, static_cast<int>(objective)));
        OrderOptions options;
        options.objective = objective;
        const OrderReport report = plan_order(made.account, machine, options);
        const OrderOutcome& actual = report.outcomes.front();
        const OrderOutcome& best = report.outcomes.back();
        ++plans;
        ASSERT_EQ(best.name, "best");
        EXPECT_EQ(actual.swaps, made.account.totals.swaps);
        if (!made.by_height) {
          EXPECT_NEAR(actual.cost, cost_of(made.printed, report), kRounding * (1.0 + actual.cost));
        }
        EXPECT_LE(best.cost, actual.cost);
        EXPECT_NEAR(best.cost, cost_of(report.orders, report), kRounding * (1.0 + best.cost));
        EXPECT_GE(best.cost, report.bound - kRounding * (1.0 + report.bound));
        saving += best.cost < actual.cost * (1.0 - kRounding);
        // Every layer as it was printed, with the tools that it had.
        Layers laid;
        for (const std::vector<int>& order : report.orders)
          if (!order.empty())
            laid.push_back(order);
        EXPECT_EQ(report.optimal, report.left_out == 0) << report.proof;
        if (made.by_height)
          continue;
        ASSERT_EQ(laid.size(), made.layers.size());
        Layers sets;
        for (std::size_t i = 0; i < laid.size(); ++i) {
          sets.push_back(sorted(laid[i]));
          // The tool in hand may lay nothing but a tower's walls in a layer.
          EXPECT_TRUE(walls ? std::ranges::includes(made.layers[i], sets[i])
                            : made.layers[i] == sets[i])
              << "layer " << i;
        }
        if (!report.optimal)
          continue;
        const double least = cheapest(sets, report, machine.tools.size());
        if (least < 0.0)
          continue;
        ++tried;
        EXPECT_NEAR(best.cost, least, kRounding * (1.0 + least)) << report.proof;
      }
    }
  }
  EXPECT_GT(tried, plans / 2);
  EXPECT_GT(saving, plans / 10);
}

/// Lines of a plate whose visits of layers are given: height by ordinal, tools in their order. Each
/// time a tool lays, it does so in a place of its own, so that no place is landed on by all.
std::string plate_of(const std::vector<std::pair<int, std::vector<int>>>& visits) {
  std::string text = "G90\nM83\n";
  int at = 0;
  for (const auto& [layer, tools] : visits)
    for (const int tool : tools) {
      const int x_mm = 20 + 40 * tool;
      text += fmt::format("T{}\nG1 Z{:.1f} F600\n", tool, 0.2 * layer);
      text += fmt::format("G1 X{} Y{} F9000\nG1 X{} E1.2 F1800\nG1 Y{} E1.2\nG1 X{} E1.2\n", x_mm,
                          20 + at % 3, x_mm + 30, 60 + at % 3, x_mm);
      ++at;
    }
  return text;
}

/// Layers that the plate comes back to, and layers in which a tool lays twice: they stay as they
/// are, whatever that costs, and the rest is planned around them.
TEST(OrderOnPlates, WhatIsNotUnderstoodKeepsItsOrderAndIsCounted) {
  Dice dice(24);
  std::size_t tried = 0;
  for (int plate = 0; plate < 40; ++plate) {
    const auto shuffled = [&dice] {
      std::vector<int> tools{0, 1, 2};
      for (std::size_t i = 2; i > 0; --i)
        std::swap(tools[i], tools[dice.below(i + 1)]);
      tools.resize(2 + dice.below(2));
      return tools;
    };
    std::vector<std::pair<int, std::vector<int>>> visits;
    std::set<int> strange;
    const int back_from = 3 + static_cast<int>(dice.below(8));  // beyond the last: never
    for (int layer = 1; layer <= 6; ++layer) {
      visits.emplace_back(layer, shuffled());
      if (dice.below(4) == 0) {  // a tool comes again in its layer
        visits.back().second.push_back(visits.back().second.front());
        strange.insert(layer);
      }
      // Back to the layer below; a plate that does so again and again feeds a tower ahead of it.
      if (layer == back_from) {
        visits.emplace_back(layer - 1, shuffled());
        strange.insert(layer - 1);
      }
    }
    const Machine machine = machines(dice).back().second;
    const Account account = analyze_bytes(plate_of(visits), machine);
    const OrderReport report = plan_order(account, machine);
    SCOPED_TRACE(plate);
    ASSERT_EQ(report.orders.size(), visits.size()) << plate_of(visits);
    EXPECT_EQ(report.left_out, strange.size());
    EXPECT_EQ(report.optimal, strange.empty());
    if (strange.size() == 1) {
      EXPECT_TRUE(report.proof.starts_with("best of what was understood, 1 layer left out: "))
          << report.proof;
    } else if (!strange.empty()) {
      EXPECT_TRUE(report.proof.starts_with(
          fmt::format("best of what was understood, {} layers left out: ", strange.size())))
          << report.proof;
    } else {
      EXPECT_TRUE(report.proof.starts_with("optimal")) << report.proof;
    }
    Layers free;
    for (std::size_t i = 0; i < visits.size(); ++i) {
      const auto& [layer, tools] = visits[i];
      if (!strange.contains(layer)) {
        EXPECT_EQ(sorted(report.orders[i]), sorted(tools)) << i;
        free.push_back(tools);
        continue;
      }
      EXPECT_EQ(report.orders[i], tools) << i;
      for (const int tool : tools)
        free.push_back({tool});
    }
    const double least = cheapest(free, report, machine.tools.size());
    const OrderOutcome& best = report.outcomes.back();
    EXPECT_LE(best.cost, report.outcomes.front().cost);
    if (least < 0.0)
      continue;
    tried += !strange.empty();
    EXPECT_NEAR(best.cost, least, kRounding * (1.0 + least)) << report.proof;
  }
  EXPECT_GT(tried, 10U);
}

/// A detour that costs less than the direct change: what is there may be cheaper than any plan, and
/// then it is the best, and not called optimal.
OrderReport plan_detours(const std::vector<int>& first_layer) {
  Machine machine = test::embedded("switcher-4");
  for (const auto& [from, to, mm3] : {std::tuple{0, 1, 600.0},
                                      {1, 0, 600.0},
                                      {0, 2, 80.0},
                                      {2, 1, 80.0},
                                      {1, 2, 80.0},
                                      {2, 0, 80.0}}) {
    SwapPair pair;
    pair.from = from;
    pair.to = to;
    pair.needed_mm3 = mm3;
    machine.swap_pairs.push_back(pair);
  }
  // Tool 2 lays in the first layer, and later only feeds at rest on the way from 0 to 1.
  std::string text = plate_of({{1, first_layer}});
  const auto lay = [](int tool, int layer) {
    const std::string lines = plate_of({{layer, {tool}}});
    return lines.substr(lines.find('T'));
  };
  for (int layer = 2; layer <= 5; ++layer) {
    const bool up = layer % 2 == 0;
    text += lay(up ? 0 : 1, layer) + "T2\nG1 E8 F300\n" + lay(up ? 1 : 0, layer);
  }
  const Account account = analyze_bytes(text, machine);
  const OrderReport report = plan_order(account, machine);
  EXPECT_TRUE(report.by_need);
  const OrderOutcome& actual = report.outcomes.front();
  const OrderOutcome& best = report.outcomes.back();
  EXPECT_EQ(actual.swaps, account.totals.swaps);
  EXPECT_EQ(best.cost, actual.cost);
  EXPECT_LE(report.bound, best.cost);
  EXPECT_TRUE(report.proof.starts_with("the order as it is, through other tools")) << report.proof;
  return report;
}

// 2 to 0 in the first layer, and then twice 80 from one tool to the other in each.
TEST(OrderOnPlates, ADetourThatIsThereAndCostsLessIsKept) {
  const OrderReport report = plan_detours({2, 0});
  const double mm3_g = 1.24e-3;
  EXPECT_NEAR(report.outcomes.back().cost, (80.0 + 4 * 160.0) * mm3_g, 1e-9);
  EXPECT_NEAR(report.bound, report.outcomes.back().cost, 1e-9);
  EXPECT_TRUE(report.optimal) << report.proof;
}

// The first layer's other order saves one change of 80: the detours are cheaper than any plan
// without, and not the best there is.
TEST(OrderOnPlates, ADetourThatIsNotTheBestIsNotCalledOptimal) {
  const OrderReport report = plan_detours({0, 2});
  EXPECT_LT(report.bound, report.outcomes.back().cost * (1.0 - kRounding));
  EXPECT_NEAR(report.gap, 1.0 - report.bound / report.outcomes.back().cost, 1e-12);
  EXPECT_FALSE(report.optimal) << report.proof;
}

}  // namespace
}  // namespace platetally
