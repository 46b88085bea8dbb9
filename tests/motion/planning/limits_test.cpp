// What a plate may change of the limits, what a pace keeps to, and chords of arcs.
#include "motion/planning/limits.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <random>

#include "motion/planning/arc_chords.hpp"
#include "motion/planning/support.hpp"
#include "support/test_names.hpp"

namespace platetally::motion {
namespace {

using interpreter::Limit;

interpreter::Event event(Limit limit, std::array<double, 4> values) {
  return test::set_limit(limit, values).event;
}
interpreter::Event event(Limit limit, double value) {
  return test::set_limit(limit, value).event;
}

struct One {
  const char* name;
  Limit limit;
  double MotionLimits::*member;
  bool may_be_zero;
};

class SingleLimit : public testing::TestWithParam<One> {};

TEST_P(SingleLimit, IsSetWhereItIsSoundAndElseLeft) {
  const One& one = GetParam();
  const MotionLimits machine;
  for (const double value : {0.5, 3.0, 1234.5, Limits::kLeast, Limits::kMost}) {
    Limits limits(machine);
    EXPECT_TRUE(limits.set(event(one.limit, value)));
    MotionLimits expected = machine;
    expected.*one.member = value;
    EXPECT_EQ(limits.present(), expected) << "it alone: " << value;
  }
  for (const double value : {-1.0, -0.001, HUGE_VAL, -HUGE_VAL, 2.0 * Limits::kMost}) {
    Limits limits(machine);
    EXPECT_FALSE(limits.set(event(one.limit, value))) << value;
    EXPECT_EQ(limits.present(), machine);
  }
  Limits limits(machine);
  EXPECT_EQ(limits.set(event(one.limit, 0.0)), one.may_be_zero);
  EXPECT_TRUE(Limits(machine).set(event(one.limit, std::nan("")))) << "not stated";
}

INSTANTIATE_TEST_SUITE_P(
    Of, SingleLimit,
    testing::Values(One{"print acceleration", Limit::print_acceleration_mm_s2,
                        &MotionLimits::print_acceleration_mm_s2, false},
                    One{"travel acceleration", Limit::travel_acceleration_mm_s2,
                        &MotionLimits::travel_acceleration_mm_s2, false},
                    One{"retract acceleration", Limit::retract_acceleration_mm_s2,
                        &MotionLimits::retract_acceleration_mm_s2, false},
                    One{"junction deviation", Limit::junction_deviation_mm,
                        &MotionLimits::junction_deviation_mm, true},
                    One{"corner speed", Limit::corner_speed_mm_s, &MotionLimits::corner_speed_mm_s,
                        true},
                    One{"print feed", Limit::minimum_print_feed_mm_s,
                        &MotionLimits::minimum_print_feed_mm_s, true},
                    One{"travel feed", Limit::minimum_travel_feed_mm_s,
                        &MotionLimits::minimum_travel_feed_mm_s, true},
                    One{"segment time", Limit::minimum_segment_time_s,
                        &MotionLimits::minimum_segment_time_s, true}),
    [](const auto& one) { return platetally::test::readable(one.param.name); });

TEST(Limits, OfAxesAreSetAxisByAxis) {
  const MotionLimits machine;
  const double none = std::nan("");
  Limits limits(machine);
  EXPECT_TRUE(limits.set(event(Limit::axis_speed_mm_s, {none, 77.0, none, 9.0})));
  EXPECT_EQ(limits.present().speed_mm_s,
            (std::array{machine.speed_mm_s[0], 77.0, machine.speed_mm_s[2], 9.0}));
  EXPECT_FALSE(limits.set(event(Limit::axis_acceleration_mm_s2, {900.0, -1.0, none, 0.0})));
  EXPECT_EQ(limits.present().acceleration_mm_s2,
            (std::array{900.0, machine.acceleration_mm_s2[1], machine.acceleration_mm_s2[2],
                        machine.acceleration_mm_s2[3]}))
      << "the sound ones are taken";
  EXPECT_TRUE(limits.set(event(Limit::corner_step_mm_s, {0.0, none, none, 4.0})));
  EXPECT_EQ(limits.present().corner_step_mm_s[0], 0.0);
  EXPECT_EQ(limits.present().corner_step_mm_s[3], 4.0);
}

TEST(Limits, OfThePathRaiseTheAxesThatAreSlower) {
  MotionLimits machine;
  machine.acceleration_mm_s2 = {1000, 9000, 100, 500};
  Limits limits(machine);
  EXPECT_TRUE(limits.set(event(Limit::path_acceleration_mm_s2, 4000.0)));
  EXPECT_EQ(limits.present().print_acceleration_mm_s2, 4000.0);
  EXPECT_EQ(limits.present().travel_acceleration_mm_s2, 4000.0);
  EXPECT_EQ(limits.present().retract_acceleration_mm_s2, machine.retract_acceleration_mm_s2);
  EXPECT_EQ(limits.present().acceleration_mm_s2, (std::array<double, 4>{4000, 9000, 100, 500}));
  for (const double value : {0.0, -5.0, std::nan(""), HUGE_VAL})
    EXPECT_FALSE(limits.set(event(Limit::path_acceleration_mm_s2, value))) << value;
}

TEST(Limits, AShareIsOneOfAWholeAndFollowsFromBraking) {
  MotionLimits machine;
  machine.print_acceleration_mm_s2 = 2000.0;
  Limits limits(machine);
  EXPECT_TRUE(limits.set(event(Limit::least_cruise_share, 0.5)));
  EXPECT_EQ(limits.present().least_cruise_share, 0.5);
  for (const double value : {1.0, -0.1, 1.5, std::nan("")})
    EXPECT_FALSE(limits.set(event(Limit::least_cruise_share, value))) << value;
  EXPECT_EQ(limits.present().least_cruise_share, 0.5);
  EXPECT_TRUE(limits.set(event(Limit::braking_acceleration_mm_s2, 500.0)));
  EXPECT_EQ(limits.present().least_cruise_share, 0.75);
  EXPECT_TRUE(limits.set(event(Limit::braking_acceleration_mm_s2, 2000.0)));
  EXPECT_EQ(limits.present().least_cruise_share, 0.0);
  EXPECT_TRUE(limits.set(event(Limit::braking_acceleration_mm_s2, 1e6)));
  EXPECT_EQ(limits.present().least_cruise_share, 0.0)
      << "braking harder than it prints is no share";
  EXPECT_FALSE(limits.set(event(Limit::braking_acceleration_mm_s2, 0.0)));
  limits.leave_out_cruise_share();
  EXPECT_EQ(limits.present().least_cruise_share, 0.0);
}

TEST(Pace, KeepsEveryAxisWithinItsLimitAndOneAtIt) {
  std::mt19937_64 random(111);
  const auto uniform = [&](double low, double high) {
    return std::uniform_real_distribution<double>(low, high)(random);
  };
  for (int round = 0; round < 500; ++round) {
    MotionLimits machine;
    for (std::size_t axis = 0; axis < 4; ++axis) {
      machine.speed_mm_s[axis] = uniform(5, 500);
      machine.acceleration_mm_s2[axis] = uniform(50, 9000);
    }
    machine.print_acceleration_mm_s2 = uniform(100, 9000);
    const Limits limits(machine);
    const auto move = test::line({0, 0, 0}, {uniform(-50, 50), uniform(-50, 50), uniform(-5, 5)},
                                 uniform(0, 9), 1)
                          .move;
    const Path path = straight_path(move);
    const double feed_mm_s = uniform(1, 900);
    const Pace pace = limits.line_pace(path, feed_mm_s, Use::print);
    bool speed_at_limit = std::abs(pace.speed_mm_s - feed_mm_s) < 1e-9 * feed_mm_s;
    bool acceleration_at_limit =
        std::abs(pace.acceleration_mm_s2 - machine.print_acceleration_mm_s2) < 1e-6;
    for (std::size_t axis = 0; axis < 4; ++axis) {
      const double share = std::abs(path.entry[axis]);
      EXPECT_LE(share * pace.speed_mm_s, machine.speed_mm_s[axis] * (1 + 1e-12));
      EXPECT_LE(share * pace.acceleration_mm_s2, machine.acceleration_mm_s2[axis] * (1 + 1e-12));
      speed_at_limit =
          speed_at_limit || share * pace.speed_mm_s > machine.speed_mm_s[axis] * (1 - 1e-9);
      acceleration_at_limit =
          acceleration_at_limit ||
          share * pace.acceleration_mm_s2 > machine.acceleration_mm_s2[axis] * (1 - 1e-9);
    }
    EXPECT_LE(pace.speed_mm_s, feed_mm_s * (1 + 1e-12));
    EXPECT_TRUE(speed_at_limit) << "no slower than something asks for";
    EXPECT_TRUE(acceleration_at_limit);
  }
}

TEST(Pace, IsRaisedToTheLeastFeedAndLoweredToTheLeastTime) {
  MotionLimits machine;
  machine.minimum_print_feed_mm_s = 20.0;
  machine.minimum_travel_feed_mm_s = 50.0;
  machine.minimum_segment_time_s = 0.05;
  const Limits limits(machine);
  const auto speed_of = [&](double length_mm, double feed_mm_s, Use use) {
    return limits
        .line_pace(straight_path(test::line({0, 0, 0}, {length_mm, 0, 0}, 0.1, 1).move), feed_mm_s,
                   use)
        .speed_mm_s;
  };
  EXPECT_DOUBLE_EQ(speed_of(30, 5, Use::print), 20.0);
  EXPECT_DOUBLE_EQ(speed_of(30, 5, Use::travel), 50.0);
  EXPECT_DOUBLE_EQ(speed_of(30, 120, Use::print), 120.0);
  EXPECT_DOUBLE_EQ(speed_of(2, 120, Use::print), 40.0) << "2 mm in a twentieth of a second";
  EXPECT_DOUBLE_EQ(speed_of(0.5, 5, Use::print), 10.0) << "the time is asked after the feed";
  EXPECT_DOUBLE_EQ(speed_of(5000, 0, Use::print), machine.speed_mm_s[0]) << "no feed: the axes";
}

TEST(ArcChords, LieOnTheCircleEvenlyAndEndWhereTheArcDoes) {
  std::mt19937_64 random(112);
  const auto uniform = [&](double low, double high) {
    return std::uniform_real_distribution<double>(low, high)(random);
  };
  for (int round = 0; round < 200; ++round) {
    auto move = test::line({}, {}, 1.0, 30.0).move;
    const double radius_mm = uniform(0.5, 60), begin = uniform(-3, 3), sweep = uniform(-12, 12);
    move.centre_mm = {uniform(-50, 50), uniform(-50, 50)};
    move.sweep_rad = sweep;
    const auto on_circle = [&](double angle, double z_mm) {
      return std::array{move.centre_mm[0] + radius_mm * std::cos(angle),
                        move.centre_mm[1] + radius_mm * std::sin(angle), z_mm};
    };
    move.from_mm = on_circle(begin, 1.0);
    move.to_mm = on_circle(begin + sweep, 3.0);
    const double length_mm = std::hypot(radius_mm * sweep, 2.0);
    const double chord_mm = uniform(0.1, 20);
    const ArcChords chords(move, length_mm, chord_mm);
    EXPECT_EQ(chords.count(),
              std::max<std::size_t>(1, static_cast<std::size_t>(length_mm / chord_mm)));
    EXPECT_FALSE(chords.are_too_many());
    EXPECT_EQ(chords.end_mm(chords.count()), move.to_mm);
    std::array<double, 3> at = move.from_mm;
    double polygon_mm = 0.0;
    for (std::size_t k = 1; k <= chords.count(); ++k) {
      const auto end = chords.end_mm(k);
      EXPECT_NEAR(std::hypot(end[0] - move.centre_mm[0], end[1] - move.centre_mm[1]), radius_mm,
                  1e-9);
      EXPECT_NEAR(end[2] - at[2], 2.0 / static_cast<double>(chords.count()), 1e-9);
      polygon_mm += std::hypot(end[0] - at[0], end[1] - at[1], end[2] - at[2]);
      at = end;
    }
    EXPECT_LE(polygon_mm, length_mm + 1e-9) << "a chord is no longer than its arc";
    // A chord of angle a is shorter by a^2 / 24 at first order.
    const double angle = std::abs(sweep) / static_cast<double>(chords.count());
    EXPECT_GE(polygon_mm, length_mm * (1.0 - angle * angle / 24.0) - 1e-9);
  }
}

TEST(ArcChords, BeyondTenThousandAreTooMany) {
  auto move = test::line({10, 0, 0}, {-10, 0, 0}, 1.0, 30.0).move;
  move.centre_mm = {0, 0};
  move.sweep_rad = std::numbers::pi;
  EXPECT_FALSE(ArcChords(move, 10'000.0, 1.0).are_too_many());
  EXPECT_TRUE(ArcChords(move, 10'001.0, 1.0).are_too_many());
  EXPECT_TRUE(ArcChords(move, 1e300, 1.0).are_too_many()) << "whatever its length";
  EXPECT_EQ(ArcChords(move, 0.5, 1.0).count(), 1U);
}

/// Right angles by junction deviation: v^2 = a d sin 45 / (1 - sin 45), worked out by the angle.
double right_angle_square(double acceleration_mm_s2, double deviation_mm) {
  const double half = std::sin(std::numbers::pi / 4.0);
  return acceleration_mm_s2 * deviation_mm * half / (1.0 - half);
}

/// The fastest run over legs that meet at right angles, in steps of a thousandth of a leg.
double by_small_steps(const std::vector<double>& legs_mm, const std::vector<double>& feeds_mm_s,
                      double acceleration_mm_s2, double deviation_mm) {
  constexpr int kSteps = 2000;
  std::vector<double> square, step_mm;
  for (std::size_t leg = 0; leg < legs_mm.size(); ++leg)
    for (int i = 0; i < kSteps; ++i) {
      double cap = feeds_mm_s[leg] * feeds_mm_s[leg];
      if (i == 0)
        cap = leg == 0 ? 0.0
                       : std::min({cap, feeds_mm_s[leg - 1] * feeds_mm_s[leg - 1],
                                   right_angle_square(acceleration_mm_s2, deviation_mm)});
      square.push_back(cap);
      step_mm.push_back(legs_mm[leg] / kSteps);
    }
  square.push_back(0.0);
  for (std::size_t i = 0; i < step_mm.size(); ++i)
    square[i + 1] = std::min(square[i + 1], square[i] + 2.0 * acceleration_mm_s2 * step_mm[i]);
  for (std::size_t i = step_mm.size(); i-- > 0;)
    square[i] = std::min(square[i], square[i + 1] + 2.0 * acceleration_mm_s2 * step_mm[i]);
  double seconds = 0.0;
  for (std::size_t i = 0; i < step_mm.size(); ++i)
    seconds += 2.0 * step_mm[i] / (std::sqrt(square[i]) + std::sqrt(square[i + 1]));
  return seconds;
}

TEST(Planner, TakesTheTimeOfSmallStepsAlongLegsAtRightAngles) {
  std::mt19937_64 random(113);
  const auto uniform = [&](double low, double high) {
    return std::uniform_real_distribution<double>(low, high)(random);
  };
  for (int round = 0; round < 40; ++round) {
    MotionLimits limits;
    limits.acceleration_mm_s2 = {1e5, 1e5, 1e5, 1e5};
    limits.speed_mm_s = {2000, 2000, 2000, 2000};
    limits.travel_acceleration_mm_s2 = uniform(500, 8000);
    limits.junction_deviation_mm = uniform(0.002, 0.1);
    std::vector<double> legs_mm, feeds_mm_s;
    std::vector<test::Record> records;
    test::Point at{0, 0, 0};
    const std::size_t count = 1 + static_cast<std::size_t>(round) % 9;
    for (std::size_t leg = 0; leg < count; ++leg) {
      legs_mm.push_back(uniform(0.1, 40));
      feeds_mm_s.push_back(uniform(10, 400));
      test::Point to = at;
      to[leg % 2] += legs_mm.back();
      records.push_back(test::line(at, to, 0.0, feeds_mm_s.back()));
      at = to;
    }
    const double expected_s = by_small_steps(legs_mm, feeds_mm_s, limits.travel_acceleration_mm_s2,
                                             limits.junction_deviation_mm);
    // The corner of the profile falls within a step: a thousandth of a leg.
    EXPECT_NEAR(test::plan(limits, records).total_s(), expected_s, 1e-3 * expected_s) << round;
  }
}

}  // namespace
}  // namespace platetally::motion
