// What makes a tower of a place where tools land, one piece of evidence at a time.
#include "material/swaps/tower_finder.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "material/swaps/support.hpp"

namespace platetally::swaps {
namespace {

/// A plate told visit by visit: every visit is the outline of a rectangle.
class Plate {
 public:
  Plate() : machine_(two_tools()), log_(machine_) {}

  Plate& swap(int to) {
    feed(test::select(to, tool_), {},
         {tool_ < 0 ? timeline::Selection::first : timeline::Selection::swap, tool_, to});
    tool_ = to;
    return *this;
  }
  Plate& lay(std::uint32_t layer, double x_mm, double y_mm, double wide_mm, double deep_mm,
             double e_mm) {
    const test::Point corners[] = {{x_mm, y_mm},
                                   {x_mm + wide_mm, y_mm},
                                   {x_mm + wide_mm, y_mm + deep_mm},
                                   {x_mm, y_mm + deep_mm},
                                   {x_mm, y_mm}};
    feed(test::move(at_, corners[0], 0.0, 0.1, tool_, layer),
         {});  // a travel ends the visit before
    for (int i = 1; i <= 4; ++i)
      feed(test::move(corners[i - 1], corners[i], e_mm / 4, 0.1, tool_, layer),
           {Use::part, Mark::none, e_mm / 4, 0.0});
    at_ = corners[0];
    return *this;
  }
  Plate& part(std::uint32_t layer) { return lay(layer, 20, 20, 60, 40, 30.0); }
  /// A stripe of the tower of the tool's own.
  Plate& stripe(std::uint32_t layer) { return lay(layer, 150, 150 + 10 * tool_, 20, 8, 6.0); }

  TowerFinding find() const { return find_tower(log_); }
  TowerVerdict verdict() const { return find().verdict; }

 private:
  void feed(const interpreter::Record& timed, const Feed& feed, const timeline::Swap& swap = {}) {
    log_.take(timed, swap, feed);
  }

  Machine machine_;
  DepositLog log_;
  test::Point at_;
  int tool_ = -1;
};

/// Layers in which both tools come in the same order, so that none goes on into the next layer.
/// Every so many swaps there is a layer without one.
Plate striped(std::uint32_t swaps, std::uint32_t quiet_every = 1000) {
  Plate plate;
  plate.swap(0).part(1);
  std::uint32_t layer = 1;
  for (std::uint32_t i = 1; i <= swaps; ++i) {
    plate.swap(1).stripe(layer).part(layer);
    ++layer;
    if (i % quiet_every == 0)
      plate.part(layer++);
    plate.swap(0).stripe(layer).part(layer);
  }
  return plate;
}

TEST(TowerFinder, WithoutSwapsThereIsNothingToFind) {
  Plate plate;
  EXPECT_EQ(plate.swap(0).part(1).part(2).verdict(), TowerVerdict::no_swaps);
}

TEST(TowerFinder, LandingsAreCountedAndTheirPlaceIsFound) {
  const TowerFinding finding = striped(10).find();
  EXPECT_EQ(finding.evidence.landings, 20U);
  EXPECT_EQ(finding.evidence.landed, 1.0);
  EXPECT_EQ(finding.evidence.left, 1.0);
  EXPECT_EQ(finding.evidence.quiet, 0U);
  EXPECT_EQ(finding.evidence.returns.chances, 1U);  // the first tool, in the first layer
  EXPECT_EQ(finding.evidence.twins, 0U);
}

// A part printed in every layer would be printed in these too.
TEST(TowerFinder, LayersWithoutASwapThatLeaveItAloneAreCounted) {
  const TowerFinding finding = striped(12, 4).find();
  EXPECT_EQ(finding.evidence.quiet, 3U);
  EXPECT_EQ(finding.verdict, TowerVerdict::tower);
}

/// A tool that goes on into a layer in which the other one lands: what it lays at the tower's place
/// there.
Plate with_carried_tools(int carried, int returned) {
  Plate plate;
  plate.swap(0).part(1);
  int tool = 0;
  for (int i = 0; i < carried; ++i) {
    const auto layer = static_cast<std::uint32_t>(i + 1);
    plate.swap(tool = 1 - tool).stripe(layer).part(layer);
    if (i < returned)
      plate.stripe(layer + 1);
    plate.part(layer + 1);
  }
  const auto last = static_cast<std::uint32_t>(carried + 1);
  plate.swap(1 - tool).stripe(last).part(last);
  return plate;
}

TEST(TowerFinder, ToolsThatGoOnIntoALayerStayAwayFromATower) {
  const TowerFinding finding = with_carried_tools(10, 0).find();
  // Ten, and the first tool in the first layer.
  EXPECT_EQ(finding.evidence.returns.chances, 11U);
  EXPECT_EQ(finding.evidence.returns.absent, 11U);
  EXPECT_EQ(finding.evidence.returns.alike, 0U);
  EXPECT_EQ(finding.verdict, TowerVerdict::tower);
}

TEST(TowerFinder, ToolsThatGoOnIntoALayerLayTheirShareOfAPart) {
  const TowerFinding finding = with_carried_tools(10, 8).find();
  EXPECT_EQ(finding.evidence.returns.alike, 8U);
  EXPECT_EQ(finding.evidence.returns.absent, 3U);  // and the first tool in the first layer
  EXPECT_EQ(finding.verdict, TowerVerdict::none);
}

// A third of them is the bound.
TEST(TowerFinder, AThirdOfThemComingBackSpeaksAgainstATower) {
  const auto against = [](int returned) {
    const TowerFinding finding = with_carried_tools(10, returned).find();
    return std::any_of(finding.reasons.begin(), finding.reasons.end(),
                       [](const TowerReason& reason) {
                         return reason.weight < 0.0 &&
                                reason.text.find("continued into a new layer") != std::string::npos;
                       });
  };
  EXPECT_FALSE(against(3));
  EXPECT_TRUE(against(4));
}

/// 25 swaps, some of which go straight to the part.
Plate with_landings(int landings) {
  Plate plate;
  plate.swap(0).part(1);
  for (int i = 0; i < 25; ++i) {
    const auto layer = static_cast<std::uint32_t>(i / 2 + 1 + i % 2);
    plate.swap(1 - i % 2);
    if (i < landings)
      plate.stripe(layer);
    plate.part(layer);
  }
  return plate;
}

TEST(TowerFinder, NineSwapsOfTenMustLeadThere) {
  EXPECT_NEAR(with_landings(23).find().evidence.landed, 0.92, 1e-12);
  EXPECT_FALSE(with_landings(23).find().reasons.empty());
  EXPECT_TRUE(with_landings(22).find().reasons.empty());
  EXPECT_EQ(explain(with_landings(22).find()), "after a swap, tools start in many places");
}

/// The place of the landings is there once more, with so much more material.
std::size_t twins(double more) {
  Plate plate;
  plate.swap(0).part(1);
  for (std::uint32_t layer = 1; layer <= 10; ++layer)
    for (const int tool : {1, 0}) {
      const std::uint32_t here = layer + (tool == 0 ? 1 : 0);
      plate.swap(tool).lay(here, 150, 150, 20, 8, 6.0);
      plate.lay(here, 20, 100, 20, 8, 6.0 * (1.0 + more)).part(here);
    }
  return plate.find().evidence.twins;
}

TEST(TowerFinder, CopiesOfThePlaceAreFound) {
  EXPECT_GT(twins(0.01), 0U);
  EXPECT_EQ(twins(0.06), 0U);  // not the same: not a copy
}

TEST(TowerFinder, ReasonsAreWeighedAndTheHeaviestComesFirst) {
  const TowerFinding finding = with_carried_tools(10, 8).find();
  ASSERT_FALSE(finding.reasons.empty());
  for (std::size_t i = 1; i < finding.reasons.size(); ++i)
    EXPECT_GE(std::abs(finding.reasons[i - 1].weight), std::abs(finding.reasons[i].weight));
  EXPECT_TRUE(explain(finding).starts_with("100 % of the swaps lead to one place first; "))
      << explain(finding);
}

}  // namespace
}  // namespace platetally::swaps
