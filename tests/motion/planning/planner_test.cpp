#include "motion/planning/planner.hpp"

#include <cstring>

#include "motion/planning/support.hpp"
#include "oracle/slow_planner.hpp"

namespace platetally::motion {
namespace {

using interpreter::Limit;
using interpreter::Record;
using interpreter::RecordFlag;
using interpreter::RecordKind;

constexpr std::array kModels{CornerModel::junction_deviation, CornerModel::speed_step,
                             CornerModel::corner_speed};

MotionLimits soft_limits() {
  MotionLimits limits;
  limits.speed_mm_s = {250.0, 200.0, 12.0, 40.0};
  limits.acceleration_mm_s2 = {2500.0, 1800.0, 300.0, 3000.0};
  return limits;
}

/// But for its seconds.
void expect_unchanged(const Record& now, const Record& before) {
  EXPECT_EQ(now.kind, before.kind);
  EXPECT_EQ(now.flags, before.flags);
  EXPECT_EQ(now.tool, before.tool);
  EXPECT_EQ(now.layer, before.layer);
  EXPECT_EQ(now.line, before.line);
  if (before.kind != RecordKind::move) {
    EXPECT_EQ(now.event.value, before.event.value);
    EXPECT_EQ(now.event.tool, before.event.tool);
    return;
  }
  EXPECT_EQ(now.move.from_mm, before.move.from_mm);
  EXPECT_EQ(now.move.to_mm, before.move.to_mm);
  EXPECT_EQ(now.move.e_mm, before.move.e_mm);
  EXPECT_EQ(now.move.feed_mm_s, before.move.feed_mm_s);
  EXPECT_EQ(now.move.centre_mm, before.move.centre_mm);
  EXPECT_EQ(now.move.sweep_rad, before.move.sweep_rad);
}

TEST(Planner, ReturnsEveryRecordOnceInOrderAndUnchanged) {
  std::vector<Record> records;
  std::mt19937_64 random(11);
  for (const Record& move : test::random_path(11, 20000)) {
    records.push_back(move);
    switch (random() % 40) {
      case 0:
        records.push_back(test::event(RecordKind::dwell, 0.25));
        break;
      case 1:
        records.push_back(test::event(RecordKind::set_fan, 0.5));
        break;
      case 2:
        records.push_back(test::event(RecordKind::wait_heater));
        break;
      default:
        break;
    }
  }
  records.push_back(test::event(RecordKind::end_of_plate));
  for (std::size_t i = 0; i < records.size(); ++i)
    records[i].line = i + 1;
  for (const std::size_t in_runs : {std::size_t{1}, std::size_t{17}, interpreter::kMostRows}) {
    Machine machine;
    const test::Planned planned = test::plan(machine, records, in_runs);
    ASSERT_EQ(planned.kept.records.size(), records.size());
    for (std::size_t i = 0; i < records.size(); ++i) {
      expect_unchanged(planned.kept.records[i], records[i]);
      ASSERT_FALSE(testing::Test::HasFailure()) << i;
    }
    EXPECT_TRUE(planned.diagnostics.empty());
    // The runs that the moves come in change nothing, to the bit.
    EXPECT_EQ(planned.total_s(), test::plan(machine, records, 77).total_s());
  }
}

TEST(Planner, AgreesMoveByMoveWithTheSlowPlanner) {
  for (const CornerModel model : kModels) {
    for (const int window : {0, 1, 16, 300}) {
      for (unsigned seed = 0; seed < 4; ++seed) {
        SCOPED_TRACE(testing::Message() << "model " << static_cast<int>(model) << " window "
                                        << window << " seed " << seed);
        MotionLimits limits = soft_limits();
        limits.corner_model = model;
        limits.look_ahead_moves = window;
        if (seed == 1)
          limits.minimum_segment_time_s = 0.003;
        if (seed == 2)
          limits.minimum_print_feed_mm_s = limits.minimum_travel_feed_mm_s = 30.0;
        std::vector<Record> records = test::random_path(40 + seed, 4000);
        records.insert(records.begin() + 2000, test::event(RecordKind::wait_heater));
        const test::Planned planned = test::plan(limits, records);
        for (const oracle::SlowMove& slow : oracle::slow_plan(limits, records)) {
          // The slow form of the profile cancels: v0 near v of 300 mm/s leaves 6e-14 mm/s, divided
          // by the least acceleration of 300 mm/s2.
          ASSERT_NEAR(planned.motion_s(slow.record), slow.time_s, 1e-9 * slow.time_s + 1e-12)
              << "record " << slow.record;
        }
      }
    }
  }
}

// The planner's times are those of the slow planner (test above); here the slow planner's speeds,
// which the planner does not show, are held against the limits directly.
TEST(Planner, NoLimitIsExceededAndSpeedIsContinuous) {
  for (const CornerModel model : kModels) {
    MotionLimits limits = soft_limits();
    limits.corner_model = model;
    const std::vector<Record> records = test::random_path(5, 5000);
    const std::vector<oracle::SlowMove> moves = oracle::slow_plan(limits, records);
    ASSERT_GT(moves.size(), 4000U);
    for (std::size_t i = 0; i < moves.size(); ++i) {
      const oracle::SlowMove& move = moves[i];
      const double two_accel = 2.0 * move.acceleration;
      const Reach reach{two_accel * move.length_mm, move.speed, two_accel};
      const Phases open = phases(reach, move.v0, move.v1);
      const double up =
          open.accelerate_s > 1e-9 ? (open.peak_mm_s - move.v0) / open.accelerate_s : 0.0;
      const double down = open.brake_s > 1e-9 ? (open.peak_mm_s - move.v1) / open.brake_s : 0.0;
      for (std::size_t k = 0; k < 4; ++k) {
        const double share = std::abs(move.share[k]);
        ASSERT_LE(open.peak_mm_s * share, limits.speed_mm_s[k] * (1.0 + 1e-12));
        // Speeds of 250 mm/s round by 3e-14, over 1e-9 s and more: 3e-5 at worst.
        ASSERT_LE(up * share, limits.acceleration_mm_s2[k] * (1.0 + 1e-9) + 1e-4);
        ASSERT_LE(down * share, limits.acceleration_mm_s2[k] * (1.0 + 1e-9) + 1e-4);
      }
      ASSERT_GE(open.peak_mm_s, std::max(move.v0, move.v1) * (1.0 - 1e-12));
      if (i == 0)
        continue;
      ASSERT_EQ(move.v0, moves[i - 1].v1);
      for (std::size_t k = 0; k < 4 && model == CornerModel::speed_step; ++k)
        ASSERT_LE(move.v0 * std::abs(move.share[k] - moves[i - 1].share[k]),
                  limits.corner_step_mm_s[k] * (1.0 + 1e-12) + 1e-9);
    }
  }
}

TEST(Planner, TimesAreFiniteAndNeverNegative) {
  for (unsigned seed = 0; seed < 10; ++seed)
    for (const interpreter::Record& timed :
         test::plan(soft_limits(), test::random_path(seed, 3000)).kept.records) {
      ASSERT_TRUE(std::isfinite(timed.motion_s));
      ASSERT_GE(timed.motion_s, 0.0);
    }
}

std::vector<Record> split(const std::vector<Record>& records, std::size_t pieces) {
  std::vector<Record> result;
  for (const Record& record : records) {
    for (std::size_t i = 0; i < pieces; ++i) {
      Record piece = record;
      const auto share = [&](std::size_t part) {
        return static_cast<double>(part) / static_cast<double>(pieces);
      };
      for (std::size_t k = 0; k < 3; ++k) {
        const double way = record.move.to_mm[k] - record.move.from_mm[k];
        piece.move.from_mm[k] = record.move.from_mm[k] + share(i) * way;
        piece.move.to_mm[k] =
            i + 1 == pieces ? record.move.to_mm[k] : record.move.from_mm[k] + share(i + 1) * way;
      }
      piece.move.e_mm = record.move.e_mm / static_cast<double>(pieces);
      result.push_back(piece);
    }
  }
  return result;
}

TEST(Planner, PiecesOfOneLineAreRunThroughWhateverTheirDirectionRoundsTo) {
  // Their directions differ by rounding alone; a term that cancels there would stop between them.
  for (const CornerModel model : kModels)
    for (int degrees = 1; degrees < 360; degrees += 7) {
      MotionLimits limits;
      limits.corner_model = model;
      limits.print_acceleration_mm_s2 = 1000.0;
      const double angle = degrees * 3.14159265358979 / 180.0;
      std::vector<Record> pieces;
      test::Point at{101.3, 97.7, 0.2};
      for (int k = 1; k <= 100; ++k) {
        const test::Point to{101.3 + 0.7 * k * std::cos(angle), 97.7 + 0.7 * k * std::sin(angle),
                             0.2};
        pieces.push_back(test::line(at, to, 0.0, 100.0));
        pieces.back().flags = RecordFlag::kExtruderOn;
        at = to;
      }
      ASSERT_NEAR(test::plan(limits, pieces).total_s(), rest_to_rest_s(70.0, 100.0, 1000.0), 1e-6)
          << degrees;
    }
}

// By the corner speed a corner knows how long its legs are, so a split leg changes it.
TEST(Planner, SplittingStraightMovesChangesNoTotal) {
  for (const CornerModel model : {CornerModel::junction_deviation, CornerModel::speed_step}) {
    MotionLimits limits = soft_limits();
    limits.corner_model = model;
    const std::vector<Record> whole = test::random_path(9, 2000);
    const double total_s = test::plan(limits, whole).total_s();
    for (const std::size_t pieces : {2U, 3U, 10U}) {
      SCOPED_TRACE(pieces);
      EXPECT_NEAR(test::plan(limits, split(whole, pieces)).total_s(), total_s, 1e-9 * total_s);
    }
  }
}

/// The same machine in time units `factor` times as short.
MotionLimits faster(MotionLimits limits, double factor) {
  for (std::size_t k = 0; k < kAxisCount; ++k) {
    limits.speed_mm_s[k] *= factor;
    limits.acceleration_mm_s2[k] *= factor * factor;
    limits.corner_step_mm_s[k] *= factor;
  }
  limits.corner_speed_mm_s *= factor;
  limits.print_acceleration_mm_s2 *= factor * factor;
  limits.travel_acceleration_mm_s2 *= factor * factor;
  limits.retract_acceleration_mm_s2 *= factor * factor;
  return limits;
}

TEST(Planner, ScalesWithTimeAndWithLength) {
  for (const CornerModel model : kModels) {
    MotionLimits limits = soft_limits();
    limits.corner_model = model;
    const std::vector<Record> records = test::random_path(21, 3000);
    const double total_s = test::plan(limits, records).total_s();

    std::vector<Record> hurried = records;
    for (Record& record : hurried)
      record.move.feed_mm_s *= 2.0;
    // Twice the speeds, four times the accelerations: half the time. Factors of two round nothing.
    EXPECT_DOUBLE_EQ(test::plan(faster(limits, 2.0), hurried).total_s(), 0.5 * total_s);

    // Four times the lengths (the deviation is one) at 8 times the speeds and 16 times the
    // accelerations: length / speed and speed / acceleration both halve.
    std::vector<Record> larger = records;
    for (Record& record : larger) {
      for (std::size_t k = 0; k < 3; ++k) {
        record.move.from_mm[k] *= 4.0;
        record.move.to_mm[k] *= 4.0;
      }
      record.move.e_mm *= 4.0;
      record.move.feed_mm_s *= 8.0;
    }
    MotionLimits large = limits;
    for (std::size_t k = 0; k < kAxisCount; ++k) {
      large.speed_mm_s[k] *= 8.0;
      large.acceleration_mm_s2[k] *= 16.0;
      large.corner_step_mm_s[k] *= 8.0;
    }
    large.print_acceleration_mm_s2 *= 16.0;
    large.travel_acceleration_mm_s2 *= 16.0;
    large.retract_acceleration_mm_s2 *= 16.0;
    large.junction_deviation_mm *= 4.0;
    large.corner_speed_mm_s *= 8.0;
    EXPECT_DOUBLE_EQ(test::plan(large, larger).total_s(), 0.5 * total_s);
  }
}

TEST(Planner, TheReverseOfAPathTakesTheSameTime) {
  for (const CornerModel model : kModels) {
    MotionLimits limits = soft_limits();
    limits.corner_model = model;
    const std::vector<Record> records = test::random_path(33, 3000);
    std::vector<Record> reversed(records.rbegin(), records.rend());
    for (Record& record : reversed) {
      std::swap(record.move.from_mm, record.move.to_mm);
      // A path with the filament drawn the other way has the same shares up to sign.
      record.move.e_mm = -record.move.e_mm;
    }
    const double total_s = test::plan(limits, records).total_s();
    EXPECT_NEAR(test::plan(limits, reversed).total_s(), total_s, 1e-10 * total_s);
  }
}

TEST(Planner, SeeingMoreOrCorneringFasterIsNeverSlower) {
  // True for the caps of one problem: its solution is monotone in caps and window. It is not
  // claimed for accelerations of single moves, which shift speed from one move to the next.
  const std::vector<Record> records = test::random_path(44, 3000);
  MotionLimits limits = soft_limits();
  double before_s = std::numeric_limits<double>::infinity();
  for (const int window : {1, 2, 4, 8, 64, 1000, 0}) {
    limits.look_ahead_moves = window;
    const double total_s = test::plan(limits, records).total_s();
    EXPECT_LE(total_s, before_s * (1.0 + 1e-12)) << window;
    before_s = total_s;
  }
  for (const double deviation : {0.02, 0.05, 0.2}) {
    limits.junction_deviation_mm = deviation;
    const double total_s = test::plan(limits, records).total_s();
    EXPECT_LE(total_s, before_s * (1.0 + 1e-12)) << deviation;
    before_s = total_s;
  }
}

TEST(Planner, ZeroLengthMovesAreLookedThrough) {
  const std::vector<Record> two{test::line({0, 0, 0}, {20, 0, 0}, 1.0, 100.0),
                                test::line({20, 0, 0}, {40, 0, 0}, 1.0, 100.0)};
  std::vector<Record> with_nothing = two;
  with_nothing.insert(with_nothing.begin() + 1, test::line({20, 0, 0}, {20, 0, 0}, 0.0, 100.0));
  with_nothing.insert(with_nothing.begin() + 1, test::event(RecordKind::set_fan, 1.0));
  with_nothing.insert(with_nothing.begin() + 1, test::event(RecordKind::set_heater, 1.0));
  const test::Planned planned = test::plan(MotionLimits{}, with_nothing);
  EXPECT_EQ(planned.total_s(), test::plan(MotionLimits{}, two).total_s());
  EXPECT_EQ(planned.motion_s(3), 0.0);
}

TEST(Planner, StandsStillForWhatNeedsIt) {
  MotionLimits limits;
  limits.print_acceleration_mm_s2 = 1000.0;
  const Record first = test::line({0, 0, 0}, {20, 0, 0}, 1.0, 100.0);
  const Record second = test::line({20, 0, 0}, {40, 0, 0}, 1.0, 100.0);
  const double alone_s = test::plan(limits, {first}).total_s();
  EXPECT_NEAR(alone_s, 0.3, 1e-12);  // 20 mm at 100 mm/s and 1000 mm/s2: L / v + v / a
  for (const RecordKind kind :
       {RecordKind::dwell, RecordKind::wait_heater, RecordKind::select_tool,
        RecordKind::firmware_retract, RecordKind::firmware_return, RecordKind::pause,
        RecordKind::home, RecordKind::probe, RecordKind::takes_seconds, RecordKind::motors,
        RecordKind::end_of_plate}) {
    SCOPED_TRACE(static_cast<int>(kind));
    const test::Planned planned = test::plan(limits, {first, test::event(kind, 0.0), second});
    EXPECT_DOUBLE_EQ(planned.motion_s(0), alone_s);
    EXPECT_NEAR(planned.motion_s(2), alone_s, 1e-12);
  }
  EXPECT_NEAR(test::plan(limits, {first, second}).total_s(), 0.5, 1e-12);
}

TEST(Planner, StatedSecondsAndFirmwareRetraction) {
  Machine machine;
  machine.motion.retract_acceleration_mm_s2 = 2000.0;
  machine.motion.travel_acceleration_mm_s2 = 1000.0;
  machine.motion.speed_mm_s = {300.0, 300.0, 10.0, 60.0};
  machine.motion.acceleration_mm_s2 = {5000.0, 5000.0, 500.0, 5000.0};
  machine.procedures.retract_mm = 2.0;
  machine.procedures.retract_speed_mm_s = 40.0;
  machine.procedures.return_extra_mm = 0.5;
  machine.procedures.return_speed_mm_s = 100.0;  // the axis allows 60
  machine.procedures.retract_lift_mm = 0.4;
  const test::Planned planned = test::plan(
      machine, {test::event(RecordKind::dwell, 1.5), test::event(RecordKind::takes_seconds, 12.0),
                test::event(RecordKind::firmware_retract), test::event(RecordKind::firmware_return),
                test::event(RecordKind::home), test::event(RecordKind::set_fan, 3.0)});
  const double lift_s = 0.4 / 10.0 + 10.0 / 500.0;
  EXPECT_EQ(planned.motion_s(0), 1.5);
  EXPECT_EQ(planned.motion_s(1), 12.0);
  EXPECT_NEAR(planned.motion_s(2), 2.0 / 40.0 + 40.0 / 2000.0 + lift_s, 1e-12);
  EXPECT_NEAR(planned.motion_s(3), 2.5 / 60.0 + 60.0 / 2000.0 + lift_s, 1e-12);
  EXPECT_EQ(planned.motion_s(4), 0.0);
  EXPECT_EQ(planned.motion_s(5), 0.0);
}

TEST(Planner, AnArcTakesTheTimeOfAStraightPathAtItsCurvatureLimit) {
  MotionLimits limits;
  limits.print_acceleration_mm_s2 = 1000.0;
  for (const double radius : {2.0, 5.0, 30.0}) {
    Record arc = test::line({radius, 0, 0}, {-radius, 0, 0}, 0.0, 150.0);
    arc.flags = RecordFlag::kExtruderOn;
    arc.move.sweep_rad = 3.14159265358979;
    const double length_mm = arc.move.sweep_rad * radius;
    const double speed = std::min(150.0, std::sqrt(1000.0 * radius));
    const test::Planned planned = test::plan(limits, {arc});
    EXPECT_NEAR(planned.motion_s(0), rest_to_rest_s(length_mm, speed, 1000.0), 1e-12);
  }
}

TEST(Planner, AnArcKeepsTheLimitsOfTheAxesItTurnsThrough) {
  constexpr double kPi = 3.14159265358979;
  MotionLimits limits;
  limits.print_acceleration_mm_s2 = 4000.0;
  // From 60 to 120 degrees on a circle the tangent lies mostly along X, the normal along Y, fully
  // so at 90 degrees.
  const double radius = 40.0;
  Record arc = test::line({0.5 * radius, radius * std::sqrt(0.75), 0},
                          {-0.5 * radius, radius * std::sqrt(0.75), 0}, 1.0, 1000.0);
  arc.move.sweep_rad = kPi / 3.0;
  const double length_mm = radius * kPi / 3.0;
  const auto time_s = [&](std::array<double, 4> speed, std::array<double, 4> acceleration) {
    limits.speed_mm_s = speed;
    limits.acceleration_mm_s2 = acceleration;
    return test::plan(limits, {arc}).motion_s(0);
  };
  const std::array<double, 4> free{1e4, 1e4, 1e4, 1e4};
  const std::array<double, 4> strong{1e5, 1e5, 1e5, 1e5};
  EXPECT_NEAR(time_s({100.0, 1e4, 1e4, 1e4}, strong), rest_to_rest_s(length_mm, 100.0, 4000.0),
              1e-12);
  // Y moves along at most cos 60 degrees = 1/2 of the path.
  EXPECT_NEAR(time_s({1e4, 60.0, 1e4, 1e4}, strong), rest_to_rest_s(length_mm, 120.0, 4000.0),
              1e-11);
  // Y's 500 mm/s2 hold the path back: 1000 along it, 500 across it.
  EXPECT_NEAR(time_s(free, {1e5, 500.0, 1e5, 1e5}),
              rest_to_rest_s(length_mm, std::sqrt(500.0 * radius), 1000.0), 1e-11);
}

TEST(Planner, ALineRunsIntoATangentArcWithoutStopping) {
  MotionLimits limits;
  limits.print_acceleration_mm_s2 = 1000.0;
  Record arc = test::line({20, 0, 0}, {30, 10, 0}, 1.0, 50.0);
  arc.move.centre_mm = {20.0, 10.0};
  arc.move.sweep_rad = 3.14159265358979 / 2.0;
  const test::Planned planned =
      test::plan(limits, {test::line({0, 0, 0}, {20, 0, 0}, 1.0, 50.0), arc,
                          test::line({30, 10, 0}, {30, 30, 0}, 1.0, 50.0)});
  const double length_mm = 20.0 + 5.0 * 3.14159265358979 + 20.0;
  EXPECT_NEAR(planned.total_s(), rest_to_rest_s(length_mm, 50.0, 1000.0), 1e-9);
}

/// Every other move or so of a path as an arc with the same ends, left or right, flat or not.
std::vector<Record> with_arcs(std::vector<Record> records, unsigned seed) {
  std::mt19937_64 random(seed);
  std::uniform_real_distribution<double> sweep(0.05, 5.0);
  for (Record& record : records) {
    interpreter::Move& move = record.move;
    const double x_mm = move.to_mm[0] - move.from_mm[0];
    const double y_mm = move.to_mm[1] - move.from_mm[1];
    if (record.kind != RecordKind::move || std::hypot(x_mm, y_mm) < 1e-3 || random() % 2 == 0)
      continue;
    move.sweep_rad = random() % 2 == 0 ? sweep(random) : -sweep(random);
    const double across = 0.5 / std::tan(0.5 * move.sweep_rad);  // of the chord to the centre
    move.centre_mm = {0.5 * (move.from_mm[0] + move.to_mm[0]) - across * y_mm,
                      0.5 * (move.from_mm[1] + move.to_mm[1]) + across * x_mm};
  }
  return records;
}

TEST(Planner, ArcsAmongOtherMovesAgreeWithTheSlowPlanner) {
  for (const CornerModel model : kModels)
    for (const int window : {0, 16})
      for (unsigned seed = 0; seed < 4; ++seed) {
        SCOPED_TRACE(testing::Message() << "model " << static_cast<int>(model) << " window "
                                        << window << " seed " << seed);
        MotionLimits limits;
        limits.speed_mm_s = {5000.0, 5000.0, 5000.0, 5000.0};
        limits.acceleration_mm_s2 = {1e6, 1e6, 1e6, 1e6};
        limits.print_acceleration_mm_s2 = 800.0;
        limits.corner_model = model;
        limits.look_ahead_moves = window;
        const std::vector<Record> records = with_arcs(test::random_path(70 + seed, 3000), seed);
        const test::Planned planned = test::plan(limits, records);
        for (const oracle::SlowMove& slow : oracle::slow_plan(limits, records)) {
          // Angles and their functions round by some 1e-16 each; corners near straight make more.
          ASSERT_NEAR(planned.motion_s(slow.record), slow.time_s, 1e-8 * slow.time_s)
              << "record " << slow.record;
        }
      }
}

TEST(Planner, LimitsOfThePlateHoldForTheMovesAfter) {
  const Record move = test::line({0, 0, 0}, {100, 0, 0}, 2.0, 100.0);
  const Record back = test::line({100, 0, 0}, {0, 0, 0}, 2.0, 100.0);
  const auto time_after = [&](const Record& limit, MotionLimits limits = {}) {
    return test::plan(limits, {move, limit, back}).motion_s(2);
  };
  MotionLimits plain;
  const double before_s = test::plan(plain, {move, back}).motion_s(1);
  EXPECT_NEAR(time_after(test::set_limit(Limit::print_acceleration_mm_s2, 500.0)),
              100.0 / 100.0 + 100.0 / 500.0, 1e-12);
  EXPECT_NEAR(time_after(test::set_limit(Limit::axis_speed_mm_s, 50.0)), 100.0 / 50.0 + 50.0 / 2000,
              1e-12);
  EXPECT_NEAR(time_after(test::set_limit(Limit::axis_acceleration_mm_s2, 400.0)),
              100.0 / 100.0 + 100.0 / 400.0, 1e-12);
  EXPECT_EQ(time_after(test::set_limit(Limit::travel_acceleration_mm_s2, 100.0)), before_s);
  EXPECT_NEAR(time_after(test::set_limit(Limit::minimum_print_feed_mm_s, 200.0)),
              100.0 / 200.0 + 200.0 / 2000.0, 1e-12);
  EXPECT_NEAR(time_after(test::set_limit(Limit::minimum_segment_time_s, 10.0)),
              10.0 + 10.0 / 2000.0, 1e-12);
}

TEST(Planner, ACoordinateThatIsNoNumberIsNoFeedOfFilament) {
  const test::Planned planned =
      test::plan(MotionLimits{}, {test::line({0, 0, 0}, {std::nan(""), 0, 0}, 5.0, 10.0)});
  ASSERT_EQ(planned.diagnostics.size(), 1U);
  EXPECT_EQ(planned.diagnostics[0].code, "move-too-long");
  EXPECT_EQ(planned.motion_s(0), 0.0);
}

TEST(Planner, ImpossibleInputIsNamedAndHarmless) {
  Record slow = test::line({0, 0, 0}, {1, 0, 0}, 0.0, 1e-300);
  Record far = test::line({0, 0, 0}, {1e250, 0, 0}, 0.0, 10.0);
  const test::Planned planned =
      test::plan(MotionLimits{}, {slow, far, test::set_limit(Limit::print_acceleration_mm_s2, 0.0),
                                  test::set_limit(Limit::axis_speed_mm_s, -3.0),
                                  test::set_limit(Limit::axis_speed_mm_s, 1e300),
                                  test::line({0, 0, 0}, {10, 0, 0}, 1.0, std::nan(""))});
  std::vector<std::string> codes;
  for (const Diagnostic& diagnostic : planned.diagnostics)
    codes.push_back(diagnostic.code);
  EXPECT_EQ(codes, (std::vector<std::string>{"feed-too-low", "move-too-long", "limit-refused"}));
  EXPECT_EQ(planned.diagnostics[2].count, 3U);
  for (const interpreter::Record& timed : planned.kept.records) {
    EXPECT_TRUE(std::isfinite(timed.motion_s));
  }
  EXPECT_GT(planned.motion_s(5), 0.0);  // NaN is no feed: as fast as the axes allow
}

TEST(Planner, MemoryIsBoundedBehindAMoveThatWaits) {
  // A move, then nothing but fan words: the move's exit stays open, and the words queue up.
  std::vector<Record> records{test::line({0, 0, 0}, {10, 0, 0}, 1.0, 50.0)};
  records.resize(400000, test::event(RecordKind::set_fan, 1.0));
  Machine machine;
  test::Kept kept;
  Planner planner(machine, kept);
  for (std::size_t i = 0; i < records.size(); i += 1000) {
    test::give(std::span(records).subspan(i, 1000), planner);
    ASSERT_LE(i + 1000 - kept.records.size(), LookAhead::kMostPending);
  }
  planner.finish();
  EXPECT_EQ(kept.records.size(), records.size());
}

TEST(Planner, EventsWithoutMovesFlowOn) {
  const std::vector<Record> records(5000, test::event(RecordKind::set_fan, 1.0));
  test::Kept kept;
  Machine machine;
  Planner planner(machine, kept);
  test::give(records, planner);
  EXPECT_GT(kept.records.size() + 256, records.size());
}

}  // namespace
}  // namespace platetally::motion
