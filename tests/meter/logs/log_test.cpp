// Logs of plugs: every form that is recognised, and every fault that is counted.
#include "platetally/meter.hpp"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <cmath>
#include <fstream>
#include <ostream>
#include <random>

#include "meter/logs/align.hpp"

namespace platetally {
namespace {

struct Form {
  const char* name;
  const char* text;
  MeterLogOptions options;
  friend void PrintTo(const Form& one, std::ostream* out) { *out << one.name; }
};

class Forms : public testing::TestWithParam<Form> {};

/// Each says the same: 100 W for ten seconds, then 200 W, then 300 W.
TEST_P(Forms, SayTheSame) {
  const MeterLog log = parse_meter_log(GetParam().text, "log", GetParam().options);
  ASSERT_GE(log.samples.size(), 2U);
  EXPECT_NEAR(log.samples[0].w, 100.0, 1e-6);
  EXPECT_NEAR(log.samples[0].lasts_s, 10.0, 1e-6);
  EXPECT_NEAR(log.samples[1].t_s, 10.0, 1e-6);
  EXPECT_NEAR(log.samples[1].w, 200.0, 1e-6);
  EXPECT_TRUE(log.rejected.empty());
  EXPECT_GE(log.readings.size(), 3U);
}

INSTANTIATE_TEST_SUITE_P(
    Logs, Forms,
    testing::Values(
        Form{"comma", "0,100\n10,200\n20,300\n", {}},
        Form{"blanks", "0 100\n10  200\n20 300\n", {}},
        Form{"heading", "seconds,watts\n0,100\n10,200\n20,300\n", {}},
        Form{"other_order", "power,time\n100,0\n200,10\n300,20\n", {}},
        Form{"semicolon_decimal_comma", "t;W\n0,0;100,0\n10,0;200,0\n20,0;300,0\n", {}},
        Form{"tabs", "t\tvolts\tw\n0\t230\t100\n10\t231\t200\n20\t230\t300\n", {}},
        Form{"iso",
             "2026-11-25T23:59:55Z,100\n2026-11-26T00:00:05Z,200\n2026-11-26T00:00:15Z,300\n",
             {}},
        Form{"iso_offset",
             "2026-11-25 12:00:00+01:00,100\n2026-11-25 12:00:10+01:00,200\n2026-11-25 "
             "12:00:20+01:00,300\n",
             {}},
        Form{"clock", "12:00:00,100\n12:00:10,200\n12:00:20,300\n", {}},
        Form{"epoch_ms", "1764000000000,100\n1764000010000,200\n1764000020000,300\n", {}},
        Form{"kilowatts", "time,power kW\n0,0.1\n10,0.2\n20,0.3\n", {}},
        Form{"counter",
             "time,energy wh\n0,5\n10,5.2777777778\n20,5.8333333333\n30,6.6666666667\n",
             {}},
        Form{"units", "0,100 W\n10,200 W\n20,300 W\n", {}},
        Form{"crlf_comments", "# a plug\r\n\r\n0,100\r\n10,200\r\n20,300\r\n", {}},
        Form{"bom", "\xEF\xBB\xBFseconds,watts\n0,100\n10,200\n20,300\n", {}},
        Form{"columns_given", "a,b,c\n1,100,0\n1,200,10\n1,300,20\n", {"c", "2", "", "", "", {}}},
        Form{"the_time_is_what_runs",
             "Power (W),Delta Time (s),Energy_step_Wh,Cumulative_time_s\n"
             "100,2.1,0.05,0\n200,10,0.28,10\n300,10,0.56,20\n",
             {}},
        Form{"steps_alone", "step (s),power\n4,100\n10,200\n10,300\n7,300\n", {}},
        Form{"milliwatts", "time,power (mW)\n0,100000\n10,200000\n20,300000\n", {}},
        Form{"nested_json",
             "{\"ts\": 1764000000, \"plug\": {\"power\": 100, \"on\": true}}\n"
             "{\"ts\": 1764000010, \"plug\": {\"power\": 200}}\n"
             "{\"ts\": 1764000020, \"plug\": {\"power\": 300}}\n",
             {}},
        Form{"json_with_commas_behind",
             "{\"ts\": 1764000000, \"watts\": 100},\n{\"ts\": 1764000010, \"watts\": 200},\n"
             "{\"ts\": 1764000020, \"watts\": 300},\n",
             {}},
        Form{"date_and_time_apart",
             "Date;Time;Power\n25.11.2026;23:59:55;100\n26.11.2026;00:00:05;200\n"
             "26.11.2026;00:00:15;300\n",
             {}},
        Form{"day_first",
             "when,watts\n25/11/2026 12:00:00,100\n25/11/2026 12:00:10,200\n"
             "25/11/2026 12:00:20,300\n",
             {}},
        Form{"twelve_hours",
             "when,watts\n11/25/2026 11:59:55 AM,100\n11/25/2026 12:00:05 PM,200\n"
             "11/25/2026 12:00:15 PM,300\n",
             {}},
        Form{"named_month",
             "when,watts\n\"Nov 25, 2026 12:00:00\",100\n\"Nov 25, 2026 12:00:10\",200\n"
             "\"Nov 25, 2026 12:00:20\",300\n",
             {}},
        Form{"past_midnight", "clock,watts\n23:59:55,100\n0:00:05,200\n0:00:15,300\n", {}},
        Form{"volts_and_amperes", "time,voltage,current\n0,200,0.5\n10,200,1.0\n20,200,1.5\n", {}}),
    [](const auto& form) { return std::string(form.param.name); });

std::uint64_t rejected(const MeterLog& log, std::string_view reason) {
  for (const RejectedLines& one : log.rejected)
    if (one.reason.find(reason) != std::string::npos)
      return one.count;
  return 0;
}

TEST(MeterLogs, CountWhatTheyLeaveOut) {
  const MeterLog log = parse_meter_log(
      "time,watts\n0,100\n1,oops\n2,101\n2,102\nlater,103\n4,-5\n5\n6,104\n1,105\n7,106\n", "log");
  EXPECT_EQ(log.samples.size(), 4U);
  EXPECT_EQ(rejected(log, "value cannot be read"), 1U);
  EXPECT_EQ(rejected(log, "time of the line before"), 1U);
  EXPECT_EQ(rejected(log, "time cannot be read"), 1U);
  EXPECT_EQ(rejected(log, "below zero"), 1U);
  EXPECT_EQ(rejected(log, "too few columns"), 1U);
  EXPECT_EQ(rejected(log, "back in time"), 1U);
  for (const RejectedLines& one : log.rejected)
    EXPECT_GT(one.first_line, 1U);
  ASSERT_EQ(log.doubts.size(), 1U);
  EXPECT_NE(log.doubts[0].find("set back"), std::string::npos);
}

TEST(MeterLogs, ResetsAndGapsAreNotKnown) {
  const MeterLog reset = parse_meter_log("time,wh\n0,10\n10,11\n20,12\n30,0\n40,1\n50,2\n", "log");
  EXPECT_EQ(rejected(reset, "begins anew"), 1U);
  EXPECT_NEAR(reset.samples[0].w, 360.0, 1e-9);
  std::string text;
  for (int t = 0; t < 100; ++t)
    if (t < 40 || t >= 80)
      text += fmt::format("{},50\n{},51\n", t, t + 0.5);
  const MeterLog gap = parse_meter_log(text, "log");
  EXPECT_FALSE(gap.doubts.empty());
  EXPECT_FALSE(mean_w(gap, 45.0, 75.0));
  EXPECT_NEAR(mean_w(gap, 0.0, 30.0).value_or(0.0), 50.5, 1e-9);
  EXPECT_FALSE(mean_w(gap, 500.0, 600.0));
}

TEST(MeterLogs, LoneSpikesGoButAHeaterThatIsSwitchedStays) {
  std::mt19937 random(1);
  std::normal_distribution<double> noise(0.0, 1.0);
  std::string lone;
  std::string switched;
  for (int t = 0; t < 1000; ++t) {
    lone += fmt::format("{},{:.1f}\n", t, 100.0 + noise(random) + (t % 100 == 50 ? 250.0 : 0.0));
    switched += fmt::format("{},{:.1f}\n", t, 100.0 + noise(random) + (t % 5 == 0 ? 250.0 : 0.0));
  }
  EXPECT_EQ(rejected(parse_meter_log(lone, "log"), "spike"), 10U);
  EXPECT_EQ(rejected(parse_meter_log(switched, "log"), "spike"), 0U);
}

TEST(MeterLogs, WhatIsWrittenWhenItChangesHoldsOn) {
  const MeterLog log = parse_meter_log(
      "id,state,last_changed\nplug.power,100,2026-11-25T12:00:00Z\nplug.power,120,2026-11-25T12:00:"
      "02Z\n"
      "plug.power,unavailable,2026-11-25T12:00:03Z\nplug.power,121,2026-11-25T12:00:04Z\n"
      "plug.power,50,2026-11-25T12:20:04Z\nplug.power,51,2026-11-25T12:20:06Z\n",
      "log");
  ASSERT_EQ(log.samples.size(), 5U);
  EXPECT_EQ(rejected(log, "value cannot be read"), 1U);
  // Twenty minutes of the same: no gap.
  EXPECT_NEAR(mean_w(log, 100.0, 1000.0).value_or(0.0), 121.0, 1e-9);
}

TEST(MeterLogs, OrderOfDayAndMonthIsToldByTheLogWhereItCanBe) {
  // 1 to 3 December by one reading, the 12th of January, February, March by the other.
  const char* const days =
      "when,watts\n12/01/2026 10:00,1\n12/02/2026 10:00,2\n12/03/2026 10:00,3\n";
  EXPECT_NEAR(parse_meter_log(days, "log").samples[2].t_s, 2.0 * 86400.0, 1e-6);
  MeterLogOptions options;
  options.date_order = "day-first";
  EXPECT_NEAR(parse_meter_log(days, "log", options).samples[2].t_s, 59.0 * 86400.0, 1e-6);
}

TEST(MeterLogs, AUnitThatIsOffByAThousandIsNoticed) {
  const MeterLog guessed = parse_meter_log("time,power\n0,90000\n1,110000\n2,100000\n", "log");
  EXPECT_NEAR(guessed.samples[0].w, 90.0, 1e-9);
  EXPECT_NE(guessed.readings.back().find("milliwatts"), std::string::npos);
  const MeterLog stated = parse_meter_log("time,power W\n0,90000\n1,110000\n2,100000\n", "log");
  EXPECT_NEAR(stated.samples[0].w, 90000.0, 1e-9);
  ASSERT_EQ(stated.doubts.size(), 1U);
  EXPECT_NE(stated.doubts[0].find("--unit mW"), std::string::npos);
  MeterLogOptions options;
  options.unit = "kW";
  EXPECT_NEAR(parse_meter_log("0,0.1\n1,0.2\n2,0.3\n", "log", options).samples[2].w, 300.0, 1e-9);
}

TEST(MeterLogs, WhereNothingFitsEveryColumnIsListedWithTheOptionThatNamesIt) {
  try {
    (void)parse_meter_log("alpha,beta,gamma\nx,1,9\ny,5,4\nz,2,7\n", "log");
    FAIL() << "no column is a time";
  } catch (const UnreadableLog& error) {
    const std::string text = error.what();
    EXPECT_TRUE(text.starts_with("log: ")) << text;
    EXPECT_NE(text.find("column 1 (alpha): text such as 'x'"), std::string::npos) << text;
    EXPECT_NE(text.find("column 2 (beta): numbers from 1 to 5 (--watts-column 2)"),
              std::string::npos)
        << text;
  }
}

TEST(MeterLogs, HeatersAreReadBesideOrInsteadOfWatts) {
  const MeterLog log = parse_meter_log(
      "session,seconds,bed_target_c,bed_c,bed_duty,nozzle_c\n"
      "0,100,60,0.0,1,30\n0,101,60,25.0,1,30\n0,102,60,25.5,50,30\n1,5,0,40,0,31\n1,6,0,39.5,0,"
      "31\n",
      "log");
  EXPECT_TRUE(log.samples.empty());
  ASSERT_EQ(log.heaters.size(), 5U);
  EXPECT_TRUE(std::isnan(log.heaters[0].values[kBedC])) << "a zero before the sensor was asked";
  EXPECT_NEAR(log.heaters[2].values[kBedDuty], 0.5, 1e-12) << "percent";
  EXPECT_TRUE(std::isnan(log.heaters[2].values[kNozzleDuty]));
  const std::vector<MeterLog> sessions = sessions_of(log);
  ASSERT_EQ(sessions.size(), 2U);
  EXPECT_NEAR(sessions[1].heaters[1].t_s, 1.0, 1e-9);
  EXPECT_NEAR(sessions[1].heaters[0].values[kBedC], 40.0, 1e-9);
}

TEST(MeterLogs, RefuseWhatIsNone) {
  for (const char* text : {"", "\n\n", "hello world\nno numbers here\n", "1,2\n", "5\n6\n7\n",
                           "0,-5\n1,-6\n2,-7\n3,1\n"})
    EXPECT_THROW(parse_meter_log(text, "log"), UnreadableLog) << text;
  EXPECT_THROW(parse_meter_log("t,w\n0,1\n1,2\n", "log", {"", "volts", "", "", "", {}}),
               UnreadableLog);
  EXPECT_THROW(load_meter_log("/no/such/log.csv"), UnreadableLog);
  const MeterLog flat = parse_meter_log("0,5\n1,5\n2,5\n", "log");
  ASSERT_EQ(flat.doubts.size(), 1U);
  EXPECT_NE(flat.doubts[0].find("every sample"), std::string::npos);
}

/// A heat-up, a long hold with two humps, an end.
meter::PowerSeries print() {
  meter::PowerSeries series;
  for (double t_s = 0.0; t_s < 3600.0; t_s += 10.0) {
    series.start_s.push_back(t_s);
    series.w.push_back(t_s < 300.0                    ? 400.0
                       : t_s > 1500.0 && t_s < 1600.0 ? 220.0
                       : t_s > 2800.0 && t_s < 2830.0 ? 180.0
                                                      : 120.0);
  }
  series.end_s = 3600.0;
  series.idle_w = 20.0;
  return series;
}

TEST(MeterLogs, RealLogsAreReadByTheColumnThatRuns) {
  const std::string folder = std::string(PLATETALLY_SHARED) + "/logs/";
  if (!std::ifstream(folder + "bench_print_0.2mm.csv"))
    GTEST_SKIP() << "no real logs here";
  // Their last lines say how much it was, and when.
  for (const auto& [name, wh, seconds] : {std::tuple("bench_print_0.2mm.csv", 164.2947, 7367.178),
                                          std::tuple("bench_bed_off.csv", 80.0335, 6106.127),
                                          std::tuple("bench_heaters_off.csv", 23.9815, 5262.219)}) {
    const MeterLog log = load_meter_log(folder + name);
    EXPECT_NEAR(log.duration_s(), seconds, 5.0) << name;
    EXPECT_NEAR(log.energy_wh(), wh, 1e-3 * wh) << name;
  }
  const MeterLog bed = load_meter_log(folder + "bed_a.csv.gz");
  EXPECT_EQ(sessions_of(bed).size(), 6U);
}

TEST(Align, FindsOffsetAndDrift) {
  const meter::PowerSeries series = print();
  for (const double offset_s : {0.0, 137.0, 900.0})
    for (const double drift : {-0.008, 0.0, 0.009}) {
      std::mt19937 random(3);
      std::normal_distribution<double> noise(0.0, 2.0);
      std::string text;
      for (double t_s = 0.0; t_s < 6000.0; t_s += 1.0) {
        const double at_s = (t_s - offset_s) / (1.0 + drift);
        const double w = at_s >= 0.0 && at_s < 3600.0 ? series.mean_w(at_s, at_s + 0.5) : 20.0;
        text += fmt::format("{},{:.1f}\n", t_s, w + noise(random));
      }
      const meter::Alignment found = meter::align(series, parse_meter_log(text, "log"), 0.01);
      EXPECT_NEAR(found.offset_s, offset_s, 4.0) << offset_s << ' ' << drift;
      EXPECT_NEAR(found.drift, drift, 0.002) << offset_s << ' ' << drift;
      EXPECT_GT(found.correlation, 0.97);
    }
}

TEST(Place, OfAThermostatThatSwitchesIsFoundInSmoothedPower) {
  const meter::PowerSeries series = print();
  // A log as long as the print, whose bed goes on and off every 40 s; ten seconds of idling first.
  std::string text;
  for (double t_s = 0.0; t_s < 3610.0; t_s += 2.0) {
    const double at_s = t_s - 10.0;
    const double w = at_s < 0.0 ? 20.0 : series.mean_w(at_s, at_s + 1.0);
    const bool on = at_s < 300.0 || std::fmod(at_s, 40.0) < 8.0;
    text += fmt::format("{},{:.1f}\n", t_s, at_s < 0.0 ? w : on ? 400.0 : w - 75.0);
  }
  const MeterLog log = parse_meter_log(text, "log");
  EXPECT_LT(meter::align(series, log, 0.01).correlation, 0.8);
  const meter::Place place = meter::place_print(series, log, 0.01);
  EXPECT_TRUE(place.told_by_power);
  EXPECT_TRUE(place.same_length);
  EXPECT_NEAR(place.alignment.offset_s, 10.0, 5.0);
  EXPECT_GT(place.alignment.correlation, 0.8);
}

TEST(Place, OfAFlatLogOfTheSameLengthIsItsBeginning) {
  std::string text;
  for (int t_s = 0; t_s < 3700; t_s += 2)
    text += fmt::format("{},{}\n", t_s, 100 + t_s % 14);
  const meter::Place place = meter::place_print(print(), parse_meter_log(text, "log"), 0.01);
  EXPECT_FALSE(place.told_by_power);
  EXPECT_EQ(place.alignment.offset_s, 0.0);
  EXPECT_NEAR(place.alignment.overlap_s, 3600.0, 60.0);
}

TEST(Align, ALogOfSomethingElseDoesNotGoTogether) {
  std::string text;
  for (int t = 0; t < 6000; ++t)
    text += fmt::format("{},{}\n", t, 60 + t % 97 + (t / 977) % 2 * 40);
  EXPECT_LT(meter::align(print(), parse_meter_log(text, "log"), 0.01).correlation, 0.5);
}

}  // namespace
}  // namespace platetally
