#include "motion/planning/cruise_share.hpp"

#include <map>

#include "motion/planning/support.hpp"
#include "oracle/slow_planner.hpp"

namespace platetally::motion {
namespace {

using interpreter::Limit;
using interpreter::Record;
using interpreter::RecordKind;

MotionLimits soft_limits() {
  MotionLimits limits;
  limits.speed_mm_s = {250.0, 200.0, 12.0, 40.0};
  limits.acceleration_mm_s2 = {2500.0, 1800.0, 300.0, 3000.0};
  limits.corner_model = CornerModel::corner_speed;
  limits.least_cruise_share = 0.5;
  return limits;
}

/// Stops, and limits as plates set them, among the moves.
std::vector<Record> with_events(const std::vector<Record>& moves, unsigned seed) {
  std::mt19937_64 random(seed);
  const auto uniform = [&](double low, double high) {
    return std::uniform_real_distribution<double>(low, high)(random);
  };
  std::vector<Record> records;
  for (const Record& move : moves) {
    records.push_back(move);
    switch (random() % 200) {
      case 0:
        records.push_back(test::event(RecordKind::dwell, 0.25));
        break;
      case 1:
        records.push_back(test::event(RecordKind::set_fan, 0.5));
        break;
      case 2:
        records.push_back(test::set_limit(Limit::corner_speed_mm_s, uniform(1.0, 20.0)));
        break;
      case 3:
        records.push_back(test::set_limit(Limit::least_cruise_share, uniform(0.0, 0.95)));
        break;
      case 4:
        records.push_back(test::set_limit(Limit::path_acceleration_mm_s2, uniform(500.0, 9000.0)));
        records.push_back(
            test::set_limit(Limit::braking_acceleration_mm_s2, uniform(300.0, 9000.0)));
        break;
      case 5:
        records.push_back(test::set_limit(Limit::print_acceleration_mm_s2, uniform(500.0, 5000.0)));
        break;
      default:
        break;
    }
  }
  return records;
}

/// Some moves become arcs to the left or right with the same ends; some of them climb.
std::vector<Record> with_arcs(std::vector<Record> records, unsigned seed) {
  std::mt19937_64 random(seed);
  std::uniform_real_distribution<double> sweep(0.05, 5.0);
  for (Record& record : records) {
    interpreter::Move& move = record.move;
    const double x_mm = move.to_mm[0] - move.from_mm[0];
    const double y_mm = move.to_mm[1] - move.from_mm[1];
    if (record.kind != RecordKind::move || std::hypot(x_mm, y_mm) < 1e-3 || random() % 4 != 0)
      continue;
    move.sweep_rad = random() % 2 == 0 ? sweep(random) : -sweep(random);
    const double across = 0.5 / std::tan(0.5 * move.sweep_rad);  // of the chord to the centre
    move.centre_mm = {0.5 * (move.from_mm[0] + move.to_mm[0]) - across * y_mm,
                      0.5 * (move.from_mm[1] + move.to_mm[1]) + across * x_mm};
  }
  return records;
}

void expect_agreement(const MotionLimits& limits, const std::vector<Record>& records) {
  const test::Planned planned = test::plan(limits, records);
  std::map<std::size_t, double> seconds;
  for (const oracle::SlowMove& slow : oracle::slow_plan(limits, records))
    seconds[slow.record] += slow.time_s;
  ASSERT_GT(seconds.size(), records.size() / 2);
  for (const auto& [record, slow_s] : seconds) {
    // Angles and their functions round by some 1e-16 each; corners near straight make more.
    ASSERT_NEAR(planned.motion_s(record), slow_s, 1e-8 * slow_s + 1e-12) << "record " << record;
  }
}

TEST(CruiseShare, AgreesMoveByMoveWithTheSlowPlanner) {
  for (const CornerModel model :
       {CornerModel::corner_speed, CornerModel::junction_deviation, CornerModel::speed_step})
    for (const double share : {0.0, 0.3, 0.5, 0.9})
      for (unsigned seed = 0; seed < 4; ++seed) {
        SCOPED_TRACE(testing::Message() << "model " << static_cast<int>(model) << " share " << share
                                        << " seed " << seed);
        MotionLimits limits = soft_limits();
        limits.corner_model = model;
        limits.least_cruise_share = share;
        if (seed == 1)
          limits.minimum_segment_time_s = 0.003;
        const std::vector<Record> path = test::random_path(140 + seed, 4000);
        expect_agreement(limits, path);
        expect_agreement(limits, with_events(path, seed));
      }
}

TEST(CruiseShare, AgreesWithTheSlowPlannerOnArcsThatAreCutIntoChords) {
  for (const double chord_mm : {0.5, 3.0})
    for (unsigned seed = 0; seed < 4; ++seed) {
      SCOPED_TRACE(testing::Message() << "chord " << chord_mm << " seed " << seed);
      MotionLimits limits = soft_limits();
      limits.arc_chord_mm = chord_mm;
      expect_agreement(limits, with_arcs(test::random_path(170 + seed, 2000), seed));
    }
}

TEST(CruiseShare, TheRunsThatMovesComeInChangeNothing) {
  Machine machine;
  machine.motion = soft_limits();
  machine.motion.arc_chord_mm = 0.3;
  const std::vector<Record> records = with_events(with_arcs(test::random_path(11, 6000), 11), 11);
  const test::Planned whole = test::plan(machine, records, interpreter::kMostRows);
  for (const std::size_t in_runs : {std::size_t{1}, std::size_t{7}}) {
    const test::Planned planned = test::plan(machine, records, in_runs);
    for (std::size_t i = 0; i < records.size(); ++i)
      ASSERT_EQ(planned.motion_s(i), whole.motion_s(i)) << i;
  }
}

TEST(CruiseShare, AMoveFromRestToRestReachesWhatTheShareLeaves) {
  MotionLimits limits;
  limits.corner_model = CornerModel::corner_speed;
  limits.print_acceleration_mm_s2 = 1000.0;
  const Record move = test::line({0, 0, 0}, {10, 0, 0}, 1.0, 300.0);
  for (const double share : {0.0, 0.25, 0.5, 0.9}) {
    limits.least_cruise_share = share;
    // 1 - s of the length to speed up and to brake: v^2 = (1 - s) a L.
    const double speed = std::sqrt((1.0 - share) * 1000.0 * 10.0);
    EXPECT_NEAR(test::plan(limits, {move}).total_s(), rest_to_rest_s(10.0, speed, 1000.0), 1e-12);
  }
}

TEST(CruiseShare, ALongMoveIsAsFastAsWithout) {
  MotionLimits limits;
  limits.corner_model = CornerModel::corner_speed;
  limits.print_acceleration_mm_s2 = 1000.0;
  const Record move = test::line({0, 0, 0}, {100, 0, 0}, 1.0, 100.0);
  const double without_s = test::plan(limits, {move}).total_s();
  limits.least_cruise_share = 0.8;  // 20 mm to speed up and brake, and 10 mm are enough
  EXPECT_NEAR(test::plan(limits, {move}).total_s(), without_s, 1e-12);
}

TEST(CruiseShare, RetractionByTheMachineIsHeldBackToo) {
  Machine machine;
  machine.motion.least_cruise_share = 0.5;
  machine.motion.retract_acceleration_mm_s2 = 1000.0;
  machine.procedures.retract_mm = 2.0;
  machine.procedures.retract_speed_mm_s = 60.0;
  // 0.5 * 1000 * 2 = 1000: 31.6 mm/s instead of sqrt(1000 * 2) = 44.7.
  EXPECT_NEAR(test::plan(machine, {test::event(RecordKind::firmware_retract)}).total_s(),
              2.0 / std::sqrt(1000.0) + std::sqrt(1000.0) / 1000.0, 1e-12);
}

TEST(CruiseShare, MoreIsNeverFaster) {
  // True for one share over all moves: the smoothed profile falls as its reaches do.
  MotionLimits limits = soft_limits();
  const std::vector<Record> records = test::random_path(44, 3000);
  double before_s = 0.0;
  for (const double share : {0.0, 0.1, 0.5, 0.75, 0.95, 0.999}) {
    limits.least_cruise_share = share;
    const double total_s = test::plan(limits, records).total_s();
    EXPECT_GE(total_s, before_s * (1.0 - 1e-12)) << share;
    before_s = total_s;
  }
}

TEST(CruiseShare, AWindowOfMovesLeavesItOutAndSaysSo) {
  Machine machine;
  machine.motion.look_ahead_moves = 16;
  std::vector<Record> records = test::random_path(3, 500);
  const double without_s = test::plan(machine, records).total_s();
  records.insert(records.begin(), test::set_limit(Limit::least_cruise_share, 0.5));
  const test::Planned planned = test::plan(machine, records);
  EXPECT_EQ(planned.total_s(), without_s);
  ASSERT_EQ(planned.diagnostics.size(), 1U);
  EXPECT_EQ(planned.diagnostics[0].code, "cruise-and-window");
}

TEST(CruiseShare, MemoryIsBoundedWhereMovesOfNanometresRiseForEver) {
  MotionLimits limits = soft_limits();
  limits.least_cruise_share = 0.9;
  std::vector<Record> records;
  for (int i = 0; i < 300000; ++i)
    records.push_back(test::line({i * 1e-6, 0, 0}, {(i + 1) * 1e-6, 0, 0}, 1e-7, 200.0));
  Machine machine;
  machine.motion = limits;
  test::Kept kept;
  Planner planner(machine, kept);
  for (std::size_t i = 0; i < records.size(); i += 1000) {
    test::give(std::span(records).subspan(i, 1000), planner);
    ASSERT_LE(i + 1000 - kept.records.size(), 2 * LookAhead::kMostPending);
  }
  planner.finish();
  EXPECT_EQ(kept.records.size(), records.size());
  ASSERT_EQ(planner.diagnostics().entries().size(), 1U);
  EXPECT_EQ(planner.diagnostics().entries()[0].code, "look-ahead-cut");
}

}  // namespace
}  // namespace platetally::motion
