// Where a print lies in a log: means against sums by the second, laws of correlation, and logs made
// so that one rule decides.
#include "meter/logs/align.hpp"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <cmath>
#include <random>

namespace platetally::meter {
namespace {

/// Steps of `step_s`, each of chance between `low_w` and `high_w`.
PowerSeries steps_of_chance(unsigned seed, double seconds, double step_s, double low_w,
                            double high_w, double idle_w) {
  std::mt19937 random(seed);
  std::uniform_real_distribution<double> watts(low_w, high_w);
  PowerSeries series;
  for (double t_s = 0.0; t_s < seconds; t_s += step_s) {
    series.start_s.push_back(t_s);
    series.w.push_back(watts(random));
  }
  series.end_s = seconds;
  series.idle_w = idle_w;
  return series;
}

/// A sample every `interval_s`.
template <typename Watts>
MeterLog log_of(double seconds, double interval_s, const Watts& watts) {
  std::string text;
  for (double t_s = 0.0; t_s < seconds; t_s += interval_s)
    text += fmt::format("{:.1f},{:.4f}\n", t_s, watts(t_s));
  return parse_meter_log(text, "plug.csv");
}

double drawn(const PowerSeries& series, double at_s) {
  return at_s < 0.0 || at_s >= series.end_s ? series.idle_w : series.mean_w(at_s, at_s + 1e-6);
}

TEST(PowerSeries, MeansAreThoseOfAWalkSecondBySecond) {
  const PowerSeries series = steps_of_chance(4, 100.0, 7.0, 10.0, 300.0, 20.0);
  for (double from_s = -20.0; from_s < 110.0; from_s += 13.0)
    for (double long_s = 1.0; long_s < 60.0; long_s += 9.0) {
      double joules = 0.0;
      for (double at_s = from_s; at_s < from_s + long_s; at_s += 1.0)
        if (at_s >= 0.0 && at_s < 100.0)
          joules += series.w[static_cast<std::size_t>(at_s / 7.0)];
      EXPECT_NEAR(series.mean_w(from_s, from_s + long_s), joules / long_s, 1e-9)
          << from_s << " for " << long_s;
    }
  EXPECT_EQ(series.mean_w(50.0, 50.0), 0.0);
  EXPECT_EQ(series.mean_w(50.0, 40.0), 0.0);
  EXPECT_EQ(PowerSeries{}.mean_w(0.0, 10.0), 0.0);
}

TEST(PowerSeries, AreWattsOfSamplesThatLast) {
  std::vector<PowerSample> power(3);
  power[0].start_s = 0.0;
  power[0].duration_s = 36.0;
  power[0].energy.bed_wh = 1.0;
  power[0].energy.hot_ends_wh = 0.5;
  power[1].start_s = 36.0;  // lasts no time
  power[2].start_s = 36.0;
  power[2].duration_s = 3.6;
  power[2].energy.bed_wh = 0.2;
  const PowerSeries series = series_of(power);
  ASSERT_EQ(series.w.size(), 2U);
  EXPECT_NEAR(series.w[0], 150.0, 1e-9);
  EXPECT_NEAR(series.w[1], 200.0, 1e-9);
  EXPECT_NEAR(series.end_s, 39.6, 1e-9);
  EXPECT_EQ(series_of({}).end_s, 0.0);
}

TEST(Align, NothingIsKnownOfThreeSamplesOrOfNoPrediction) {
  const PowerSeries series = steps_of_chance(1, 600.0, 60.0, 50.0, 200.0, 20.0);
  const Alignment few = align(series, parse_meter_log("0,1\n1,2\n2,3\n", "log"), 0.01);
  EXPECT_EQ(few.overlap_s, 0.0);
  EXPECT_EQ(few.offset_s, 0.0);
  const MeterLog log = log_of(600.0, 2.0, [](double t_s) { return 50.0 + t_s; });
  EXPECT_EQ(align({}, log, 0.01).overlap_s, 0.0);
  EXPECT_EQ(place_print({}, log, 0.01).alignment.overlap_s, 0.0);
}

TEST(Align, AnotherScaleOfTheMeterChangesNothing) {
  const PowerSeries series = steps_of_chance(2, 2400.0, 40.0, 60.0, 300.0, 20.0);
  const auto at = [&](double t_s) { return drawn(series, t_s - 333.0); };
  const Alignment plain = align(series, log_of(3600.0, 2.0, at), 0.0);
  const Alignment scaled =
      align(series, log_of(3600.0, 2.0, [&](double t_s) { return 35.0 + 0.6 * at(t_s); }), 0.0);
  EXPECT_NEAR(plain.offset_s, 333.0, 2.0);
  EXPECT_NEAR(scaled.offset_s, plain.offset_s, 1e-9);
  EXPECT_NEAR(scaled.correlation, plain.correlation, 1e-4);
}

TEST(Align, ALaterPrintHasALargerOffset) {
  const PowerSeries series = steps_of_chance(3, 1800.0, 30.0, 60.0, 300.0, 20.0);
  for (const double later_s : {0.0, 95.0, 410.0, 1005.0}) {
    const MeterLog log =
        log_of(3600.0, 2.0, [&](double t_s) { return drawn(series, t_s - later_s); });
    const Alignment found = align(series, log, 0.0);
    EXPECT_NEAR(found.offset_s, later_s, 2.5);
    EXPECT_EQ(found.drift, 0.0) << "none was allowed";
    EXPECT_NEAR(found.overlap_s, 1800.0, 20.0);
  }
}

TEST(Align, APrintThatBeganBeforeTheLogLiesBeforeIt) {
  const PowerSeries series = steps_of_chance(5, 3600.0, 45.0, 60.0, 300.0, 20.0);
  const MeterLog log = log_of(3600.0, 2.0, [&](double t_s) { return drawn(series, t_s + 1200.0); });
  const Alignment found = align(series, log, 0.0);
  EXPECT_NEAR(found.offset_s, -1200.0, 3.0);
  EXPECT_NEAR(found.overlap_s, 2400.0, 30.0);
}

// The last two fifths of the print, then idling, then something else: that piece fits to the watt,
// but half of the shorter of the two has to lie in the log.
TEST(Align, LessThanHalfOfThePrintIsNoPlaceHoweverWellItFits) {
  for (const unsigned seed : {11U, 12U, 13U, 14U}) {
    const PowerSeries series = steps_of_chance(seed, 6000.0, 60.0, 60.0, 300.0, 20.0);
    const PowerSeries other = steps_of_chance(seed + 100, 6000.0, 60.0, 60.0, 300.0, 20.0);
    const MeterLog log = log_of(6000.0, 3.0, [&](double t_s) {
      return t_s < 2400.0   ? drawn(series, t_s + 3600.0)
             : t_s < 3000.0 ? series.idle_w
                            : drawn(other, t_s);
    });
    const Alignment found = align(series, log, 0.0);
    EXPECT_GE(found.overlap_s, 3000.0) << seed;
    EXPECT_GE(found.offset_s, -3000.0 - 30.0) << seed;
    EXPECT_LT(found.correlation, 0.7) << seed;
  }
}

TEST(Align, ThreeFifthsOfThePrintAreEnough) {
  const PowerSeries series = steps_of_chance(21, 6000.0, 60.0, 60.0, 300.0, 20.0);
  const MeterLog log = log_of(4800.0, 3.0, [&](double t_s) {
    return t_s < 3600.0 ? drawn(series, t_s + 2400.0) : series.idle_w;
  });
  const Alignment found = align(series, log, 0.0);
  EXPECT_NEAR(found.offset_s, -2400.0, 4.0);
  EXPECT_GT(found.correlation, 0.97);
}

// A machine whose electronics draw as much as its print does on the whole: before and behind it
// there is no edge, and so none may be expected.
TEST(Align, BeforeAndBehindAPrintTheMachineIsTakenToIdle) {
  const PowerSeries series = steps_of_chance(31, 3000.0, 60.0, 80.0, 120.0, 100.0);
  const MeterLog log = log_of(4800.0, 3.0, [&](double t_s) { return drawn(series, t_s - 900.0); });
  const Alignment found = align(series, log, 0.0);
  EXPECT_NEAR(found.offset_s, 900.0, 3.0);
  EXPECT_GT(found.correlation, 0.95);
}

TEST(Align, ThePlaceOfAnEvenPrintIsToldByItsEdgesAlone) {
  PowerSeries even;
  even.start_s = {0.0};
  even.w = {150.0};
  even.end_s = 2000.0;
  even.idle_w = 15.0;
  const MeterLog log = log_of(4000.0, 2.0, [&](double t_s) { return drawn(even, t_s - 700.0); });
  const Alignment found = align(even, log, 0.0);
  EXPECT_NEAR(found.offset_s, 700.0, 4.0);
  EXPECT_GT(found.correlation, 0.97);
}

TEST(Place, AClearPlaceIsTakenAsItIs) {
  const PowerSeries series = steps_of_chance(41, 2400.0, 40.0, 60.0, 300.0, 20.0);
  const MeterLog log = log_of(4000.0, 2.0, [&](double t_s) { return drawn(series, t_s - 500.0); });
  const Place place = place_print(series, log, 0.01);
  EXPECT_TRUE(place.told_by_power);
  EXPECT_FALSE(place.same_length);
  EXPECT_EQ(place.smoothed_s, 0.0) << "it goes together as it is";
  EXPECT_NEAR(place.alignment.offset_s, 500.0, 3.0);
}

TEST(Place, LengthsAreTheSameWithinSixPercentAndHalfAMinute) {
  const PowerSeries series = steps_of_chance(42, 3000.0, 40.0, 60.0, 300.0, 20.0);
  for (const auto& [seconds, is_same] : {std::pair(2700.0, false),
                                         {2800.0, true},
                                         {3000.0, true},
                                         {3200.0, true},
                                         {3300.0, false}}) {
    const MeterLog log = log_of(seconds, 2.0, [&](double t_s) { return drawn(series, t_s); });
    EXPECT_EQ(place_print(series, log, 0.01).same_length, is_same) << seconds;
  }
}

TEST(Place, OfALogThatSaysNothingIsWhereItFirstDraws) {
  // A print whose power goes up and down by the half hour; a log that draws evenly from somewhere
  // on, and so long that no edge of the print's own length is in it.
  PowerSeries series;
  for (int i = 0; i < 8; ++i) {
    series.start_s.push_back(900.0 * i);
    series.w.push_back(i % 2 == 0 ? 100.0 : 300.0);
  }
  series.end_s = 7200.0;
  series.idle_w = 10.0;
  std::mt19937 random(43);
  std::normal_distribution<double> noise(0.0, 20.0);
  const MeterLog log = log_of(40000.0, 20.0, [&](double t_s) {
    return std::abs((t_s < 4000.0 ? 12.0 : 200.0) + (t_s < 4000.0 ? 0.05 : 1.0) * noise(random));
  });
  const Place place = place_print(series, log, 0.01);
  EXPECT_FALSE(place.same_length);
  ASSERT_FALSE(place.told_by_power) << place.alignment.correlation;
  // Where it draws half of what the print does above idling, within a step of half a minute.
  EXPECT_NEAR(place.alignment.offset_s, 4000.0, 61.0);
}

TEST(Place, OfALogThatNeverDrawsAsMuchIsItsBeginning) {
  const PowerSeries series = steps_of_chance(44, 1800.0, 20.0, 100.0, 300.0, 10.0);
  const MeterLog log = log_of(9000.0, 3.0, [](double t_s) { return 11.0 + std::fmod(t_s, 9.0); });
  const Place place = place_print(series, log, 0.01);
  EXPECT_FALSE(place.told_by_power);
  EXPECT_EQ(place.alignment.offset_s, 0.0);
}

TEST(EndOfDraw, IsWhereTheLogLastDrawsClearlyMoreThanIdling) {
  const MeterLog log = log_of(3000.0, 1.0, [](double t_s) { return t_s < 2000.0 ? 120.0 : 20.0; });
  // Half a minute that holds a little more than a quarter of drawing still counts.
  const double end_s = end_of_draw_s(log, 0.0, 20.0, 120.0);
  EXPECT_GE(end_s, 2000.0);
  EXPECT_LE(end_s, 2000.0 + 30.0);
}

TEST(EndOfDraw, AWarmLampIsNoDrawing) {
  // A fan that runs on at 15 W above idling, below a quarter of the print's 100 W above it.
  const MeterLog log = log_of(3000.0, 1.0, [](double t_s) {
    return t_s < 1500.0 ? 120.0 : t_s < 2500.0 ? 35.0 : 20.0;
  });
  EXPECT_NEAR(end_of_draw_s(log, 0.0, 20.0, 120.0), 1515.0, 16.0);
  // For a print that draws little itself it is some.
  EXPECT_NEAR(end_of_draw_s(log, 0.0, 20.0, 60.0), 2515.0, 16.0);
}

TEST(EndOfDraw, OfALogThatDrawsToItsEndOrNeverIsItsEnd) {
  const MeterLog on = log_of(600.0, 1.0, [](double t_s) { return 120.0 + std::fmod(t_s, 2.0); });
  EXPECT_EQ(end_of_draw_s(on, 0.0, 20.0, 120.0), on.duration_s());
  const MeterLog off = log_of(600.0, 1.0, [](double t_s) { return 20.0 + std::fmod(t_s, 2.0); });
  EXPECT_EQ(end_of_draw_s(off, 0.0, 20.0, 120.0), off.duration_s());
  EXPECT_EQ(end_of_draw_s(on, 5000.0, 20.0, 120.0), on.duration_s()) << "nothing lies behind that";
}

TEST(EndOfDraw, WhatWasDrawnBeforeThePrintDoesNotCount) {
  const MeterLog log = log_of(3000.0, 1.0, [](double t_s) { return t_s < 500.0 ? 120.0 : 20.0; });
  EXPECT_EQ(end_of_draw_s(log, 1000.0, 20.0, 120.0), log.duration_s());
}

}  // namespace
}  // namespace platetally::meter
