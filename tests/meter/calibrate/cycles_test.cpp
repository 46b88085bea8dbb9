// Thermostats in a log of watts.
#include "meter/calibrate/cycles.hpp"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <cmath>
#include <random>

namespace platetally::calibrate {
namespace {

/// A warm-up of a minute, then on for `on_s` of every `period_s`, by a plug that looks every 2 s.
MeterLog switched(double period_s, double on_s, double swing_w) {
  std::mt19937 random(1);
  std::normal_distribution<double> noise(0.0, 2.0);
  std::string text = "time,watts\n";
  for (double t_s = 0.0; t_s < 3600.0; t_s += 2.0) {
    const bool on = t_s < 60.0 || std::fmod(t_s, period_s) < on_s;
    text += fmt::format("{},{:.1f}\n", t_s, 45.0 + (on ? swing_w : 0.0) + noise(random));
  }
  return parse_meter_log(text, "log");
}

TEST(Cycles, OfABedThatSwitchesAreFound) {
  const Cycle cycle = cycle_of(switched(32.0, 6.0, 200.0));
  EXPECT_NEAR(cycle.period_s, 32.0, 2.0);
  EXPECT_NEAR(cycle.duty, 6.0 / 32.0, 0.07);
  EXPECT_NEAR(cycle.high_w - cycle.low_w, 200.0, 10.0);
  // Of a power that is on a share d of the time: swing times the root of d (1 - d).
  EXPECT_NEAR(cycle.deviation_w(), 200.0 * std::sqrt(cycle.duty * (1.0 - cycle.duty)), 15.0);
}

TEST(Cycles, AreToldByWattsThatGoPastTheMiddleOnly) {
  // 200 W on the half of 40 s, with a step at the middle on the way down.
  std::string text = "time,watts\n";
  for (double t_s = 0.0; t_s < 3600.0; t_s += 2.0) {
    const double phase_s = std::fmod(t_s, 40.0);
    text += fmt::format("{},{}\n", t_s, phase_s < 20.0 ? 245.0 : phase_s < 24.0 ? 145.0 : 45.0);
  }
  const Cycle cycle = cycle_of(parse_meter_log(text, "log"));
  EXPECT_NEAR(cycle.period_s, 40.0, 1e-9);
  EXPECT_EQ(cycle.low_w, 45.0);
  EXPECT_EQ(cycle.high_w, 245.0);
  EXPECT_NEAR(cycle.duty, 24.0 / 40.0, 1e-9) << "off is what lies below";
}

TEST(Cycles, OfASmallSwingAreNone) {
  const auto between = [](double low_w, double high_w) {
    std::string text = "time,watts\n";
    for (int t_s = 0; t_s < 3600; t_s += 2)
      text += fmt::format("{},{}\n", t_s, t_s % 32 < 16 ? high_w : low_w);
    return cycle_of(parse_meter_log(text, "log")).period_s;
  };
  // A fifth of the mean at the least, and eight watts.
  EXPECT_EQ(between(100.0, 118.0), 0.0);
  EXPECT_EQ(between(100.0, 130.0), 32.0);
  EXPECT_EQ(between(10.0, 17.0), 0.0);
  EXPECT_EQ(between(10.0, 19.0), 32.0);
}

TEST(Cycles, OfALogOfAFewSamplesAreNone) {
  MeterLog log = switched(32.0, 16.0, 200.0);
  log.samples.resize(31);
  const Cycle cycle = cycle_of(log);
  EXPECT_EQ(cycle.period_s, 0.0);
  EXPECT_EQ(cycle.deviation_w(), 0.0);
  EXPECT_EQ(cycle_of(MeterLog{}).period_s, 0.0);
}

TEST(Cycles, AHandfulOfSwitchesIsNoThermostat) {
  // 7 ways from on to on are too few, whatever their length.
  MeterLog log = switched(32.0, 16.0, 200.0);
  std::erase_if(log.samples, [](const MeterSample& sample) { return sample.t_s > 280.0; });
  EXPECT_EQ(cycle_of(log).period_s, 0.0);
}

TEST(Cycles, OfAnEvenLogAreNone) {
  EXPECT_EQ(cycle_of(switched(32.0, 0.0, 200.0)).period_s, 0.0);
  // Every ten minutes is no thermostat.
  EXPECT_EQ(cycle_of(switched(600.0, 300.0, 200.0)).period_s, 0.0);
}

}  // namespace
}  // namespace platetally::calibrate
