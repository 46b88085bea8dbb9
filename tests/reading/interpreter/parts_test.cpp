// The parts of the modal machine, each by itself.
#include <gtest/gtest.h>

#include "reading/interpreter/conditions.hpp"
#include "reading/interpreter/feed_rate.hpp"
#include "reading/interpreter/filament.hpp"
#include "reading/interpreter/heat_words.hpp"
#include "reading/interpreter/layer_places.hpp"
#include "reading/interpreter/limit_words.hpp"
#include "reading/interpreter/position.hpp"
#include "support.hpp"

namespace platetally::interpreter {
namespace {

using Point = Position::Point;

/// The words of a command.
gcode::Words words(std::string_view text) {
  gcode::Line line;
  gcode::parse_line("M1 " + std::string(text), line);
  return line.commands == 1 ? line.command[0].words : gcode::Words{};
}

TEST(Position, WordsCountFromWhatTheyWereCalled) {
  Position position;
  position.go_to({10, 20, 3});
  EXPECT_EQ(position.target(words("Y5")), (Point{10, 5, 3}));
  position.call(0, 4.0);  // G92 X4
  EXPECT_EQ(position.target(words("X6")), (Point{12, 20, 3}));
  EXPECT_EQ(position.at_mm(), (Point{10, 20, 3})) << "calling moves nothing";
  position.set_relative(true);
  EXPECT_EQ(position.target(words("X6 Z-1")), (Point{16, 20, 2}));
}

TEST(Position, MachineCoordinatesHoldForTheirLine) {
  Position position;
  position.go_to({10, 0, 0});
  position.call(0, 0.0);
  position.take_machine_coordinates();
  EXPECT_EQ(position.target(words("X6")), (Point{6, 0, 0}));
  position.begin_line();
  EXPECT_EQ(position.target(words("X6")), (Point{16, 0, 0}));
}

TEST(Position, OffsetsAreSuspendedAndClearedForGood) {
  Position position;
  position.go_to({10, 0, 0});
  position.call(0, 0.0);
  position.suspend_offsets();
  EXPECT_EQ(position.target(words("X1")), (Point{1, 0, 0}));
  position.restore_offsets();
  EXPECT_EQ(position.target(words("X1")), (Point{11, 0, 0}));
  position.clear_offsets();
  position.restore_offsets();
  EXPECT_EQ(position.target(words("X1")), (Point{1, 0, 0}));
  position.call(0, 7.0);
  position.home(0);
  EXPECT_EQ(position.at_mm(), (Point{0, 0, 0}));
  EXPECT_EQ(position.target(words("X1")), (Point{1, 0, 0}));
}

TEST(Position, InchesCountToo) {
  Position position;
  position.set_unit_mm(25.4);
  EXPECT_EQ(position.target(words("Z2")), (Point{0, 0, 50.8}));
}

TEST(Filament, FeedsDifferencesOrWhatIsSaid) {
  Filament filament(test::machine());
  EXPECT_EQ(filament.read(3.0, 1.0).e_mm, 3.0);
  filament.keep(filament.read(3.0, 1.0));
  EXPECT_EQ(filament.read(2.0, 1.0).e_mm, -1.0);
  filament.call(10.0, 1.0);
  EXPECT_EQ(filament.read(10.5, 1.0).e_mm, 0.5);
  filament.state_relative(true, false);
  EXPECT_EQ(filament.read(0.5, 1.0).e_mm, 0.5);
  EXPECT_EQ(filament.read(0.5, 1.0).register_after, 10.5);
  EXPECT_EQ(filament.nothing().register_after, 10.0);
}

TEST(Filament, RelativeDistancesDecideWhereTheyAreSaidTo) {
  Filament filament(test::machine());
  filament.update_relative(true);
  EXPECT_FALSE(filament.is_relative());
  filament.let_distances_decide(true, true);
  EXPECT_TRUE(filament.is_relative());
  filament.update_relative(false);
  EXPECT_FALSE(filament.is_relative());
  filament.state_relative(true, false);
  EXPECT_TRUE(filament.is_relative());
}

TEST(Filament, VolumesAndFactorsAreOfTheToolThatFeeds) {
  Machine machine = test::machine(2);
  machine.tools[1].filament_diameter_mm = 2.85;
  Filament filament(machine);
  filament.set_flow_factor(1, 0.5);
  EXPECT_EQ(filament.read(1.0, 25.4).e_mm, 25.4);
  filament.feed_by(1);
  EXPECT_EQ(filament.read(1.0, 25.4).e_mm, 12.7);
  filament.set_volumetric(true);
  EXPECT_EQ(filament.unit_mm(25.4), 1.0) << "cubic millimetres whatever the unit";
  EXPECT_DOUBLE_EQ(filament.read(1.0, 25.4).e_mm, 0.5 / base::filament_area_mm2(2.85));
  filament.set_diameter_mm(1, 1.75);
  EXPECT_DOUBLE_EQ(filament.read(1.0, 1.0).e_mm, 0.5 / base::filament_area_mm2(1.75));
}

TEST(Filament, ManyWordsLeaveTheRegisterAsOneByOne) {
  const double said[] = {0.1, 0.2, 0.7};
  for (const bool relative : {false, true}) {
    Filament apart(test::machine()), together(test::machine());
    apart.state_relative(relative, false);
    together.state_relative(relative, false);
    for (const double word : said)
      apart.keep(apart.read(word, 25.4));
    together.keep_all(said, 3, 25.4);
    EXPECT_EQ(apart.at(), together.at());
  }
}

TEST(Filament, ASwitchedExtruderFeedsUntilAnEWordIsMet) {
  Filament filament(test::machine());
  EXPECT_FALSE(filament.feeds_by_switch());
  filament.switch_extruder(true);
  EXPECT_TRUE(filament.feeds_by_switch());
  filament.note_words();
  EXPECT_FALSE(filament.feeds_by_switch());
}

TEST(FeedRate, IsByTheMinuteOrTheInverseOfATime) {
  FeedRate feed(50.0);
  EXPECT_EQ(feed.in_force_mm_s(), 50.0);
  feed.take(1200.0, 1.0);
  feed.set_factor(1.5);
  EXPECT_EQ(feed.in_force_mm_s(), 30.0);
  feed.set_inverse(true);
  feed.take(2.0, 25.4);  // twice a minute, whatever the unit
  EXPECT_EQ(feed.over_mm_s(60.0), 3.0);
  EXPECT_EQ(feed.in_force_mm_s(), 30.0) << "which is not lost";
  EXPECT_FALSE(FeedRate::is_sound(0.0, 1e9));
  EXPECT_FALSE(FeedRate::is_sound(std::nan(""), 1e9));
  EXPECT_FALSE(FeedRate::is_sound(2e9, 1e9));
  EXPECT_TRUE(FeedRate::is_sound(1e9, 1e9));
}

TEST(ToolInHand, FeedsWhileItIsParked) {
  ToolInHand hand(3);
  EXPECT_EQ(hand.in_hand(), 0);
  EXPECT_TRUE(hand.is_news(0)) << "nothing is selected yet";
  hand.select(2);
  EXPECT_FALSE(hand.is_news(2));
  hand.select(ToolInHand::kParked);
  EXPECT_TRUE(hand.is_parked());
  EXPECT_EQ(hand.feeding(), 2);
  EXPECT_FALSE(hand.is_news(ToolInHand::kParked));
  EXPECT_TRUE(hand.has(2.0));
  EXPECT_FALSE(hand.has(3.0));
  EXPECT_FALSE(hand.has(-1.0));
}

TEST(ToolInHand, IsMeantWhereNoneIsNamed) {
  ToolInHand hand(2);
  Remarks remarks;
  hand.select(1);
  EXPECT_EQ(hand.named_by(words("S200"), remarks), 1);
  EXPECT_EQ(hand.named_by(words("T0"), remarks), 0);
  EXPECT_TRUE(remarks.entries().entries().empty());
  EXPECT_EQ(hand.named_by(words("T2"), remarks), ToolInHand::kParked);
  EXPECT_EQ(remarks.entries().entries().size(), 1U);
}

TEST(Conditions, SkipWhatEitherBranchAroundLeavesOut) {
  Conditions conditions;
  EXPECT_FALSE(conditions.turn_to_other());
  EXPECT_FALSE(conditions.end());
  conditions.begin(true);
  EXPECT_FALSE(conditions.skip());
  conditions.begin(false);
  EXPECT_TRUE(conditions.skip());
  EXPECT_TRUE(conditions.turn_to_other());
  EXPECT_FALSE(conditions.skip());
  EXPECT_TRUE(conditions.end());
  EXPECT_TRUE(conditions.turn_to_other());
  EXPECT_TRUE(conditions.skip());
  EXPECT_EQ(conditions.open(), 1U);
  EXPECT_TRUE(conditions.end());
  EXPECT_FALSE(conditions.skip());
}

TEST(Conditions, BelowTheDeepestFollowIt) {
  Conditions conditions;
  for (int i = 0; i < 70; ++i)
    conditions.begin(true);
  EXPECT_EQ(conditions.open(), 70U);
  for (int i = 0; i < 6; ++i) {
    EXPECT_TRUE(conditions.turn_to_other());
    EXPECT_FALSE(conditions.skip());
    EXPECT_TRUE(conditions.end());
  }
  EXPECT_TRUE(conditions.turn_to_other());
  EXPECT_TRUE(conditions.skip());
}

/// Parts that make events, and what came of them.
struct Bench {
  test::Collect sink;
  RowBuffer out{sink};
  Remarks remarks;
  ToolInHand hand{2};
  Events events{out, remarks, hand};

  std::string said() {
    out.flush();
    std::string text;
    for (const Record& record : sink.records)
      text += test::show(record) + "\n";
    sink.records.clear();
    return text;
  }
};

TEST(Events, ShareToolLineAndFlags) {
  Bench bench;
  bench.hand.select(1);
  bench.remarks.place.line = 12;
  bench.events.set_flags(kMarkedPurge);
  bench.events.push(RecordKind::dwell, 3.0);
  bench.out.flush();
  const Record& record = bench.sink.records.at(0);
  EXPECT_EQ(record.tool, 1);
  EXPECT_EQ(record.line, 12U);
  EXPECT_EQ(record.flags, kMarkedPurge);
  EXPECT_EQ(record.event.value, 3.0);
}

TEST(HeatWords, AToolThatGoesSinksToItsStandby) {
  Bench bench;
  HeatWords heat(bench.events, bench.remarks, bench.hand);
  heat.set_tool(words("P0 S210 R150"));
  heat.set_tool(words("P1 S230 R160"));
  EXPECT_EQ(bench.said(), "set head0 210\nset head1 160\n");
  heat.change_tool(0, 1);
  EXPECT_EQ(bench.said(), "set head0 150\nset head1 230\n");
  heat.change_tool(1, 1);
  heat.run(Heater::bed, words("S60"), false);
  heat.wait_for_all();
  EXPECT_EQ(bench.said(), "set bed 60\nwait bed\nwait head0\nwait head1\n");
  heat.run(Heater::bed, words("R40"), true);
  heat.run(Heater::bed, words("R40"), false);
  EXPECT_EQ(bench.said(), "set bed 40\nwait bed cooling\n");
  EXPECT_TRUE(heat.points().heats_head());
}

TEST(LimitWords, AreObeyedWhereTheMachineDoes) {
  Bench bench;
  Machine machine = test::machine();
  machine.motion.honours_acceleration_words = true;
  machine.motion.honours_factor_words = false;
  machine.motion.corner_model = CornerModel::junction_deviation;
  LimitWords limits(machine, bench.events, bench.remarks);
  limits.run_acceleration(words("P1500 T2000"), 1.0);
  EXPECT_EQ(bench.said(),
            "limit print_acceleration 1500,nan,nan,nan\nlimit travel_acceleration "
            "2000,nan,nan,nan\n");
  EXPECT_FALSE(limits.read_factor(words("S50"), "M220"));
  machine.motion.honours_factor_words = true;
  EXPECT_EQ(limits.read_factor(words("S50"), "M220"), 0.5);
  EXPECT_FALSE(limits.read_factor(words("S0"), "M220"));
  limits.set_by_name("print_speed_mm_s", 120.0);
  EXPECT_EQ(bench.said(), "limit axis_speed 120,120,nan,nan\n");
}

TEST(LayerPlaces, WhatLiesOutsideOpensNoLayerUntilItClimbs) {
  Remarks remarks;
  Machine machine = test::machine();
  machine.area = {0, 200, 0, 200, 200};
  LayerPlaces places(machine, remarks);
  EXPECT_FALSE(places.lay({-20, 5, 0.2}, {-10, 5, 0.2}, false));
  EXPECT_TRUE(places.lay({10, 5, 0.2}, {20, 5, 0.2}, false));
  EXPECT_EQ(places.current(), 1U);
  EXPECT_FALSE(places.lay({10, 5, 0.4}, {20, 5, 0.4}, true)) << "purge opens none";
  for (const double z_mm : {0.4, 0.6})
    EXPECT_FALSE(places.lay({-20, 5, z_mm}, {-10, 5, z_mm}, false));
  EXPECT_TRUE(places.trusts_area());
  EXPECT_TRUE(places.lay({-20, 5, 0.8}, {-10, 5, 0.8}, false));
  EXPECT_FALSE(places.trusts_area());
  EXPECT_EQ(remarks.entries().entries().size(), 1U);
}

}  // namespace
}  // namespace platetally::interpreter
