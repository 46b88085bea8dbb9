// Plates by chance, given row by row and in runs of many: the books hold the same, whatever short
// way the rows went.
#include <gtest/gtest.h>

#include "account/ledgers/plate_books.hpp"
#include "base/units.hpp"
#include "heat/heat_result.hpp"
#include "platetally/account.hpp"
#include "support/chance.hpp"
#include "support/records.hpp"
#include "support/rows.hpp"

namespace platetally::ledgers {
namespace {

constexpr double kTopMm = 200.0;

/// Four tiles, two heads, and a waste area at the back.
Machine bench() {
  Machine machine;
  machine.heads.resize(2);
  machine.tools.resize(3);
  machine.tools[1].head = 1;
  machine.area = {0, kTopMm, 0, kTopMm, 200};
  machine.bed.rows = machine.bed.columns = 2;
  machine.waste_areas = {{"bin", 150.0, 200.0, 180.0, 200.0}};
  machine.swap.head_change_s = {4.0, 6.0, 10.0};
  machine.swap.filament_change_s = {20.0, 30.0, 40.0};
  return machine;
}

std::vector<Material> materials() {
  std::vector<Material> materials(3);
  for (std::size_t i = 0; i < materials.size(); ++i)
    materials[i].density_g_cm3 = 1.0 + 0.1 * static_cast<double>(i);
  return materials;
}

/// Mostly strokes that go on from one another, now and then everything else.
std::vector<interpreter::Record> any_plate(unsigned seed) {
  test::Random random(seed);
  std::vector<interpreter::Record> plate{test::select(0, -1, 1)};
  test::Point at{100.0, 100.0, 0.2};
  int tool = 0;
  std::uint32_t layer = 1;
  const auto go = [&](test::Point to, double e_mm, double motion_s) {
    plate.push_back(test::move(at, to, e_mm, motion_s, tool, layer));
    at = to;
  };
  for (int i = 0; i < 600; ++i) {
    if (random.one_in(60) && layer < 5) {
      ++layer;
      go({at.x_mm, at.y_mm, 0.2 * layer}, 0.0, 0.1);
    } else if (random.one_in(40)) {
      const int next = (tool + 1 + static_cast<int>(random.below(2))) % 3;
      plate.push_back(test::select(next, tool, layer));
      tool = next;
    } else if (random.one_in(25)) {
      go(at, -0.8, 0.05);
      go({random.real(5.0, 195.0), random.real(5.0, 195.0), at.z_mm}, 0.0, random.real(0.1, 1.0));
      go(at, 0.8, 0.05);
    } else if (random.one_in(50)) {
      go({random.real(150.0, 200.0), random.real(181.0, 199.0), at.z_mm}, 0.0, 0.5);
      go({random.real(150.0, 200.0), random.real(181.0, 199.0), at.z_mm}, 2.0, 0.5);
    } else {
      const double most = random.one_in(10) ? 60.0 : 6.0;
      go({std::clamp(at.x_mm + random.real(-most, most), 1.0, 199.0),
          std::clamp(at.y_mm + random.real(-most, most), 1.0, 178.0), at.z_mm},
         random.real(0.01, 0.5), random.real(0.01, 0.3));
    }
  }
  for (std::size_t i = 0; i < plate.size(); ++i)
    plate[i].line = i + 1;
  return plate;
}

const std::vector<double> kHeights_mm{0.0, 0.2, 0.4, 0.6, 0.8, 1.0};

struct Booked {
  Account account;
  std::vector<Turn> turns;
  Demand demand;
  timeline::HeatLog log;
  std::vector<ObjectAccount> objects;
};

/// Strokes that go on from one another in runs of `most` at most, all else one by one.
void give_strokes_at_once(const std::vector<interpreter::Record>& plate, std::size_t most,
                          interpreter::RowSink& sink) {
  const auto is_stroke = [](const interpreter::Record& record) {
    return record.kind == interpreter::RecordKind::move &&
           test::row_of(record).run.kind == interpreter::RunKind::stroke;
  };
  for (std::size_t i = 0; i < plate.size();) {
    if (!is_stroke(plate[i]) || most == 1) {
      test::give(plate[i++], sink);
      continue;
    }
    const interpreter::Record& first = plate[i];
    test::StrokeColumns strokes(first.move.from_mm, first.line, first.layer, first.tool);
    while (i < plate.size() && is_stroke(plate[i]) && strokes.size() < most &&
           plate[i].tool == first.tool && plate[i].layer == first.layer) {
      const interpreter::Move& move = plate[i].move;
      strokes.push(move.to_mm, move.e_mm, move.feed_mm_s, plate[i].motion_s);
      ++i;
    }
    sink.take(strokes.rows());
  }
}

Booked booked(const std::vector<interpreter::Record>& plate, std::size_t most) {
  const Machine machine = bench();
  const std::vector<Material> of_tools = materials();
  PlateBooks books(machine, of_tools);
  books.tell_objects_apart(true, 0.4);
  give_strokes_at_once(plate, most, books);
  books.settle_purge();
  Booked booked;
  books.write({}, kHeights_mm, booked.account);
  booked.objects = books.take_objects({}, {}, kHeights_mm.size()).objects;
  booked.demand = books.demand();
  booked.log = books.take_heat_log();
  booked.turns = books.take_turns();
  return booked;
}

/// To nine digits: sums are formed in another order.
void expect_same(double a, double b, const char* what) {
  EXPECT_NEAR(a, b, 1e-9 * (1.0 + std::abs(a))) << what;
}

void expect_same(const TimeBy& a, const TimeBy& b) {
  expect_same(a.print_s, b.print_s, "print");
  expect_same(a.travel_s, b.travel_s, "travel");
  expect_same(a.swap_s, b.swap_s, "swap");
  expect_same(a.other_s, b.other_s, "other");
}

class AnyPlate : public testing::TestWithParam<unsigned> {
 protected:
  const std::vector<interpreter::Record> plate_ = any_plate(GetParam());
  const Booked one_by_one_ = booked(plate_, 1);
};

TEST_P(AnyPlate, TheAccountIsTheSameHoweverRowsAreCut) {
  for (const std::size_t most : {2U, 7U, 1000U}) {
    SCOPED_TRACE(most);
    const Account at_once = booked(plate_, most).account;
    const Account& singly = one_by_one_.account;
    const Totals& a = singly.totals;
    const Totals& b = at_once.totals;
    expect_same(a.time_by, b.time_by);
    expect_same(a.time.low, b.time.low, "time, low");
    expect_same(a.time.high, b.time.high, "time, high");
    expect_same(a.time_of_print.expected, b.time_of_print.expected, "time of the print");
    expect_same(a.part_g, b.part_g, "part");
    expect_same(a.purge_g, b.purge_g, "purge");
    expect_same(a.purge_low_g, b.purge_low_g, "purge, low");
    expect_same(a.purge_high_g, b.purge_high_g, "purge, high");
    expect_same(a.start_up_g, b.start_up_g, "start-up");
    EXPECT_EQ(a.swaps, b.swaps);
    EXPECT_EQ(singly.tower.verdict, at_once.tower.verdict);
    ASSERT_EQ(singly.layers.size(), at_once.layers.size());
    for (std::size_t i = 0; i < singly.layers.size(); ++i) {
      expect_same(singly.layers[i].time_by, at_once.layers[i].time_by);
      expect_same(singly.layers[i].part_g, at_once.layers[i].part_g, "part of a layer");
      expect_same(singly.layers[i].purge_g, at_once.layers[i].purge_g, "purge of a layer");
      EXPECT_EQ(singly.layers[i].order, at_once.layers[i].order);
      EXPECT_EQ(singly.layers[i].swaps, at_once.layers[i].swaps);
      EXPECT_EQ(singly.layers[i].first_line, at_once.layers[i].first_line);
    }
    for (std::size_t i = 0; i < singly.tools.size(); ++i) {
      expect_same(singly.tools[i].filament_mm, at_once.tools[i].filament_mm, "filament");
      expect_same(singly.tools[i].purge_g, at_once.tools[i].purge_g, "purge of a tool");
      EXPECT_EQ(singly.tools[i].selects, at_once.tools[i].selects);
    }
    ASSERT_EQ(singly.visits.size(), at_once.visits.size());
    for (std::size_t i = 0; i < singly.visits.size(); ++i) {
      EXPECT_EQ(singly.visits[i].layer, at_once.visits[i].layer);
      EXPECT_EQ(singly.visits[i].order, at_once.visits[i].order);
    }
  }
}

TEST_P(AnyPlate, TurnsHeatAndObjectsAreTheSameToo) {
  for (const std::size_t most : {3U, 1000U}) {
    SCOPED_TRACE(most);
    const Booked at_once = booked(plate_, most);
    ASSERT_EQ(at_once.turns.size(), one_by_one_.turns.size());
    for (std::size_t i = 0; i < at_once.turns.size(); ++i) {
      const Turn& a = one_by_one_.turns[i];
      const Turn& b = at_once.turns[i];
      EXPECT_EQ(a.tool, b.tool);
      EXPECT_EQ(a.layer, b.layer);
      EXPECT_EQ(a.from, b.from);
      expect_same(a.print_s, b.print_s, "print of a turn");
      expect_same(a.travel_s, b.travel_s, "travel of a turn");
      expect_same(a.fed_mm, b.fed_mm, "fed in a turn");
      expect_same(a.purge_mm, b.purge_mm, "purged in a turn");
    }
    EXPECT_EQ(at_once.log.footprint_by_layer, one_by_one_.log.footprint_by_layer);
    double volume_mm3 = 0.0, wanted_mm3 = 0.0;
    for (const timeline::HeatEvent& event : at_once.log.events)
      volume_mm3 += event.volume_mm3;
    for (const timeline::HeatEvent& event : one_by_one_.log.events)
      wanted_mm3 += event.volume_mm3;
    expect_same(wanted_mm3, volume_mm3, "melted");
    ASSERT_EQ(at_once.objects.size(), one_by_one_.objects.size());
    for (std::size_t i = 0; i < at_once.objects.size(); ++i) {
      const ObjectAccount& a = one_by_one_.objects[i];
      const ObjectAccount& b = at_once.objects[i];
      expect_same(a.part_g, b.part_g, "part of an object");
      expect_same(a.purge_g, b.purge_g, "purge of an object");
      expect_same(a.time_by, b.time_by);
      EXPECT_EQ(a.x_min_mm, b.x_min_mm);
      EXPECT_EQ(a.y_max_mm, b.y_max_mm);
      EXPECT_EQ(a.layers, b.layers);
      EXPECT_EQ(a.tools, b.tools);
    }
  }
}

TEST_P(AnyPlate, SumsByLayerToolAndPairAreTheTotals) {
  const Account& account = one_by_one_.account;
  TimeBy time;
  double layers_part_g = 0.0, layers_purge_g = 0.0, layers_start_g = 0.0;
  std::uint64_t layers_swaps = 0;
  for (const LayerAccount& layer : account.layers) {
    time += layer.time_by;
    layers_part_g += layer.part_g;
    layers_purge_g += layer.purge_g;
    layers_start_g += layer.start_up_g;
    layers_swaps += layer.swaps;
  }
  expect_same(account.totals.time_by, time);
  expect_same(account.totals.time.expected, time.sum_s(), "time");
  expect_same(account.totals.part_g, layers_part_g, "part by layer");
  expect_same(account.totals.purge_g, layers_purge_g, "purge by layer");
  expect_same(account.totals.start_up_g, layers_start_g, "start-up by layer");
  EXPECT_EQ(account.totals.swaps, layers_swaps);
  double part_g = 0.0, purge_g = 0.0, start_g = 0.0;
  for (const ToolAccount& tool : account.tools) {
    part_g += tool.part_g;
    purge_g += tool.purge_g;
    start_g += tool.start_up_g;
  }
  expect_same(account.totals.part_g, part_g, "part by tool");
  expect_same(account.totals.purge_g, purge_g, "purge by tool");
  expect_same(account.totals.start_up_g, start_g, "start-up by tool");
  double pairs_g = 0.0;
  std::uint64_t pairs = 0;
  for (const SwapPairAccount& pair : account.swap_pairs) {
    pairs_g += pair.purge_g;
    pairs += pair.count;
    EXPECT_NE(pair.from, pair.to);
  }
  expect_same(account.totals.purge_g, pairs_g, "purge by pair");
  EXPECT_EQ(account.totals.swaps, pairs);
  const PurgeBy& by = account.totals.purge_by;
  expect_same(account.totals.purge_g,
              by.at_rest_g + by.place_g + by.comment_g + by.tower_g + by.hidden_g,
              "purge by cause");
}

// All that the plate feeds is somewhere: nothing is counted twice, nothing falls out.
TEST_P(AnyPlate, EveryMillimetreOfFilamentIsInOneUse) {
  std::vector<double> fed_mm(3, 0.0);
  for (const interpreter::Record& record : plate_)
    if (record.kind == interpreter::RecordKind::move)
      fed_mm[static_cast<std::size_t>(record.tool)] += record.move.e_mm;
  for (const ToolAccount& tool : one_by_one_.account.tools) {
    const auto index = static_cast<std::size_t>(tool.tool);
    const double g_per_mm =
        base::g_from_mm3(base::filament_area_mm2(1.75), materials()[index].density_g_cm3);
    expect_same(fed_mm[index], tool.filament_mm, "filament");
    expect_same(fed_mm[index] * g_per_mm, tool.part_g + tool.purge_g + tool.start_up_g, "grams");
  }
}

TEST_P(AnyPlate, ObjectsHoldWhatThePlateHolds) {
  const Totals& totals = one_by_one_.account.totals;
  double part_g = 0.0, purge_g = 0.0, start_g = 0.0, swaps = 0.0;
  TimeBy time;
  for (const ObjectAccount& object : one_by_one_.objects) {
    part_g += object.part_g;
    purge_g += object.purge_g;
    start_g += object.start_up_g;
    swaps += object.swaps;
    time += object.time_by;
  }
  expect_same(totals.part_g, part_g, "part");
  expect_same(totals.purge_g, purge_g, "purge");
  expect_same(totals.start_up_g, start_g, "start-up");
  expect_same(static_cast<double>(totals.swaps), swaps, "swaps");
  expect_same(totals.time_by, time);
}

INSTANTIATE_TEST_SUITE_P(Seeds, AnyPlate, testing::Range(0U, 6U));

/// A stroke from 10, 10 that a run goes on from, on a tile of 0 .. 100 mm.
StrokeRun open_run(const Machine& machine) {
  StrokeRun run;
  interpreter::Record stroke = test::move({9, 10, 0.2}, {10, 10, 0.2}, 0.1, 0.1);
  run.open(stroke, {1.0, 99.0, 1.0, 99.0, 1}, machine);
  return run;
}

TEST(StrokeRun, AddsUpWhatGoesOnWithinItsTile) {
  StrokeRun run = open_run(bench());
  test::StrokeColumns strokes({10, 10, 0.2});
  strokes.push({20, 12, 0.2}, 0.5, 50.0, 0.25);
  strokes.push({15, 40, 0.3}, 1.5, 50.0, 0.5);
  EXPECT_EQ(run.take(strokes.rows(), 0), 2U);
  const StrokeRun::Sums& sums = run.sums();
  EXPECT_DOUBLE_EQ(sums.e_mm, 2.0);
  EXPECT_DOUBLE_EQ(sums.motion_s, 0.75);
  EXPECT_EQ(sums.x_min_mm, 10.0) << "where the run begins";
  EXPECT_EQ(sums.x_max_mm, 20.0);
  EXPECT_EQ(sums.y_max_mm, 40.0);
  EXPECT_EQ(sums.z_max_mm, 0.3);
  EXPECT_EQ(run.x_mm(), 15.0);
  EXPECT_EQ(run.y_mm(), 40.0);
}

TEST(StrokeRun, EndsBeforeTheStrokeThatLeavesTheTile) {
  StrokeRun run = open_run(bench());
  test::StrokeColumns strokes({10, 10, 0.2});
  strokes.push({20, 12, 0.2}, 0.5, 50.0, 0.25);
  strokes.push({99.5, 12, 0.2}, 0.5, 50.0, 0.25);
  strokes.push({20, 12, 0.2}, 0.5, 50.0, 0.25);
  EXPECT_EQ(run.take(strokes.rows(), 0), 1U);
  EXPECT_EQ(run.take(strokes.rows(), 1), 0U);
  EXPECT_EQ(run.x_mm(), 20.0);
}

TEST(StrokeRun, EndsAtAnythingThatIsNotItsOwn) {
  const auto taken = [](auto change) {
    StrokeRun run = open_run(bench());
    test::StrokeColumns strokes({10, 10, 0.2});
    strokes.push({20, 12, 0.2}, 0.5, 50.0, 0.25);
    interpreter::Rows rows = strokes.rows();
    change(rows);
    return run.take(rows, 0);
  };
  EXPECT_EQ(taken([](interpreter::Rows&) {}), 1U);
  EXPECT_EQ(taken([](interpreter::Rows& rows) { rows.run.tool = 1; }), 0U);
  EXPECT_EQ(taken([](interpreter::Rows& rows) { rows.run.layer = 2; }), 0U);
  EXPECT_EQ(taken([](interpreter::Rows& rows) { rows.run.flags = 1; }), 0U);
  EXPECT_EQ(taken([](interpreter::Rows& rows) { rows.run.kind = interpreter::RunKind::path; }), 0U);
  EXPECT_EQ(taken([](interpreter::Rows& rows) { rows.run.from_mm[0] = 10.001; }), 0U);
  EXPECT_EQ(taken([](interpreter::Rows& rows) { rows.run.from_mm[1] = 10.001; }), 0U);
  EXPECT_EQ(taken([](interpreter::Rows& rows) { rows.run.from_mm[2] = 0.201; }), 0U);
}

TEST(StrokeRun, IsNotOpenedBesideAWasteAreaOrOutsideTheTile) {
  Machine machine = bench();
  machine.waste_areas = {{"bin", 98.0, 120.0, 0.0, 5.0}};
  EXPECT_FALSE(open_run(machine).is_open()) << "the tile reaches into it";
  machine.waste_areas = {{"bin", 99.5, 120.0, 0.0, 5.0}};
  EXPECT_TRUE(open_run(machine).is_open());
  machine.area.x_min_mm = 11.0;
  EXPECT_FALSE(open_run(machine).is_open()) << "it begins outside the build area";
}

}  // namespace
}  // namespace platetally::ledgers
