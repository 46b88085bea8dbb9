// Parts of the interpreter that no word names: towers that run ahead, climbs, conditions in
// conditions, what the bead says of E.
#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <numbers>
#include <random>
#include <tuple>
#include <vector>

#include "reading/interpreter/climb.hpp"
#include "reading/interpreter/conditions.hpp"
#include "reading/interpreter/distance_words_evidence.hpp"
#include "reading/interpreter/extrusion_evidence.hpp"
#include "reading/interpreter/set_points.hpp"
#include "reading/interpreter/tall_prime_tower.hpp"

namespace platetally::interpreter {
namespace {

using Point = std::array<double, 3>;

/// A tower from 100 to 120 mm in both directions, seen so many times 2 mm above a part.
TallPrimeTower seen_times(int times) {
  TallPrimeTower tower;
  std::uint32_t layer = 1;
  for (int i = 0; i < times; ++i) {
    const double part_mm = 0.2 * (i + 1);
    tower.lay({10, 10, part_mm}, {50, 10, part_mm}, layer, part_mm);
    tower.swap();
    tower.lay({100, 100, part_mm + 2}, {120, 120, part_mm + 2}, layer + 1, part_mm + 2);
    tower.lay({10, 10, part_mm}, {50, 10, part_mm}, layer, part_mm);
    layer += 2;
  }
  return tower;
}

TEST(TallPrimeTower, IsBelievedAtTheSecondVisit) {
  const Point from{101, 101, 3}, to{119, 119, 3};
  EXPECT_FALSE(seen_times(0).holds(from, to, 0.4));
  EXPECT_FALSE(seen_times(1).holds(from, to, 0.4));
  EXPECT_TRUE(seen_times(2).holds(from, to, 0.4));
  EXPECT_TRUE(seen_times(5).holds(from, to, 0.4));
  EXPECT_FALSE(seen_times(5).holds(from, to, 3.0)) << "at the part's height it is no tower ahead";
}

TEST(TallPrimeTower, ReachesAMillimetreBeyondWhatWasSeen) {
  const TallPrimeTower tower = seen_times(3);
  for (const double beyond_mm : {0.0, 0.5, 1.0}) {
    EXPECT_TRUE(tower.holds({100 - beyond_mm, 110, 3}, {120 + beyond_mm, 110, 3}, 0.4))
        << beyond_mm;
    EXPECT_TRUE(tower.holds({110, 100 - beyond_mm, 3}, {110, 120 + beyond_mm, 3}, 0.4))
        << beyond_mm;
  }
  for (const double beyond_mm : {1.001, 1.5, 2.0, 10.0}) {
    EXPECT_FALSE(tower.holds({100 - beyond_mm, 110, 3}, {110, 110, 3}, 0.4)) << beyond_mm;
    EXPECT_FALSE(tower.holds({110, 110, 3}, {120 + beyond_mm, 110, 3}, 0.4)) << beyond_mm;
    EXPECT_FALSE(tower.holds({110, 100 - beyond_mm, 3}, {110, 110, 3}, 0.4)) << beyond_mm;
    EXPECT_FALSE(tower.holds({110, 110, 3}, {110, 120 + beyond_mm, 3}, 0.4)) << beyond_mm;
  }
}

TEST(TallPrimeTower, BoxesMeetWithinAMillimetre) {
  TallPrimeTower::Box box, other;
  box.include(10, 10);
  box.include(20, 20);
  for (const auto& [x_mm, y_mm, meets] : {std::tuple{21.0, 15.0, true},
                                          {21.001, 15.0, false},
                                          {15.0, 8.9, false},
                                          {15.0, 9.0, true},
                                          {9.0, 21.0, true},
                                          {15.0, 15.0, true}}) {
    other = {};
    other.include(x_mm, y_mm);
    EXPECT_EQ(box.meets(other), meets) << x_mm << ' ' << y_mm;
    EXPECT_EQ(other.meets(box), meets) << x_mm << ' ' << y_mm;
    EXPECT_EQ(box.holds({x_mm, y_mm, 0.0}), meets);
  }
}

TEST(TallPrimeTower, IsNoneWithoutASwapOrWithoutAReturn) {
  TallPrimeTower tower;
  for (int i = 0; i < 6; ++i) {  // the plate climbs there by itself: a part of another height
    const double part_mm = 0.2 * (i + 1);
    tower.lay({10, 10, part_mm}, {50, 10, part_mm}, 1, part_mm);
    tower.lay({100, 100, part_mm + 2}, {120, 120, part_mm + 2}, 2, part_mm + 2);
  }
  EXPECT_FALSE(tower.holds({110, 110, 9}, {111, 111, 9}, 0.4));
  TallPrimeTower climbing;
  for (std::uint32_t layer = 1; layer < 10; ++layer) {  // swaps at every layer, never back down
    climbing.swap();
    climbing.lay({100, 100, 0.2 * layer}, {120, 120, 0.2 * layer}, layer, 0.2 * layer);
  }
  EXPECT_FALSE(climbing.holds({110, 110, 9}, {111, 111, 9}, 0.4));
}

/// A spiral of so many corners a turn.
double pitch_of(int corners, double pitch_mm, double turns, bool clockwise, bool rounded) {
  Climb climb;
  const auto point = [&](int i) {
    const double angle = 2.0 * std::numbers::pi * i / corners * (clockwise ? -1.0 : 1.0);
    double z_mm = 0.2 + pitch_mm * i / corners;
    if (rounded)
      z_mm = std::round(100.0 * z_mm) / 100.0;
    return Point{50 + 20 * std::cos(angle), 60 + 30 * std::sin(angle), z_mm};
  };
  climb.begin(point(0), true);
  const int count = static_cast<int>(turns * corners);
  for (int i = 0; i < count; ++i)
    climb.go(point(i), point(i + 1));
  return climb.pitch_mm();
}

TEST(Climb, AnyClosedOutlineHasThePitchOfItsSpiral) {
  for (const int corners : {3, 4, 5, 8, 60, 400})
    for (const double pitch_mm : {0.1, 0.2, 0.35, 1.0})
      for (const bool clockwise : {false, true}) {
        EXPECT_NEAR(pitch_of(corners, pitch_mm, 4.0, clockwise, false), pitch_mm, 1e-9)
            << corners << ' ' << pitch_mm;
        // Rounded to two decimals, over two turns or three: half a step at either end.
        EXPECT_NEAR(pitch_of(corners, pitch_mm, 4.0, clockwise, true), pitch_mm, 0.01);
      }
}

TEST(Climb, IsNoSpiralBeforeItHasGoneRoundNorBeyondWhatLayersAre) {
  EXPECT_EQ(pitch_of(40, 0.2, 0.9, false, false), 0.0);
  EXPECT_EQ(pitch_of(40, 0.03, 5.0, false, false), 0.0);
  EXPECT_EQ(pitch_of(40, 2.5, 5.0, false, false), 0.0);
  Climb falling;
  falling.begin({0, 0, 1}, false);
  for (int i = 0; i < 80; ++i) {
    const auto at = [](int k) {
      return Point{std::cos(0.157 * k), std::sin(0.157 * k), 5.0 - 0.01 * k};
    };
    falling.go(at(i), at(i + 1));
  }
  EXPECT_EQ(falling.pitch_mm(), 0.0);
}

TEST(Climb, GoesFlatWhereItStaysLevel) {
  Climb climb;
  climb.begin({0, 0, 0.2}, false);
  climb.go({0, 0, 0.2}, {10, 0, 0.4});
  EXPECT_TRUE(climb.is_on());
  EXPECT_FALSE(climb.is_flat());
  climb.go({10, 0, 0.4}, {12, 0, 0.4});
  EXPECT_FALSE(climb.is_flat()) << "a file rounds heights";
  climb.go({12, 0, 0.4}, {30, 0, 0.4});
  EXPECT_TRUE(climb.is_flat());
  climb.go({30, 0, 0.4}, {40, 0, 0.6});
  EXPECT_FALSE(climb.is_flat()) << "it climbs again";
  climb.end();
  EXPECT_FALSE(climb.is_on());
}

/// What runs, worked out from the list of branches around it.
TEST(Conditions, AnyNestingRunsWhereEveryBranchAroundItDoes) {
  std::mt19937 random(101);
  for (int round = 0; round < 200; ++round) {
    Conditions conditions;
    struct Branch {
      bool take_first, in_first;
    };
    std::vector<Branch> branches;
    for (int step = 0; step < 100; ++step) {
      switch (random() % 3) {
        case 0: {
          const bool take_first = random() % 2 == 0;
          if (branches.size() < 60) {
            conditions.begin(take_first);
            branches.push_back({take_first, true});
          }
          break;
        }
        case 1:
          EXPECT_EQ(conditions.turn_to_other(), !branches.empty());
          if (!branches.empty())
            branches.back().in_first = false;
          break;
        default:
          EXPECT_EQ(conditions.end(), !branches.empty());
          if (!branches.empty())
            branches.pop_back();
      }
      bool runs = true;
      for (const Branch& branch : branches)
        runs = runs && branch.take_first == branch.in_first;
      ASSERT_EQ(conditions.skip(), !runs);
      ASSERT_EQ(conditions.open(), branches.size());
    }
  }
}

gcode::Command stroke(double x_mm, double e) {
  gcode::Command command;
  command.kind = gcode::CommandKind::lettered;
  command.letter = 'G';
  command.number = 1;
  command.words.set('X', x_mm);
  command.words.set('E', e);
  return command;
}

/// Strokes of an even bead, told either way, with a slight spread.
ExtrusionEvidence::Verdict verdict_of(unsigned seed, std::size_t moves, bool relative,
                                      double spread) {
  std::mt19937 random(seed);
  std::uniform_real_distribution<double> any(1.0, 40.0), bead(1.0 - spread, 1.0 + spread);
  ExtrusionEvidence evidence;
  double e_mm = 0.0, x_mm = 0.0;
  bool right = true;
  evidence.take(stroke(0.0, 0.0));
  gcode::Command y = stroke(0.0, 0.0);
  y.words.set('Y', 0.0);
  evidence.take(y);
  for (std::size_t i = 0; i < moves; ++i) {
    const double length_mm = any(random);
    x_mm += right ? length_mm : -length_mm;
    right = !right;
    const double fed_mm = 0.033 * bead(random) * length_mm;
    e_mm = relative ? fed_mm : e_mm + fed_mm;
    gcode::Command command = stroke(x_mm, e_mm);
    command.words.set('Y', 0.0);
    evidence.take(command);
  }
  EXPECT_EQ(evidence.is_enough(), evidence.moves() >= ExtrusionEvidence::kEnoughMoves);
  return evidence.verdict();
}

TEST(ExtrusionEvidence, TheBeadTellsHowEIsWritten) {
  for (unsigned seed = 1; seed <= 20; ++seed)
    for (const bool relative : {false, true})
      for (const std::size_t moves : {std::size_t{20}, std::size_t{300}}) {
        const auto verdict = verdict_of(seed, moves, relative, 0.1);
        EXPECT_FALSE(verdict.by_default) << seed;
        EXPECT_EQ(verdict.relative, relative) << seed;
        EXPECT_EQ(verdict.relative_score < verdict.absolute_score, relative);
      }
}

TEST(ExtrusionEvidence, TooFewMovesSayNothing) {
  for (const bool relative : {false, true}) {
    const auto verdict = verdict_of(3, 5, relative, 0.0);
    EXPECT_TRUE(verdict.by_default);
    EXPECT_FALSE(verdict.relative) << "the state at power-on";
  }
}

gcode::Command lettered(char letter, int number) {
  gcode::Command command;
  command.kind = gcode::CommandKind::lettered;
  command.letter = letter;
  command.number = number;
  return command;
}

TEST(DistanceWordsEvidence, ARetractionMovesLittleInTheRightReading) {
  for (const bool relative : {false, true}) {
    DistanceWordsEvidence evidence(3786.0, 1.0, false);
    evidence.take(lettered('G', 91));
    // Two millimetres are drawn back and returned, written either way.
    const double words[] = {-2.0, 2.0};
    double register_mm = 3786.0;
    for (const double word : words) {
      gcode::Command move = lettered('G', 1);
      register_mm += word;
      move.words.set('E', relative ? word : register_mm);
      evidence.take(move);
    }
    EXPECT_TRUE(evidence.is_clear());
    EXPECT_TRUE(evidence.readings_differ());
    EXPECT_EQ(evidence.says_relative(), relative);
    EXPECT_NEAR(relative ? evidence.moved_if_relative_mm() : evidence.moved_if_absolute_mm(), 4.0,
                1e-9);
  }
}

TEST(DistanceWordsEvidence, IsSettledByMarksOfTheMode) {
  for (const auto& command : {lettered('M', 83), lettered('G', 92)}) {
    DistanceWordsEvidence evidence(100.0, 1.0, true);
    EXPECT_FALSE(evidence.is_decided());
    evidence.take(command);
    EXPECT_TRUE(evidence.is_decided());
    EXPECT_FALSE(evidence.says_relative()) << "E as M82 has it, where nothing speaks against it";
  }
}

TEST(SetPoints, KeepEachHeadApart) {
  SetPoints points(3);
  EXPECT_FALSE(points.heats_head());
  points.set(Heater::bed, 0, 60.0);
  points.set(Heater::enclosure, 0, 40.0);
  points.set(Heater::head, 2, 0.0);
  EXPECT_FALSE(points.heats_head()) << "off heats nothing";
  points.set(Heater::head, 1, 215.0);
  EXPECT_TRUE(points.heats_head());
  points.set(Heater::head, 1, 0.0);
  EXPECT_TRUE(points.heats_head()) << "it was heated once";
  EXPECT_EQ(points.bed_c(), 60.0);
  EXPECT_EQ(points.enclosure_c(), 40.0);
  points.set_standby_c(2, 0.0);
  points.set_active_c(2, 230.0);
  EXPECT_TRUE(points.has_standby(2)) << "a standby of 0 is one";
  EXPECT_FALSE(points.has_standby(1));
  EXPECT_EQ(points.active_c(2), 230.0);
  EXPECT_EQ(points.head_c(2), 0.0);
}

}  // namespace
}  // namespace platetally::interpreter
