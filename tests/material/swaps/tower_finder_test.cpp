// What makes a tower of a place where tools land, one piece of evidence at a time.
#include "material/swaps/tower_finder.hpp"

#include <gtest/gtest.h>

#include "support/records.hpp"

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
  Plate& common(std::uint32_t layer) { return lay(layer, 150, 150, 20, 18, 6.0); }

  DepositLog& log() { return log_; }
  TowerFinding find() const { return find_tower(log_); }
  TowerVerdict verdict() const { return find().verdict; }

 private:
  static Machine two_tools() {
    Machine machine;
    machine.heads.resize(2);
    machine.tools.resize(2);
    machine.area = {0, 200, 0, 200, 200};
    return machine;
  }
  void feed(const motion::TimedRecord& timed, const Feed& feed, const timeline::Swap& swap = {}) {
    log_.take(timed, swap, feed);
  }

  Machine machine_;
  DepositLog log_;
  test::Point at_;
  int tool_ = -1;
};

/// Layers in which both tools come in the same order, so that none goes on into the next layer.
Plate striped(std::uint32_t layers) {
  Plate plate;
  plate.swap(0).part(1);
  for (std::uint32_t layer = 1; layer <= layers; ++layer) {
    plate.swap(1).stripe(layer).part(layer);
    plate.swap(0).stripe(layer + 1).part(layer + 1);
  }
  return plate;
}

TEST(TowerFinder, WithoutSwapsThereIsNothingToFind) {
  Plate plate;
  EXPECT_EQ(plate.swap(0).part(1).part(2).verdict(), TowerVerdict::no_swaps);
}

// Stripes of fixed colours could be a part that is printed first.
TEST(TowerFinder, LandingsAloneDecideNothing) {
  EXPECT_EQ(striped(10).verdict(), TowerVerdict::undecided);
}

TEST(TowerFinder, TwoLayersThatLeaveItAloneMakeItATower) {
  Plate plate = striped(10);
  EXPECT_EQ(plate.part(12).find().evidence.quiet, 1U);
  EXPECT_EQ(plate.verdict(), TowerVerdict::undecided);
  EXPECT_EQ(plate.part(13).find().evidence.quiet, 2U);
  EXPECT_EQ(plate.verdict(), TowerVerdict::tower);
}

TEST(TowerFinder, CellsOfSeveralToolsMakeItATower) {
  Plate plate;
  plate.swap(0).part(1);
  for (std::uint32_t layer = 1; layer <= 10; ++layer) {
    plate.swap(1).common(layer).part(layer);
    plate.swap(0).common(layer + 1).part(layer + 1);
  }
  EXPECT_EQ(plate.find().evidence.mixed, 1.0);
  EXPECT_EQ(plate.verdict(), TowerVerdict::tower);
}

// A tool that goes on into a layer in which the other one lands has nothing to do at a tower.
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
  plate.swap(1 - tool)
      .stripe(static_cast<std::uint32_t>(carried + 1))
      .part(static_cast<std::uint32_t>(carried + 1));
  return plate;
}

TEST(TowerFinder, CarriedToolsThatNeverComeBackMakeItATower) {
  const TowerFinding finding = with_carried_tools(10, 0).find();
  EXPECT_EQ(finding.evidence.carried, 10U);
  EXPECT_EQ(finding.evidence.returned, 0U);
  EXPECT_EQ(finding.verdict, TowerVerdict::tower);
}

TEST(TowerFinder, AThirdOfThemComingBackMakesItAPart) {
  EXPECT_EQ(with_carried_tools(10, 3).verdict(), TowerVerdict::undecided);
  EXPECT_EQ(with_carried_tools(10, 4).find().evidence.returned, 4U);
  EXPECT_EQ(with_carried_tools(10, 4).verdict(), TowerVerdict::none);
}

/// 25 swaps, some of which go straight to the part; then two quiet layers.
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
  return plate.part(20), plate.part(21), plate;
}

TEST(TowerFinder, NineSwapsOfTenMustLeadThere) {
  EXPECT_NEAR(with_landings(23).find().evidence.landed, 0.92, 1e-12);
  EXPECT_EQ(with_landings(23).verdict(), TowerVerdict::tower);
  EXPECT_EQ(with_landings(22).verdict(), TowerVerdict::none);
}

/// Every landing is repeated elsewhere in the same size, with so much more material.
TowerVerdict with_twins(double more) {
  Plate plate;
  plate.swap(0).part(1);
  for (std::uint32_t layer = 1; layer <= 10; ++layer)
    for (const int tool : {1, 0}) {
      const std::uint32_t here = layer + (tool == 0 ? 1 : 0);
      plate.swap(tool).stripe(here).lay(here, 20, 100 + 10 * tool, 20, 8, 6.0 * (1.0 + more));
    }
  return plate.part(20).part(21).verdict();
}

TEST(TowerFinder, CopiesOfTheLandingAreCopiesOfAPart) {
  EXPECT_EQ(with_twins(0.01), TowerVerdict::none);
  EXPECT_EQ(with_twins(0.05), TowerVerdict::tower);  // not the same: not a copy
}

TEST(TowerFinder, ASpotOfThreeMillimetresIsNoTower) {
  for (const auto& [size_mm, verdict] :
       {std::pair(3.9, TowerVerdict::none), std::pair(4.1, TowerVerdict::tower)}) {
    Plate plate;
    plate.swap(0).part(1);
    for (std::uint32_t layer = 1; layer <= 10; ++layer) {
      plate.swap(1).lay(layer, 150, 150, size_mm, size_mm, 1.0).part(layer);
      plate.swap(0).lay(layer + 1, 150, 150, size_mm, size_mm, 1.0).part(layer + 1);
    }
    EXPECT_EQ(plate.verdict(), verdict) << size_mm;
  }
}

// What lies up to 0.3 mm over the edge belongs to the tower, so a line beside it at 0.29 mm does
// and one at 0.31 does not.
TEST(TowerFinder, ATowerReachesThreeTenthsOverItsEdge) {
  for (const auto& [beside_mm, more] : {std::pair(0.29, 1U), std::pair(0.31, 0U)}) {
    Plate plate = striped(10);
    plate.part(12).part(13);
    const std::size_t before = plate.find().visits.size();
    plate.swap(1).stripe(14).part(14).lay(14, 150, 168 + beside_mm, 20, 0.0, 1.0);
    EXPECT_EQ(plate.find().visits.size() - before, 1U + more) << beside_mm;
  }
}

// A tool that goes on more than two millimetres away from where it landed lays on other things.
TEST(DepositLog, CellsAreMarkedWhileAToolStaysWhereItLanded) {
  for (const auto& [gap_mm, mixed] : {std::pair(1.5, true), std::pair(2.5, false)}) {
    Plate plate;
    plate.swap(0).lay(1, 100, 100, 10, 0.0, 1.0);
    plate.swap(1).lay(1, 150, 150, 10, 0.0, 1.0).lay(1, 160 + gap_mm, 150, 20, 0.0, 1.0);
    plate.swap(0).lay(2, 160 + gap_mm, 150, 20, 0.0, 1.0);
    Box box;
    box.include(164, 149);
    box.include(180, 151);
    EXPECT_EQ(plate.log().mixed_share(box) > 0.9, mixed) << gap_mm;
  }
}

}  // namespace
}  // namespace platetally::swaps
