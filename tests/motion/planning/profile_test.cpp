#include "motion/planning/profile.hpp"

#include "motion/planning/support.hpp"

namespace platetally::motion {
namespace {

Reach reach_of(double length_mm, double speed, double acceleration) {
  return {2.0 * acceleration * length_mm, speed, 2.0 * acceleration};
}

TEST(Profile, AgreesWithTheTableOfTrapezoids) {
  const auto table = test::read_check("motion_trapezoid.json");
  ASSERT_EQ(table["cases"].size(), 12U);
  for (const auto& row : table["cases"]) {
    SCOPED_TRACE(row["name"].get<std::string>());
    const double v0 = row["v_entry"];
    const double v1 = row["v_exit"];
    const Reach reach = reach_of(row["L_mm"], row["v_max"], row["a"]);
    const Phases open = phases(reach, v0, v1);
    EXPECT_NEAR(travel_time_s(reach, v0, v0 * v0, v1, v1 * v1), row["t_total"].get<double>(), 1e-9);
    EXPECT_NEAR(open.time_s(), row["t_total"].get<double>(), 1e-9);
    EXPECT_NEAR(open.peak_mm_s, row["v_peak"].get<double>(), 1e-9);
    EXPECT_NEAR(open.accelerate_s, row["t_acc"].get<double>(), 1e-9);
    EXPECT_NEAR(open.cruise_s, row["t_cruise"].get<double>(), 1e-9);
    EXPECT_NEAR(open.brake_s, row["t_dec"].get<double>(), 1e-9);
    EXPECT_NEAR(open.accelerate_mm, row["s_acc"].get<double>(), 1e-9);
    EXPECT_NEAR(open.cruise_mm, row["s_cruise"].get<double>(), 1e-9);
    EXPECT_NEAR(open.brake_mm, row["s_dec"].get<double>(), 1e-9);
  }
}

TEST(Profile, AgreesWithAnIndependentKinematicsLibrary) {
  const auto rows = test::read_check("motion_kdl_trap.json");
  ASSERT_EQ(rows.size(), 7U);
  for (const auto& row : rows) {
    SCOPED_TRACE(row["name"].get<std::string>());
    const Reach reach = reach_of(row["L_mm"], row["v_max"], row["a"]);
    EXPECT_NEAR(rest_to_rest_s(row["L_mm"], row["v_max"], row["a"]),
                row["duration_s"].get<double>(), 1e-12);
    EXPECT_NEAR(phases(reach, 0.0, 0.0).peak_mm_s, row["v_at_T_over_2"].get<double>(), 1e-12 * 500);
  }
}

TEST(Profile, KeepsItsDigitsOnTinyPiecesOfAFastLine) {
  // A piece of 1e-4 mm at 300 mm/s lasts L / v up to the change of speed within it, which is below
  // a L / v^2 = 6e-7 of it; from 300 mm/s without change exactly L / v.
  const Reach reach = reach_of(1e-4, 300.0, 500.0);
  EXPECT_NEAR(travel_time_s(reach, 300.0, 9e4, 300.0, 9e4), 1e-4 / 300.0, 1e-15 * 1e-6);
  // Speeding up all the way: T = 2 L / (v0 + v1) exactly.
  const double w0 = 100.0 * 100.0;
  const double w1 = w0 + reach.square;
  EXPECT_NEAR(travel_time_s(reach, 100.0, w0, std::sqrt(w1), w1), 2e-4 / (100.0 + std::sqrt(w1)),
              1e-11 * 1e-6);
}

TEST(Profile, OpenedPhasesCoverTheLengthAndTheTime) {
  std::mt19937_64 random(7);
  const auto uniform = [&](double low, double high) {
    return std::uniform_real_distribution<double>(low, high)(random);
  };
  for (int i = 0; i < 2000; ++i) {
    const double length = std::pow(10.0, uniform(-3.0, 2.0));
    const double speed = uniform(1.0, 500.0);
    const double acceleration = uniform(100.0, 20000.0);
    const Reach reach = reach_of(length, speed, acceleration);
    const double v0 = uniform(0.0, speed);
    const double low = std::sqrt(std::max(0.0, v0 * v0 - reach.square));
    const double v1 = uniform(low, std::min(speed, std::sqrt(v0 * v0 + reach.square)));
    const Phases open = phases(reach, v0, v1);
    // w of 2.5e5 rounds by 3e-11; divided by 2a >= 200 that is 1.5e-13 mm and, at speeds of 1 mm/s
    // and more, no more than that in seconds; some operations each.
    EXPECT_NEAR(open.accelerate_mm + open.cruise_mm + open.brake_mm, length, 1e-11);
    EXPECT_NEAR(open.time_s(), travel_time_s(reach, v0, v0 * v0, v1, v1 * v1), 1e-11);
  }
}

TEST(Profile, NoLengthTakesNoTime) {
  EXPECT_EQ(rest_to_rest_s(0.0, 10.0, 100.0), 0.0);
}

}  // namespace
}  // namespace platetally::motion
