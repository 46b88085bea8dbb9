// The log of what tools lay on plates of thousands of layers: it stays within its bounds, keeps
// what may be a tower, and says what it could not keep.
#include "material/swaps/deposit_log.hpp"

#include <gtest/gtest.h>

#include <random>

#include "material/swaps/support.hpp"
#include "material/swaps/tower_finder.hpp"

namespace platetally::swaps {
namespace {

constexpr std::size_t kMostVisits = 100'000;
constexpr double kTowerMm = 6.0;  // of filament at a landing
constexpr double kIslandMm = 1.0;

/// A tall plate told to a log: islands in a square, and a tower beside them.
class TallPlate {
 public:
  TallPlate() : log_(machine_) {}

  void select(int to) {
    log_.take(test::select(to, tool_),
              {tool_ < 0 ? timeline::Selection::first : timeline::Selection::swap, tool_, to}, {});
    tool_ = to;
  }
  /// From a place to one 5 mm to the right, over and back, which ends the visit before.
  void lay(std::uint32_t layer, double x_mm, double y_mm, double e_mm) {
    const double z_mm = 0.2 * layer;
    const test::Point from{x_mm, y_mm, z_mm};
    const test::Point to{x_mm + 5.0, y_mm, z_mm};
    log_.take(test::move(at_, from, 0.0, 0.1, tool_, layer), {}, {});
    log_.take(test::move(from, to, e_mm, 0.1, tool_, layer), {},
              {Use::part, Mark::none, e_mm, 0.0});
    at_ = to;
    laid_mm_ += e_mm;
  }
  void tower(std::uint32_t layer) {
    lay(layer, 180.0, 180.0 + tool_, kTowerMm);
    tower_mm_ += kTowerMm;
  }
  /// Islands `first` to `last` - 1 of those in rows of 15.
  void islands(std::uint32_t layer, int first, int last) {
    for (int i = first; i < last; ++i)
      lay(layer, 5.0 + 11.0 * (i % 15), 5.0 + 11.0 * (i / 15), kIslandMm);
  }
  int tool() const { return tool_; }
  const DepositLog& log() const { return log_; }
  double tower_mm() const { return tower_mm_; }
  double laid_mm() const { return laid_mm_; }

 private:
  Machine machine_ = two_tools();
  DepositLog log_;
  test::Point at_{};
  int tool_ = -1;
  double tower_mm_ = 0.0;
  double laid_mm_ = 0.0;
};

double found_mm(const DepositLog& log, const TowerFinding& finding) {
  double mm = 0.0;
  for (const std::size_t visit : finding.visits)
    mm += log.visits()[visit].part_mm;
  return mm;
}

// 675,000 visits to islands, and 3,000 to the tower: nothing of the tower is lost.
TEST(DepositLog, ThreeThousandLayersOfManyIslandsKeepTheTower) {
  TallPlate plate;
  plate.select(0);
  for (std::uint32_t layer = 1; layer <= 3000; ++layer) {
    plate.islands(layer, 0, 112);
    plate.select(1 - plate.tool());
    plate.tower(layer);
    plate.islands(layer, 112, 225);
  }
  EXPECT_LE(plate.log().visits().size(), kMostVisits);
  EXPECT_EQ(plate.log().dropped_mm(), 0.0);
  EXPECT_TRUE(plate.log().dropped_before_swaps().empty());
  const TowerFinding finding = find_tower(plate.log());
  EXPECT_EQ(finding.verdict, TowerVerdict::tower) << explain(finding);
  EXPECT_EQ(finding.evidence.landings, 3000U);
  EXPECT_EQ(finding.dropped_mm, 0.0);
  EXPECT_NEAR(found_mm(plate.log(), finding), plate.tower_mm(), 1e-6);
}

// 60,000 landings and as many visits elsewhere behind them cannot all be kept.
TEST(DepositLog, MoreLandingsThanItKeepsAreSaidAndCounted) {
  TallPlate plate;
  plate.select(0);
  for (std::uint32_t layer = 1; layer <= 3000; ++layer) {
    plate.islands(layer, 0, 2);
    for (int swap = 0; swap < 20; ++swap) {
      plate.select(1 - plate.tool());
      plate.tower(layer);
      plate.islands(layer, swap % 2, 1 + swap % 2);
    }
  }
  EXPECT_LE(plate.log().visits().size(), kMostVisits);
  const TowerFinding finding = find_tower(plate.log());
  EXPECT_EQ(finding.verdict, TowerVerdict::tower) << explain(finding);
  const double found = found_mm(plate.log(), finding);
  EXPECT_LT(found, 0.9 * plate.tower_mm());
  EXPECT_GT(found, 0.2 * plate.tower_mm());
  // Only what was laid there is dropped with doubt.
  EXPECT_NEAR(found + finding.dropped_mm, plate.tower_mm(), 1e-6);
  EXPECT_NE(explain(finding).find("could not be kept"), std::string::npos) << explain(finding);
  // No segment lost its landing to the cut.
  EXPECT_EQ(finding.evidence.landed, 1.0);
}

TEST(DepositLog, MoreSwapsThanItKeepsAreCountedOnTheirSegments) {
  TallPlate plate;
  plate.select(0);
  plate.islands(1, 0, 2);
  constexpr std::uint32_t kSwaps = 450'000;
  for (std::uint32_t swap = 1; swap <= kSwaps; ++swap) {
    plate.select(1 - plate.tool());
    if (swap % 10 == 0)  // the others lay nothing
      plate.tower(1 + swap / 200);
  }
  plate.islands(3000, 0, 1);
  EXPECT_LE(plate.log().segments().size(), 200'001U);
  ASSERT_FALSE(plate.log().visits().empty());
  for (const Visit& visit : plate.log().visits()) {
    ASSERT_LT(visit.segment, plate.log().segments().size());
    ASSERT_EQ(plate.log().segments()[visit.segment].to, visit.tool);
  }
  EXPECT_EQ(plate.log().swaps_before(plate.log().visits().back()), kSwaps);
  double kept = 0.0;
  for (const Visit& visit : plate.log().visits())
    kept += visit.part_mm;
  double early = 0.0;
  for (const DroppedDeposit& deposit : plate.log().dropped_before_swaps())
    early += deposit.mm;
  EXPECT_NEAR(kept + plate.log().dropped_mm() + early, plate.laid_mm(), 1e-6);
}

/// A plate of one colour for nearly all its height: what cannot be kept of it is no doubt, unless
/// it lies where the tower stands later.
TowerFinding late_swaps(bool wall, double& wall_mm) {
  TallPlate plate;
  plate.select(0);
  for (std::uint32_t layer = 1; layer <= 1000; ++layer) {
    plate.islands(layer, 0, 225);
    if (wall)
      plate.tower(layer);
  }
  wall_mm = plate.tower_mm();
  EXPECT_FALSE(plate.log().dropped_before_swaps().empty());
  for (std::uint32_t layer = 1001; layer <= 1020; ++layer) {
    plate.select(1 - plate.tool());
    plate.tower(layer);
    plate.islands(layer, 0, 225);
  }
  return find_tower(plate.log());
}

TEST(DepositLog, WhatIsDroppedBeforeTheSwapsIsDoubtWhereTheTowerStandsOnly) {
  double wall_mm = 0.0;
  EXPECT_EQ(late_swaps(false, wall_mm).dropped_mm, 0.0);
  const TowerFinding walled = late_swaps(true, wall_mm);
  ASSERT_FALSE(walled.places.empty()) << explain(walled);
  EXPECT_GT(walled.dropped_mm, 0.3 * wall_mm);
  EXPECT_LE(walled.dropped_mm, wall_mm);
}

/// A run of strokes of one visit, in columns.
struct StrokesOfAVisit {
  interpreter::Run head;
  std::vector<double> x_mm, y_mm, z_mm, e_mm, feed_mm_s, motion_s;

  void add(double to_x_mm, double to_y_mm, double fed_mm) {
    x_mm.push_back(to_x_mm);
    y_mm.push_back(to_y_mm);
    z_mm.push_back(head.from_mm[2]);
    e_mm.push_back(fed_mm);
    feed_mm_s.push_back(50.0);
    motion_s.push_back(0.1);
  }
  interpreter::Rows rows() const {
    return {head,        x_mm.size(), x_mm.data(),      y_mm.data(),
            z_mm.data(), e_mm.data(), feed_mm_s.data(), motion_s.data()};
  }
  interpreter::Record record(std::size_t i) const { return rows().record(i); }
};

/// Tells a log a run, stroke by stroke or the first one alone and the others at once, in two parts.
void tell(DepositLog& log, const StrokesOfAVisit& run, bool at_once) {
  const std::size_t size = run.x_mm.size();
  const std::size_t single = at_once ? 1 : size;
  for (std::size_t i = 0; i < single; ++i)
    log.take(run.record(i), {}, {Use::part, Mark::none, run.e_mm[i], 0.0});
  if (single == size)
    return;
  ASSERT_TRUE(log.is_plain());
  const std::size_t half = single + (size - single) / 2;
  log.draw(run.rows(), single, half);
  log.draw(run.rows(), half, size);
  Box box;
  double part_mm = 0.0;
  double print_s = 0.0;
  for (std::size_t i = single; i < size; ++i) {
    box.include(run.x_mm[i], run.y_mm[i]);
    part_mm += run.e_mm[i];
    print_s += 0.1;
  }
  log.add_strokes(box, part_mm, print_s, run.x_mm.back(), run.y_mm.back());
}

void expect_same(const Visit& a, const Visit& b) {
  EXPECT_EQ(a.layer, b.layer);
  EXPECT_EQ(a.segment, b.segment);
  EXPECT_EQ(a.tool, b.tool);
  EXPECT_EQ(a.rank, b.rank);
  EXPECT_EQ(a.leads, b.leads);
  EXPECT_EQ(a.closed, b.closed);
  EXPECT_EQ(a.box.x_min_mm, b.box.x_min_mm);
  EXPECT_EQ(a.box.x_max_mm, b.box.x_max_mm);
  EXPECT_EQ(a.box.y_min_mm, b.box.y_min_mm);
  EXPECT_EQ(a.box.y_max_mm, b.box.y_max_mm);
  EXPECT_EQ(a.relaid.same, b.relaid.same);
  EXPECT_EQ(a.relaid.changed, b.relaid.changed);
  EXPECT_EQ(a.relaid.changed_in_order, b.relaid.changed_in_order);
  EXPECT_EQ(a.relaid.same_on_carried, b.relaid.same_on_carried);
  EXPECT_EQ(a.relaid.changed_on_carried, b.relaid.changed_on_carried);
  EXPECT_NEAR(a.part_mm, b.part_mm, 1e-9);
  EXPECT_NEAR(a.print_s, b.print_s, 1e-9);
}

// Strokes come one by one, or in runs that share their tool and layer. What is kept, and what is
// found, must not depend on it.
TEST(DepositLog, StrokesAtOnceLeaveWhatStrokesOneByOneLeave) {
  std::mt19937 random(24);
  const auto below = [&random](unsigned bound) { return static_cast<double>(random() % bound); };
  const Machine machine = two_tools();
  for (int plate = 0; plate < 20; ++plate) {
    SCOPED_TRACE(plate);
    DepositLog one_by_one(machine);
    DepositLog at_once(machine);
    int tool = 0;
    for (std::uint32_t layer = 1; layer <= 12; ++layer)
      for (int visit = 0; visit < 6; ++visit) {
        const bool swaps = visit == 2 && random() % 4 != 0;
        for (DepositLog* log : {&one_by_one, &at_once})
          if (swaps)
            log->take(test::select(1 - tool, tool), {timeline::Selection::swap, tool, 1 - tool},
                      {});
        tool = swaps ? 1 - tool : tool;
        StrokesOfAVisit run;
        run.head.layer = layer;
        run.head.tool = static_cast<std::int16_t>(tool);
        run.head.kind = interpreter::RunKind::stroke;
        run.head.from_mm = {swaps ? 150.0 : 20.0 + 30.0 * visit, swaps ? 150.0 : 20.0 + below(3),
                            0.2 * layer};
        const auto& [from_x_mm, from_y_mm, z_mm] = run.head.from_mm;
        for (std::size_t size = 2 + random() % 7; size > 0; --size) {
          const double x_mm = from_x_mm + 0.05 * static_cast<double>(size) + below(12);
          const double y_mm = from_y_mm + below(12);
          run.add(x_mm, y_mm, 0.1 + 0.01 * below(40));
        }
        if (random() % 2 == 0) {  // a wall
          run.x_mm.back() = from_x_mm;
          run.y_mm.back() = from_y_mm;
        }
        const auto travel = test::move({}, {from_x_mm, from_y_mm, z_mm}, 0.0, 0.1, tool, layer);
        one_by_one.take(travel, {}, {});
        at_once.take(travel, {}, {});
        tell(one_by_one, run, false);
        tell(at_once, run, true);
      }
    ASSERT_EQ(one_by_one.visits().size(), at_once.visits().size());
    for (std::size_t i = 0; i < at_once.visits().size(); ++i)
      expect_same(one_by_one.visits()[i], at_once.visits()[i]);
    const TowerFinding expected = find_tower(one_by_one);
    const TowerFinding found = find_tower(at_once);
    EXPECT_EQ(found.verdict, expected.verdict);
    EXPECT_EQ(found.visits, expected.visits);
    EXPECT_EQ(explain(found), explain(expected));
  }
}

}  // namespace
}  // namespace platetally::swaps
