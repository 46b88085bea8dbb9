// Which visits of layers may be planned anew: against a slow definition of what is revisited, and
// laws that hold for any plate.
#include "account/findings/order_layers.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <set>

#include "support/chance.hpp"

namespace platetally {
namespace {

Account visiting(const std::vector<std::pair<std::uint64_t, std::vector<int>>>& visits) {
  Account account;
  for (const auto& [layer, order] : visits)
    account.visits.push_back({layer, order});
  return account;
}

TEST(OrderLayers, EveryLayerThatIsVisitedOnceIsPlanned) {
  const OrderLayers planned = order_layers(visiting({{1, {0, 1}}, {2, {1, 0}}, {3, {2}}}), 3);
  EXPECT_EQ(planned.layers, (ordering::Orders{{0, 1}, {1, 0}, {2}}));
  EXPECT_EQ(planned.visit_of, (std::vector<std::size_t>{0, 1, 2}));
  EXPECT_EQ(planned.visits, 3U);
  EXPECT_EQ(planned.left_out, 0U);
  EXPECT_FALSE(planned.by_height);
}

TEST(OrderLayers, ALayerToWhichThePlateComesBackKeepsItsOrder) {
  const OrderLayers planned =
      order_layers(visiting({{1, {0, 1}}, {2, {0, 1}}, {3, {1}}, {2, {0}}, {4, {1, 0}}}), 2);
  // Both visits of layer 2 are single tools in their order.
  EXPECT_EQ(planned.layers, (ordering::Orders{{0, 1}, {0}, {1}, {1}, {0}, {1, 0}}));
  EXPECT_EQ(planned.visit_of, (std::vector<std::size_t>{0, 1, 1, 2, 3, 4}));
  EXPECT_EQ(planned.left_out, 1U);
}

TEST(OrderLayers, AToolThatLaysTwiceInAVisitKeepsItsOrder) {
  const OrderLayers planned = order_layers(visiting({{1, {0, 1, 0}}, {2, {0, 1}}}), 2);
  EXPECT_EQ(planned.layers, (ordering::Orders{{0}, {1}, {0}, {0, 1}}));
  EXPECT_EQ(planned.left_out, 1U);
}

// One after the other, each from the bottom: their layers are layers of their own.
TEST(OrderLayers, ObjectsPrintedOneAfterTheOtherAreAllPlanned) {
  const OrderLayers planned = order_layers(
      visiting({{1, {0, 1}}, {2, {1, 0}}, {3, {0, 1}}, {1, {1, 0}}, {2, {0, 1}}, {3, {1, 0}}}), 2);
  EXPECT_EQ(planned.left_out, 0U);
  EXPECT_EQ(planned.layers.size(), 6U);
}

TEST(OrderLayers, ToolsThatTheMachineLacksArePassedOver) {
  const OrderLayers planned = order_layers(visiting({{1, {0, 5, 1, -1}}}), 2);
  EXPECT_EQ(planned.layers, (ordering::Orders{{0, 1}}));
}

TEST(OrderLayers, WithoutVisitsLayersAreTakenByHeight) {
  Account account;
  account.layers.resize(4);
  account.layers[1].order = {0, 1};
  account.layers[3].order = {2};
  const OrderLayers planned = order_layers(account, 3);
  EXPECT_TRUE(planned.by_height);
  EXPECT_EQ(planned.layers, (ordering::Orders{{0, 1}, {2}}));
  EXPECT_EQ(planned.visits, 2U);
  EXPECT_EQ(planned.left_out, 1U) << "of one with a single tool nothing is left out";
}

TEST(OrderLayers, OfAnEmptyPlateThereIsNothing) {
  const OrderLayers planned = order_layers(Account(), 4);
  EXPECT_TRUE(planned.layers.empty());
  EXPECT_EQ(planned.visits, 0U);
  EXPECT_TRUE(by_visit(planned, {}).empty());
}

class OfAnyPlate : public testing::TestWithParam<unsigned> {
 protected:
  Account any() {
    test::Random random(GetParam());
    Account account;
    std::uint64_t layer = 1;
    for (int i = 0; i < 30; ++i) {
      std::vector<int> order;
      for (int k = random.whole(1, 4); k > 0; --k)
        order.push_back(random.whole(0, 3));
      account.visits.push_back({layer, order});
      layer = random.one_in(5)   ? std::uint64_t{1}
              : random.one_in(4) ? 1 + random.below(layer)
                                 : layer + 1;
    }
    return account;
  }
};

// Played back as it is, a plate is what it was.
TEST_P(OfAnyPlate, OrdersByVisitAreThoseOfThePlate) {
  const Account account = any();
  const OrderLayers planned = order_layers(account, 4);
  const ordering::Orders back = by_visit(planned, planned.layers);
  ASSERT_EQ(back.size(), account.visits.size());
  for (std::size_t i = 0; i < back.size(); ++i)
    EXPECT_EQ(back[i], account.visits[i].order);
}

// The definition once more, slowly: within a climb from the bottom a layer is revisited if any of
// its visits there but the first does not go higher than all before it.
TEST_P(OfAnyPlate, LayersAreLeftOutAsTheDefinitionSays) {
  const Account account = any();
  std::uint64_t lowest = account.visits.front().layer;
  for (const LayerVisit& visit : account.visits)
    lowest = std::min(lowest, visit.layer);
  const OrderLayers planned = order_layers(account, 4);
  std::set<std::uint64_t> left_out;
  for (std::size_t i = 0; i < account.visits.size(); ++i) {
    std::size_t from = i;
    while (from > 0 && account.visits[from].layer != lowest)
      --from;
    std::size_t to = i + 1;
    while (to < account.visits.size() && account.visits[to].layer != lowest)
      ++to;
    bool revisited = false;
    for (std::size_t k = from + 1; k < to; ++k) {
      const bool is_new_height =
          std::all_of(account.visits.begin() + static_cast<std::ptrdiff_t>(from),
                      account.visits.begin() + static_cast<std::ptrdiff_t>(k),
                      [&](const LayerVisit& one) { return one.layer < account.visits[k].layer; });
      revisited =
          revisited || (!is_new_height && account.visits[k].layer == account.visits[i].layer);
    }
    const std::vector<int>& order = account.visits[i].order;
    const bool repeats = std::set<int>(order.begin(), order.end()).size() < order.size();
    ordering::Orders wanted{order};
    if (revisited || repeats) {
      left_out.insert(account.visits[i].layer);
      wanted.clear();
      for (const int tool : order)
        wanted.push_back({tool});
    }
    ordering::Orders pieces;
    for (std::size_t k = 0; k < planned.layers.size(); ++k)
      if (planned.visit_of[k] == i)
        pieces.push_back(planned.layers[k]);
    EXPECT_EQ(pieces, wanted) << "visit " << i;
  }
  EXPECT_EQ(planned.left_out, left_out.size());
}

INSTANTIATE_TEST_SUITE_P(Seeds, OfAnyPlate, testing::Range(0U, 20U));

}  // namespace
}  // namespace platetally
