// What becomes of a log's lines: gaps, sessions, units, options, and what is said of each.
#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <fstream>
#include <random>

#include "platetally/meter.hpp"
#include "support/temp_folder.hpp"

namespace platetally {
namespace {

std::string refusal(const std::string& text, const MeterLogOptions& options = {}) {
  try {
    (void)parse_meter_log(text, "plug.csv", options);
  } catch (const UnreadableLog& error) {
    return error.what();
  }
  return "";
}

bool says(const std::vector<std::string>& sentences, std::string_view what) {
  return std::ranges::any_of(sentences, [&](const std::string& sentence) {
    return sentence.find(what) != std::string::npos;
  });
}

TEST(MeterLog, EnergyIsWattsTimesTheSecondsThatTheyStandFor) {
  const MeterLog log = parse_meter_log("time,watts\n0,100\n10,200\n40,50\n50,60\n", "plug.csv");
  EXPECT_NEAR(log.energy_wh(), (100.0 * 10 + 200.0 * 30 + 50.0 * 10 + 60.0 * 10) / 3600.0, 1e-12);
  EXPECT_EQ(log.duration_s(), 60.0) << "the last stands for as long as is usual";
  EXPECT_EQ(log.interval_s, 10.0);
  EXPECT_EQ(MeterLog{}.duration_s(), 0.0);
  EXPECT_EQ(MeterLog{}.energy_wh(), 0.0);
}

TEST(MeterLog, MeansAreThoseOfAWalkSecondBySecond) {
  std::mt19937 random(8);
  std::uniform_int_distribution<int> step(1, 9), watts(5, 300);
  MeterLog log;
  std::vector<double> known(600, -1.0);
  for (int at = 0; at < 500;) {
    const int next = at + step(random);
    const int lasts = std::min(next - at, 6);  // the rest is not known
    log.samples.push_back(
        {static_cast<double>(at), static_cast<double>(watts(random)), static_cast<double>(lasts)});
    for (int second = at; second < at + lasts; ++second)
      known[static_cast<std::size_t>(second)] = log.samples.back().w;
    at = next;
  }
  for (int from = 0; from < 480; from += 11)
    for (const int many : {1, 7, 60}) {
      double sum = 0.0;
      int seconds = 0;
      for (int second = from; second < from + many; ++second)
        if (known[static_cast<std::size_t>(second)] >= 0.0) {
          sum += known[static_cast<std::size_t>(second)];
          ++seconds;
        }
      const auto mean = mean_w(log, from, from + many);
      ASSERT_EQ(mean.has_value(), seconds > 0 && 2 * seconds >= many) << from << ' ' << many;
      if (mean) {
        EXPECT_NEAR(*mean, sum / seconds, 1e-9);
      }
    }
  EXPECT_FALSE(mean_w(MeterLog{}, 0.0, 1.0));
}

TEST(MeterLog, ASilenceOfMoreThanTenUsualIntervalsIsAGap) {
  const auto with_silence = [](int seconds) {
    std::string text = "time,watts\n";
    for (int t_s = 0; t_s < 40; t_s += 2)
      text += fmt::format("{},{}\n", t_s, 50 + t_s % 4);
    for (int t_s = 38 + seconds; t_s < 80 + seconds; t_s += 2)
      text += fmt::format("{},{}\n", t_s, 60 + t_s % 4);
    return parse_meter_log(text, "plug.csv");
  };
  const MeterLog held = with_silence(20);
  EXPECT_TRUE(held.doubts.empty());
  EXPECT_EQ(held.samples[19].lasts_s, 20.0);
  const MeterLog gap = with_silence(21);
  ASSERT_EQ(gap.doubts.size(), 1U);
  EXPECT_EQ(gap.doubts[0], "1 gaps, 19 s in all, in which nothing is known");
  EXPECT_EQ(gap.samples[19].lasts_s, 2.0) << "as long as is usual";
}

TEST(MeterLog, BeginsWithItsFirstSampleAndKnowsItsMoment) {
  const MeterLog log =
      parse_meter_log("when,watts\n2026-11-25T00:00:10Z,5\n2026-11-25T00:00:20Z,6\n", "plug.csv");
  EXPECT_EQ(log.start_epoch_s, 1795564810.0);
  EXPECT_EQ(log.samples[0].t_s, 0.0);
  EXPECT_EQ(log.samples[1].t_s, 10.0);
  EXPECT_FALSE(parse_meter_log("time,watts\n100,5\n110,6\n", "plug.csv").start_epoch_s);
  EXPECT_EQ(log.path, "plug.csv");
}

TEST(MeterLog, TheHashIsOfItsBytes) {
  const std::string text = "time,watts\n0,5\n1,6\n";
  const std::string hash = parse_meter_log(text, "a.csv").hash;
  EXPECT_EQ(parse_meter_log(text, "b.csv").hash, hash);
  EXPECT_NE(parse_meter_log(text + "\n", "a.csv").hash, hash);
}

TEST(MeterLog, FromAFileIsTheSameAsFromItsText) {
  const test::TempFolder folder;
  const std::string path = (folder.path() / "plug.csv").string();
  const std::string text = "time,watts\n0,5\n1,6\n2,5\n";
  std::ofstream(path) << text;
  const MeterLog log = load_meter_log(path);
  EXPECT_EQ(log.hash, parse_meter_log(text, "x").hash);
  EXPECT_EQ(log.path, path);
  EXPECT_EQ(log.samples.size(), 3U);
}

TEST(MeterLog, SaysHowItsColumnsWereUnderstood) {
  const MeterLog log = parse_meter_log("time;watts\n0,0;5,5\n1,0;6,5\n", "plug.csv");
  EXPECT_TRUE(says(log.readings, "columns are cut at ';', numbers have a decimal comma"));
  EXPECT_TRUE(says(log.readings, "times are in column 1, guessed"));
  EXPECT_TRUE(says(log.readings, "column 2 holds watts, guessed"));
  MeterLogOptions options;
  options.time_column = "TIME";
  options.watts_column = "2";
  const MeterLog told = parse_meter_log("time;watts\n0,0;5,5\n1,0;6,5\n", "plug.csv", options);
  EXPECT_FALSE(says(told.readings, "guessed"));
}

TEST(MeterLog, WhereDayAndMonthAreGuessedItIsSaidWithTheOption) {
  const std::string text = "when,watts\n03/04/2026 10:00,5\n03/04/2026 10:01,6\n";
  EXPECT_TRUE(says(parse_meter_log(text, "plug.csv").readings,
                   "dates have the day first, guessed; --dates says otherwise"));
  MeterLogOptions options;
  options.date_order = "month-first";
  const MeterLog told = parse_meter_log(text, "plug.csv", options);
  EXPECT_TRUE(says(told.readings, "dates have the month first"));
  EXPECT_FALSE(says(told.readings, "--dates"));
  EXPECT_FALSE(says(
      parse_meter_log("when,watts\n2026-04-03 10:00,5\n2026-04-03 10:01,6\n", "plug.csv").readings,
      "dates have"))
      << "the year is first";
}

TEST(MeterLog, TwelveHoursAndBarsSuggestTheMonthFirst) {
  const auto month_of = [](const char* text) {
    return says(parse_meter_log(text, "plug.csv").readings, "the month first");
  };
  EXPECT_TRUE(month_of("when,watts\n03/04/2026 9:00 AM,5\n03/04/2026 9:01 AM,6\n"));
  EXPECT_FALSE(month_of("when,watts\n03.04.2026 9:00 AM,5\n03.04.2026 9:01 AM,6\n"));
  // A number above twelve decides whatever else there is.
  EXPECT_FALSE(month_of("when,watts\n13/04/2026 9:00 AM,5\n13/04/2026 9:01 AM,6\n"));
  EXPECT_TRUE(month_of("when,watts\n03.14.2026 9:00,5\n03.14.2026 9:01,6\n"));
}

TEST(MeterLog, OptionsWithoutSenseAreRefused) {
  const std::string text = "time,watts\n0,5\n1,6\n";
  MeterLogOptions options;
  options.time_column = "seconds";
  EXPECT_EQ(refusal(text, options),
            "plug.csv:1: there is no column 'seconds'; expected a heading or 1 to 2");
  options.time_column = "3";
  EXPECT_EQ(refusal(text, options),
            "plug.csv:1: there is no column '3'; expected a heading or 1 to 2");
  options.time_column = "0";
  EXPECT_NE(refusal(text, options), "");
  options = {};
  options.watts_column = options.wh_column = "watts";
  EXPECT_EQ(refusal(text, options), "plug.csv: expected a column of watts or one of watt-hours");
  options = {};
  options.watts_column = "time";
  EXPECT_TRUE(refusal(text, options).starts_with("plug.csv: no column is the power; expected"))
      << "the time is no power";
}

TEST(MeterLog, UnitsThatAreSaidCountWhateverTheHeading) {
  const auto first_w = [](const char* text, const char* unit) {
    MeterLogOptions options;
    options.unit = unit;
    return parse_meter_log(text, "plug.csv", options).samples[0].w;
  };
  EXPECT_NEAR(first_w("time,power kW\n0,120\n1,130\n", "W"), 120.0, 1e-9);
  EXPECT_NEAR(first_w("time,power\n0,120000\n1,130000\n", "mW"), 120.0, 1e-9);
  EXPECT_NEAR(first_w("time,power\n0,0.12\n1,0.13\n", "kW"), 120.0, 1e-9);
  EXPECT_NEAR(first_w("time,energy\n0,5\n3600,5.12\n7200,5.3\n", "kWh"), 120.0, 1e-9);
}

TEST(MeterLog, AMachineThatNeverDrawsAWattDrawsKilowatts) {
  const MeterLog log = parse_meter_log("time,power\n0,0.1\n1,0.2\n2,0.15\n", "plug.csv");
  EXPECT_NEAR(log.samples[1].w, 200.0, 1e-9);
  EXPECT_TRUE(says(log.readings,
                   "values up to 0.2 are taken as kilowatts, as no machine draws so little; "
                   "--unit W otherwise"));
  const MeterLog stated = parse_meter_log("time,power W\n0,0.1\n1,0.2\n2,0.15\n", "plug.csv");
  EXPECT_NEAR(stated.samples[1].w, 0.2, 1e-9);
  EXPECT_TRUE(says(stated.doubts,
                   "a machine that draws 0.2 W: is the unit off by a thousand? --unit kW would "
                   "read it so"));
  EXPECT_TRUE(parse_meter_log("time,power\n0,0\n1,0\n2,0\n", "plug.csv").doubts.size() == 1)
      << "nothing at all is no unit";
}

TEST(MeterLog, MostlyNegativeWattsAreAPlugTheWrongWayRound) {
  EXPECT_EQ(refusal("time,watts\n0,-5\n1,-6\n2,7\n"),
            "plug.csv: 2 of 3 samples are below zero watts; expected what the machine draws: is "
            "the plug the wrong way round, or the column another one?");
  EXPECT_EQ(refusal("time,watts\n0,-5\n1,6\n2,-7\n3,8\n"), "") << "half of them is not most";
}

TEST(MeterLog, OfWhichNothingIsLeftIsRefused) {
  EXPECT_EQ(refusal(""), "plug.csv: is empty");
  EXPECT_EQ(refusal("time,watts\n0,-5\n1,6\n"), "plug.csv: nothing is left after faulty lines");
  EXPECT_TRUE(refusal("time,watts\n0,5\n0,6\n").starts_with("plug.csv: ")) << "one time";
}

TEST(MeterLog, StepsOfTimeAreAddedUp) {
  const MeterLog log =
      parse_meter_log("delta_ms,watts\n500,10\n1500,20\n1000,30\n-5,40\n1000,50\n", "plug.csv");
  ASSERT_EQ(log.samples.size(), 4U);
  EXPECT_NEAR(log.samples[1].t_s, 1.5, 1e-9);
  EXPECT_NEAR(log.samples[3].t_s, 3.5, 1e-9);
  EXPECT_TRUE(says(log.readings, "column 1 holds steps of time, which are added up, guessed"));
  ASSERT_EQ(log.rejected.size(), 1U);
  EXPECT_EQ(log.rejected[0].reason, "its time cannot be read") << "time does not run back";
  EXPECT_EQ(log.rejected[0].first_line, 5U);
}

TEST(MeterLog, WattHoursOfEachLineAreItsMeanPower) {
  const MeterLog log = parse_meter_log("time,step wh\n0,9\n10,0.5\n20,0.25\n30,0\n", "plug.csv");
  ASSERT_EQ(log.samples.size(), 3U);
  EXPECT_NEAR(log.samples[0].w, 180.0, 1e-9);
  EXPECT_NEAR(log.samples[1].w, 90.0, 1e-9);
  EXPECT_NEAR(log.samples[2].w, 0.0, 1e-9);
  EXPECT_NEAR(log.energy_wh(), 0.75, 1e-12);
  EXPECT_TRUE(says(log.readings, "watt-hours since the line before"));
}

TEST(MeterLog, ACounterThatHardlyGoesUpMayCountKilowattHours) {
  const MeterLog log =
      parse_meter_log("time,total energy\n0,12.10\n600,12.13\n1200,12.17\n", "plug.csv");
  EXPECT_TRUE(says(log.readings, "if it counts kilowatt-hours, say --unit kWh"));
}

TEST(MeterLog, MilliamperesAreThousandths) {
  const MeterLog log =
      parse_meter_log("time,voltage,current mA\n0,230,500\n1,230,1000\n2,230,700\n", "plug.csv");
  EXPECT_NEAR(log.samples[0].w, 115.0, 1e-9);
  EXPECT_TRUE(says(log.readings, "watts are column 2 times column 3 (volts and milliamperes)"));
}

TEST(MeterLog, ThePowerIsNoFactorLimitOrPeak) {
  const MeterLog log = parse_meter_log(
      "time,power factor,max power,apparent power,reactive power,power\n"
      "0,0.6,900,130,40,100\n1,0.7,900,140,45,110\n2,0.6,900,150,41,120\n",
      "plug.csv");
  EXPECT_EQ(log.samples[1].w, 110.0);
}

TEST(Heaters, AreReadWhateverTheirDutyIsOf) {
  for (const auto& [values, half] :
       {std::pair("0,0.5,1", 0.5), {"0,50,100", 0.5}, {"0,51,255", 0.2}}) {
    std::vector<std::string> cells;
    const std::string list = values;
    std::string text = "time,watts,bed duty\n";
    std::size_t from = 0;
    for (int t_s = 0; t_s < 3; ++t_s) {
      const std::size_t end = std::min(list.find(',', from), list.size());
      text += fmt::format("{},{},{}\n", t_s, 50 + t_s, list.substr(from, end - from));
      from = end + 1;
    }
    const MeterLog log = parse_meter_log(text, "plug.csv");
    ASSERT_EQ(log.heaters.size(), 3U) << values;
    EXPECT_NEAR(log.heaters[1].values[kBedDuty], half, 1e-12) << values;
    EXPECT_NEAR(log.heaters[2].values[kBedDuty], 1.0, 1e-12) << values;
  }
}

TEST(Heaters, ColumnsMayBeNamed) {
  MeterLogOptions options;
  options.heater_columns[kNozzleC] = "probe";
  const MeterLog log =
      parse_meter_log("time,watts,probe\n0,50,21\n10,60,22\n20,55,24\n", "plug.csv", options);
  ASSERT_EQ(log.heaters.size(), 3U);
  EXPECT_EQ(log.heaters[2].values[kNozzleC], 24.0);
  EXPECT_EQ(log.heaters[1].lasts_s, 10.0);
  options.heater_columns[kNozzleC] = "sensor";
  EXPECT_NE(refusal("time,watts,probe\n0,50,21\n10,60,22\n", options).find("no column 'sensor'"),
            std::string::npos);
}

TEST(Heaters, ALoneReadingFarOffBothNeighboursIsNotKnown) {
  std::string text = "time,watts,bed_c\n";
  const double temperatures[] = {20, 21, 40, 22, 23, 41, 42};
  for (int i = 0; i < 7; ++i)
    text += fmt::format("{},{},{}\n", i, 50 + i, temperatures[i]);
  const MeterLog log = parse_meter_log(text, "plug.csv");
  ASSERT_EQ(log.heaters.size(), 7U);
  EXPECT_TRUE(std::isnan(log.heaters[2].values[kBedC]));
  EXPECT_EQ(log.heaters[4].values[kBedC], 23.0);
  EXPECT_EQ(log.heaters[5].values[kBedC], 41.0) << "what stays there is a jump";
}

TEST(Sessions, AreCutWhereTheLogSaysSo) {
  const MeterLog log =
      parse_meter_log("session,time,watts\n1,0,5\n1,10,6\n2,0,7\n2,10,8\n2,20,9\n", "plug.csv");
  ASSERT_EQ(log.sessions_s.size(), 2U);
  const std::vector<MeterLog> parts = sessions_of(log);
  ASSERT_EQ(parts.size(), 2U);
  EXPECT_EQ(parts[0].samples.size(), 2U);
  ASSERT_EQ(parts[1].samples.size(), 3U);
  EXPECT_EQ(parts[1].samples[0].t_s, 0.0) << "times begin anew";
  EXPECT_EQ(parts[1].samples[2].t_s, 20.0);
  EXPECT_EQ(parts[1].samples[0].w, 7.0);
  EXPECT_TRUE(parts[0].sessions_s.empty());
}

TEST(Sessions, AreCutAtLongSilencesElsewhere) {
  const auto parts_of = [](int silence_s) {
    std::string text = "time,watts\n";
    for (int i = 0; i < 60; ++i)
      text += fmt::format("{},{}\n", 2 * i + (i < 30 ? 0 : silence_s), 50 + i % 3);
    return sessions_of(parse_meter_log(text, "plug.csv"));
  };
  EXPECT_EQ(parts_of(0).size(), 1U);
  EXPECT_EQ(parts_of(1800).size(), 1U) << "half an hour may be a break";
  const auto parts = parts_of(1801);
  ASSERT_EQ(parts.size(), 2U);
  EXPECT_EQ(parts[0].samples.size() + parts[1].samples.size(), 60U);
  EXPECT_EQ(parts[1].samples.front().t_s, 0.0);
  EXPECT_TRUE(sessions_of(MeterLog{}).empty());
}

TEST(Sessions, HoldEverySampleOnceAndAllOfTheEnergy) {
  std::mt19937 random(12);
  std::uniform_int_distribution<int> step(1, 3), watts(5, 300), chance(0, 40);
  std::string text = "time,watts\n";
  int t_s = 0;
  for (int i = 0; i < 800; ++i) {
    t_s += chance(random) == 0 ? 4000 : step(random);
    text += fmt::format("{},{}\n", t_s, watts(random));
  }
  const MeterLog log = parse_meter_log(text, "plug.csv");
  std::size_t samples = 0;
  double energy_wh = 0.0;
  for (const MeterLog& part : sessions_of(log)) {
    samples += part.samples.size();
    energy_wh += part.energy_wh();
    EXPECT_GE(part.samples.front().t_s, 0.0);
  }
  EXPECT_EQ(samples, log.samples.size());
  EXPECT_NEAR(energy_wh, log.energy_wh(), 1e-9);
}

}  // namespace
}  // namespace platetally
