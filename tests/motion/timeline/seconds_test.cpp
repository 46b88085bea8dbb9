// Seconds of everything that is not motion, against a second way of adding them up; and the heat
// log, which holds all of them however the plate is told.
#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <bit>
#include <cmath>
#include <map>
#include <random>

#include "base/units.hpp"
#include "motion/timeline/heat_log_builder.hpp"
#include "support/records.hpp"
#include "support/test_names.hpp"

namespace platetally::timeline {
namespace {

using interpreter::Record;
using test::RecordKind;

constexpr int kTools = 4;

/// Tools 0 and 1 share a head.
Machine workshop() {
  Machine machine;
  machine.heads.resize(3);
  machine.tools.resize(kTools);
  for (int tool = 0; tool < kTools; ++tool)
    machine.tools[static_cast<std::size_t>(tool)].head = std::max(0, tool - 1);
  machine.swap.head_change_s = {5, 7, 9};
  machine.swap.filament_change_s = {50, 80, 110};
  machine.swap.first_pick_s = 4;
  machine.swap.hidden_purge_mm3 = 60;
  machine.swap.long_swap_probability = 0.25;
  machine.swap.long_swap_extra_s = 40;
  machine.swap_pairs = {{.from = 1, .to = 0, .seconds = {90, 100, 130}, .needed_mm3 = 0.0}};
  machine.procedures.homing_s = {1, 2, 3};
  machine.procedures.probing_s = {10, 20, 40};
  machine.procedures.pause_s = {0, 60, 600};
  machine.procedures.start_s = {11, 12, 13};
  machine.procedures.end_s = {21, 22, 23};
  return machine;
}

struct Takes {
  const char* name;
  RecordKind kind;
  double motion_s;
  Range expected_s;
  Cause cause;
};

class EventSeconds : public testing::TestWithParam<Takes> {};

TEST_P(EventSeconds, AreTheMachinesAndItsOwn) {
  const Machine machine = workshop();
  Durations durations(machine);
  durations.of(test::event(RecordKind::set_fan, 0.0));  // takes the start with it
  Record record = test::event(GetParam().kind, 0.0);
  record.motion_s = GetParam().motion_s;
  const Duration duration = durations.of(record);
  EXPECT_EQ(duration.time_s, GetParam().expected_s);
  EXPECT_EQ(duration.cause, GetParam().cause);
  EXPECT_EQ(duration.start_s, Range{});
  EXPECT_EQ(duration.swap.selection, Selection::none);
}

INSTANTIATE_TEST_SUITE_P(
    Of, EventSeconds,
    testing::Values(
        Takes{"home", RecordKind::home, 0.5, {1.5, 2.5, 3.5}, Cause::homing},
        Takes{"probe", RecordKind::probe, 0.0, {10, 20, 40}, Cause::probing},
        Takes{"pause", RecordKind::pause, 0.0, {0, 60, 600}, Cause::pause},
        Takes{"end", RecordKind::end_of_plate, 0.0, {21, 22, 23}, Cause::start_and_end},
        Takes{"dwell", RecordKind::dwell, 4.0, {4, 4, 4}, Cause::motion},
        Takes{"stated seconds", RecordKind::takes_seconds, 6.5, {6.5, 6.5, 6.5}, Cause::motion},
        Takes{"set heater", RecordKind::set_heater, 0.0, {}, Cause::motion},
        Takes{"wait", RecordKind::wait_heater, 0.0, {}, Cause::motion},
        Takes{"fan", RecordKind::set_fan, 0.0, {}, Cause::motion},
        Takes{
            "firmware retract", RecordKind::firmware_retract, 0.1, {0.1, 0.1, 0.1}, Cause::motion},
        Takes{"motors", RecordKind::motors, 0.0, {}, Cause::motion},
        Takes{"limits", RecordKind::set_limits, 0.0, {}, Cause::motion}),
    [](const auto& takes) { return platetally::test::readable(takes.param.name); });

/// A plate of anything; the last record ends it.
std::vector<Record> any_plate(unsigned seed, std::size_t count) {
  std::mt19937 random(seed);
  std::vector<Record> records{test::select(0, -1)};
  int tool = 0;
  std::uint32_t layer = 1;
  test::Point at{};
  for (std::size_t i = 0; i < count; ++i)
    switch (random() % 12) {
      case 0: {
        const int to = static_cast<int>(random() % kTools);
        records.push_back(test::select(to, tool, layer));
        tool = to;
        break;
      }
      case 1:
        records.push_back(test::event(RecordKind::home, 0.0, tool, layer));
        break;
      case 2:
        records.push_back(test::event(RecordKind::pause, 0.0, tool, layer));
        break;
      case 3:
        records.push_back(test::event(RecordKind::dwell, 0.0, tool, layer));
        records.back().motion_s = 0.25;
        break;
      case 4:
        records.push_back(
            test::event(RecordKind::set_heater, 200.0 + static_cast<double>(i), tool, layer));
        break;
      case 5:
        ++layer;
        break;
      default: {
        const test::Point to{static_cast<double>(random() % 250),
                             static_cast<double>(random() % 250), 0.2 * layer};
        const double e_mm = random() % 3 == 0 ? 0.0 : 0.01 * static_cast<double>(random() % 100);
        records.push_back(
            test::move(at, to, e_mm, 0.01 * static_cast<double>(1 + random() % 300), tool, layer));
        at = to;
      }
    }
  records.push_back(test::event(RecordKind::end_of_plate, 0.0, tool, layer));
  return records;
}

/// Seconds by cause, added up from what the machine's file says.
Range by_hand(const std::vector<Record>& records, const Machine& machine) {
  Range sum = machine.procedures.start_s;
  int in_hand = -1;
  bool laid = false;
  for (const Record& record : records) {
    sum += Range::exactly(record.motion_s);
    if (record.kind == RecordKind::home)
      sum += machine.procedures.homing_s;
    if (record.kind == RecordKind::pause)
      sum += machine.procedures.pause_s;
    if (record.kind == RecordKind::end_of_plate)
      sum += machine.procedures.end_s;
    if (record.kind == RecordKind::move && record.move.e_mm > 0.0 &&
        (record.move.from_mm[0] != record.move.to_mm[0] ||
         record.move.from_mm[1] != record.move.to_mm[1]))
      laid = true;
    if (record.kind != RecordKind::select_tool || record.event.tool == in_hand)
      continue;
    const int to = record.event.tool;
    if (!laid) {
      sum += Range::exactly(4);
    } else {
      const bool on_one_head = in_hand + to == 1;
      sum += in_hand == 1 && to == 0 ? Range{90, 100, 130}
             : on_one_head           ? Range{50, 80, 110}
                                     : Range{5, 7, 9};
      sum += Range{0, 10, 20};  // a quarter of the swaps, 40 s each; none, and twice as many
    }
    in_hand = to;
  }
  return sum;
}

TEST(Durations, OfAPlateAddUpToWhatItsMachineSays) {
  const Machine machine = workshop();
  for (unsigned seed = 1; seed <= 30; ++seed) {
    const std::vector<Record> records = any_plate(seed, 300);
    Durations durations(machine);
    Range sum;
    for (const Record& record : records) {
      const Duration duration = durations.of(record);
      EXPECT_LE(duration.time_s.low, duration.time_s.expected);
      EXPECT_LE(duration.time_s.expected, duration.time_s.high);
      sum += duration.time_s;
    }
    const Range expected = by_hand(records, machine);
    EXPECT_NEAR(sum.low, expected.low, 1e-9) << seed;
    EXPECT_NEAR(sum.expected, expected.expected, 1e-9) << seed;
    EXPECT_NEAR(sum.high, expected.high, 1e-9) << seed;
  }
}

TEST(Durations, PlainMovesMayBeTakenTheShortWay) {
  const Machine machine = workshop();
  for (unsigned seed = 40; seed < 50; ++seed) {
    Durations one(machine), other(machine);
    Range sum, short_sum;
    for (const Record& record : any_plate(seed, 200)) {
      sum += one.of(record).time_s;
      short_sum +=
          other.take_plain_move(record) ? Range::exactly(record.motion_s) : other.of(record).time_s;
    }
    EXPECT_NEAR(short_sum.expected, sum.expected, 1e-9);
    EXPECT_NEAR(short_sum.high, sum.high, 1e-9);
  }
  Durations fresh(machine);
  EXPECT_FALSE(fresh.take_plain_move(test::feed(1.0))) << "the start rides on the first record";
}

TEST(Durations, AToolThatTheMachineDoesNotHaveIsOnAnotherHead) {
  const Machine machine = workshop();
  for (const auto& [from, to] : {std::pair{-1, 0}, {0, -1}, {0, kTools}, {kTools, 0}, {99, 98}})
    EXPECT_EQ(Durations::swap_kind(machine, from, to), SwapKind::head_change) << from << ' ' << to;
  EXPECT_EQ(Durations::swap_kind(machine, 0, 1), SwapKind::filament_change);
}

TEST(Durations, ByHandIsAChangeOfFilamentAlone) {
  Machine machine = workshop();
  EXPECT_FALSE(Durations::is_by_hand(machine, 0, 1));
  machine.swap.filament_change_by_hand = true;
  EXPECT_TRUE(Durations::is_by_hand(machine, 0, 1));
  EXPECT_TRUE(Durations::is_by_hand(machine, 1, 0));
  EXPECT_FALSE(Durations::is_by_hand(machine, 0, 2)) << "another head is picked up";
}

HeatLog log_of(const std::vector<Record>& records, const Machine& machine) {
  Durations durations(machine);
  HeatLogBuilder builder(machine);
  for (const Record& record : records) {
    const bool feeds = record.kind == RecordKind::move;
    builder.take(record, durations.of(record), feeds ? std::max(0.0, record.move.e_mm) : 0.0);
  }
  return builder.finish();
}

TEST(HeatLog, HoldsEverySecondAndAllFilamentByToolAndLayer) {
  const Machine machine = workshop();
  const double area_mm2 = base::filament_area_mm2(1.75);
  for (unsigned seed = 60; seed < 75; ++seed) {
    SCOPED_TRACE(seed);
    const std::vector<Record> records = any_plate(seed, 400);
    std::map<std::pair<int, std::uint32_t>, double> expected_mm3, expected_s;
    Durations durations(machine);
    std::size_t settings = 0;
    for (const Record& record : records) {
      const Duration duration = durations.of(record);
      const int pays = record.kind == RecordKind::select_tool ? record.event.tool : record.tool;
      expected_s[{pays, record.layer}] += duration.time_s.expected;
      if (record.kind == RecordKind::move)
        expected_mm3[{pays, record.layer}] += record.move.e_mm * area_mm2;
      if (duration.swap.selection == Selection::swap)
        expected_mm3[{pays, record.layer}] += 60.0;
      settings += record.kind == RecordKind::set_heater;
    }
    const HeatLog log = log_of(records, machine);
    std::map<std::pair<int, std::uint32_t>, double> found_mm3, found_s;
    std::size_t kept_settings = 0;
    for (const HeatEvent& event : log.events) {
      kept_settings += event.kind == HeatEventKind::set_heater;
      if (event.kind != HeatEventKind::span)
        continue;
      EXPECT_GT(event.duration_s, 0.0);
      EXPECT_LE(event.moving_s, event.duration_s + 1e-12);
      found_s[{event.tool, event.layer}] += event.duration_s;
      found_mm3[{event.tool, event.layer}] += event.volume_mm3;
    }
    for (const auto& [who, seconds] : expected_s)
      EXPECT_NEAR(found_s[who], seconds, 1e-9) << who.first << ' ' << who.second;
    for (const auto& [who, mm3] : expected_mm3)
      EXPECT_NEAR(found_mm3[who], mm3, 1e-9) << who.first << ' ' << who.second;
    EXPECT_LE(kept_settings, settings);
    EXPECT_TRUE(log.holds_turns);
    EXPECT_EQ(log.left_out, 0U);
  }
}

TEST(HeatLog, SpansAreOfAboutASecond) {
  const Machine machine = workshop();
  std::vector<Record> records;
  std::mt19937 random(80);
  double longest_s = 0.0;
  for (int i = 0; i < 5000; ++i) {
    const double seconds = 0.001 * static_cast<double>(1 + random() % 400);
    longest_s = std::max(longest_s, seconds);
    records.push_back(test::move({0, 0, 0.2}, {5, 0, 0.2}, 0.1, seconds));
  }
  const HeatLog log = log_of(records, machine);
  for (std::size_t i = 1; i + 1 < log.events.size(); ++i) {
    EXPECT_GE(log.events[i].duration_s, log.span_s);
    EXPECT_LE(log.events[i].duration_s, log.span_s + longest_s);
  }
}

TEST(HeatLog, MotorsTurnInMovesAndHomingAndNotWhileItStands) {
  const Machine machine = workshop();
  const auto moving_s = [&](const Record& record) {
    double sum_s = 0.0;
    for (const HeatEvent& event :
         log_of({test::event(RecordKind::set_fan, 0.0), record}, machine).events)
      sum_s += event.moving_s;
    return sum_s;
  };
  Record dwell = test::event(RecordKind::dwell, 0.0);
  dwell.motion_s = 5.0;
  EXPECT_EQ(moving_s(dwell), 0.0);
  EXPECT_EQ(moving_s(test::event(RecordKind::pause, 0.0)), 0.0);
  EXPECT_EQ(moving_s(test::event(RecordKind::home, 0.0)), 2.0);
  EXPECT_EQ(moving_s(test::event(RecordKind::probe, 0.0)), 20.0);
  EXPECT_EQ(moving_s(test::move({}, {9, 0, 0}, 1.0, 3.0)), 3.0);
  EXPECT_EQ(moving_s(test::select(2, -1)), 4.0);
}

TEST(HeatLog, WhatIsFedInNoTimeMeltsWithWhatFollows) {
  Machine machine = workshop();
  machine.swap.head_change_s = {};
  machine.swap.long_swap_probability = 0.0;
  const HeatLog log = log_of({test::move({}, {9, 0, 0}, 1.0, 0.3, 0), test::select(3, 0),
                              test::move({}, {9, 0, 0}, 2.0, 0.4, 3)},
                             machine);
  double melted_mm3 = 0.0;
  for (const HeatEvent& event : log.events)
    if (event.tool == 3 && event.kind == HeatEventKind::span)
      melted_mm3 += event.volume_mm3;
  EXPECT_NEAR(melted_mm3, 60.0 + 2.0 * base::filament_area_mm2(1.75), 1e-9);
}

TEST(HeatLog, TurnsAndStopsAreNoted) {
  const Machine machine = workshop();
  HeatLogBuilder builder(machine);
  builder.take_move(test::move({}, {9, 0, 0}, 1.0, 0.3), 1.0);
  builder.enter_turn(4);
  builder.take_move(test::move({}, {9, 0, 0}, 1.0, 0.3), 1.0);
  builder.note_stop(17);
  builder.note_stop(90);
  const HeatLog log = builder.finish();
  ASSERT_EQ(log.events.size(), 2U) << "another turn is another span";
  EXPECT_EQ(log.events[0].turn, 0U);
  EXPECT_EQ(log.events[1].turn, 4U);
  EXPECT_EQ(log.stop_lines, (std::vector<std::uint64_t>{17, 90}));
}

/// Tiles under a straight path, by a hundred times as many samples.
std::uint64_t densely(const BedGrid& grid, const interpreter::Move& move) {
  std::uint64_t tiles = 0;
  constexpr int kSamples = 20'000;
  for (int i = 0; i <= kSamples; ++i) {
    const double share = static_cast<double>(i) / kSamples;
    const int tile = grid.tile_at(move.from_mm[0] + share * (move.to_mm[0] - move.from_mm[0]),
                                  move.from_mm[1] + share * (move.to_mm[1] - move.from_mm[1]));
    if (tile >= 0)
      tiles |= std::uint64_t{1} << tile;
  }
  return tiles;
}

TEST(BedGrid, FindsTheTilesOfAnyStrokeButCornersThatAreBarelyCut) {
  std::mt19937 random(81);
  std::uniform_real_distribution<double> any(-80, 380);
  for (int round = 0; round < 60; ++round) {
    Bed bed;
    bed.rows = 1 + static_cast<int>(random() % 8);
    bed.columns = 1 + static_cast<int>(random() % 8);
    bed.width_mm = 300;
    bed.depth_mm = 200;
    bed.x_min_mm = 10;
    bed.y_min_mm = -20;
    BedGrid grid(bed);
    const auto move =
        test::move({any(random), any(random), 0}, {any(random), any(random), 0}, 1, 1).move;
    const std::uint64_t found = grid.tiles_under(move), all = densely(grid, move);
    EXPECT_EQ(found & ~all, 0U) << "none that is not there";
    // A tile that is missed is cut by less than a sample.
    EXPECT_LE(std::popcount(all & ~found), 3) << round;
    auto back = move;
    std::swap(back.from_mm, back.to_mm);
    EXPECT_EQ(BedGrid(bed).tiles_under(back), found) << "from either end";
  }
}

TEST(BedGrid, EveryTileIsUnderItsMiddle) {
  for (int rows = 1; rows <= 8; ++rows)
    for (int columns = 1; columns <= 8; ++columns) {
      Bed bed;
      bed.rows = rows;
      bed.columns = columns;
      bed.width_mm = 330;
      bed.depth_mm = 170;
      bed.x_min_mm = -15;
      bed.y_min_mm = 35;
      BedGrid grid(bed);
      for (int tile = 0; tile < rows * columns; ++tile) {
        const double x_mm = -15 + (tile % columns + 0.5) * 330 / columns;
        const double y_mm = 35 + (tile / columns + 0.5) * 170 / rows;
        ASSERT_EQ(grid.tile_at(x_mm, y_mm), tile);
        const auto dot = test::move({x_mm, y_mm, 0}, {x_mm, y_mm, 0}, 1, 1).move;
        ASSERT_EQ(grid.tiles_under(dot), std::uint64_t{1} << tile);
        ASSERT_EQ(grid.last_tile().bit, std::uint64_t{1} << tile);
      }
    }
}

TEST(BedGrid, WhatIsNoPlaceLiesOverNoTile) {
  BedGrid grid{Bed{}};
  for (const double nowhere : {std::nan(""), HUGE_VAL, -HUGE_VAL, 1e300})
    EXPECT_EQ(grid.tile_at(nowhere, 10.0), -1);
  const auto far = test::move({1e9, 0, 0}, {-1e9, 0, 0}, 1, 1).move;
  EXPECT_LE(grid.tiles_under(far), 1U) << "kilometres are sampled and let go";
}

}  // namespace
}  // namespace platetally::timeline
