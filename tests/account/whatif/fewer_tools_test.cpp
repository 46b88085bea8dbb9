// Plates with fewer tools, on visits made by hand.
#include "account/whatif/fewer_tools.hpp"

#include <gtest/gtest.h>

#include <tuple>

#include <algorithm>
#include <random>

#include "platetally/account.hpp"

namespace platetally::whatif {
namespace {

using Pairs = std::vector<std::pair<int, int>>;

Account plate(const std::vector<double>& part_g, const std::vector<std::vector<int>>& orders) {
  Account account;
  for (std::size_t tool = 0; tool < part_g.size(); ++tool) {
    account.tools.emplace_back();
    account.tools.back().tool = static_cast<int>(tool);
    account.tools.back().part_g = part_g[tool];
  }
  for (const std::vector<int>& order : orders)
    account.visits.push_back({account.visits.size() + 1, order});
  return account;
}

TEST(FewerTools, APlateThatFitsStaysAsItIs) {
  const FewerTools variant = with_fewer_tools(plate({5, 4, 3}, {{0, 1}, {1, 2}}), 3);
  EXPECT_TRUE(variant.merged.empty());
  EXPECT_TRUE(variant.numbered.empty());
  EXPECT_EQ(variant.swaps, 2U);
  EXPECT_EQ(say_fewer_tools(plate({5, 4, 3}, {{0, 1}, {1, 2}}), 3), "");
}

// Tool 2 lays least. By tool 1, which follows it in both layers, one swap a layer is left, and one
// between the layers; by tool 0, two a layer less one between would be: 0 1 | 0 1 either way
// within, so see the numbers.
TEST(FewerTools, TheOneThatLaysLeastGoesToWhereFewestSwapsAreLeft) {
  // By 1: 0 1 | 1 0: two swaps. By 0: 0 1 | 0 1 0 -> 0 1: three.
  const FewerTools variant = with_fewer_tools(plate({5, 4, 1}, {{0, 1}, {2, 1, 0}}), 2);
  EXPECT_EQ(variant.merged, (Pairs{{2, 1}}));
  EXPECT_EQ(variant.merged_g, 1.0);
  EXPECT_EQ(variant.swaps, 2U);
}

// A tool that took over another one's material and is given up in turn takes both along.
TEST(FewerTools, WhatWasTakenOverGoesOn) {
  const FewerTools variant = with_fewer_tools(plate({9, 1, 2, 8}, {{1, 2}, {0, 3}, {2, 1}}), 2);
  ASSERT_EQ(variant.merged.size(), 2U);
  EXPECT_EQ(variant.merged_g, 3.0);
  for (const auto& [from, to] : variant.merged)
    EXPECT_TRUE(to == 0 || to == 3) << from << " by " << to;
}

TEST(FewerTools, NumbersBeyondTheMachineBecomeTheLowestFreeOnes) {
  // Tools 1 and 4 are used; two are allowed, so 4 becomes 0.
  const Account account = plate({0, 5, 0, 0, 4}, {{1, 4}, {4, 1}});
  const FewerTools variant = with_fewer_tools(account, 2);
  EXPECT_TRUE(variant.merged.empty());
  EXPECT_EQ(variant.numbered, (Pairs{{4, 0}}));
  EXPECT_EQ(variant.swaps, 2U);
  EXPECT_EQ(say_fewer_tools(account, 2), "T4 becomes T0; 2 swaps are left");
}

TEST(FewerTools, SaysWhatIsMergedAndHowMuch) {
  EXPECT_EQ(say_fewer_tools(plate({5, 0.5}, {{0, 1}, {1, 0}}), 1),
            "what T1 lays is laid by T0 (0.50 g change their colour); 0 swaps are left");
}

TEST(FewerTools, WithoutVisitsThePairsAreCounted) {
  Account account = plate({5, 4, 1}, {});
  for (const auto& [from, to, count] : {std::tuple{0, 1, 10U}, {1, 2, 7U}, {2, 0, 3U}}) {
    SwapPairAccount pair;
    pair.from = from;
    pair.to = to;
    pair.count = count;
    account.swap_pairs.push_back(pair);
  }
  const FewerTools variant = with_fewer_tools(account, 2);
  EXPECT_EQ(variant.merged, (Pairs{{2, 1}}));  // 13 are left, by tool 0 it would be 17
  EXPECT_EQ(variant.swaps, 13U);
}

// Against counting, swap by swap, what one tool given up to another leaves.
TEST(FewerTools, OneToolLessIsTheBestOfAllItsHeirs) {
  std::mt19937 random(21);
  for (int round = 0; round < 200; ++round) {
    std::vector<std::vector<int>> orders(12);
    for (std::vector<int>& order : orders) {
      order = {0, 1, 2, 3};
      std::shuffle(order.begin(), order.end(), random);
      order.resize(1 + random() % 4);
    }
    const Account account = plate({9, 8, 7, 1}, orders);
    std::uint64_t least = ~std::uint64_t{0};
    for (int heir = 0; heir < 3; ++heir) {
      std::vector<int> sequence;
      for (const std::vector<int>& order : orders) {
        std::vector<int> layer;
        for (const int tool : order)
          if (const int now = tool == 3 ? heir : tool; std::ranges::find(layer, now) == layer.end())
            layer.push_back(now);
        sequence.insert(sequence.end(), layer.begin(), layer.end());
      }
      std::uint64_t swaps = 0;
      for (std::size_t i = 1; i < sequence.size(); ++i)
        swaps += sequence[i] != sequence[i - 1];
      least = std::min(least, swaps);
    }
    EXPECT_EQ(with_fewer_tools(account, 3).swaps, least) << "round " << round;
  }
}

}  // namespace
}  // namespace platetally::whatif
