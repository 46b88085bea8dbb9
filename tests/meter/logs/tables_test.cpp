// Files of finished prints and of counted changes: what is understood, and what is left out and
// said.
#include <gtest/gtest.h>

#include <cmath>
#include <fstream>

#include "platetally/meter.hpp"
#include "platetally/prints.hpp"

namespace platetally {
namespace {

TEST(FinishedPrints, AreReadWithAllTheirColumns) {
  const FinishedPrints file = parse_finished_prints(
      "plate,seconds,span,kwh,grams\n"
      "tags.gcode,5400,start,0.51,31.5\n"
      "tray.gcode,3600.5,first-extrusion,,\n"
      "\"lantern, red.gcode\",1:23:45,,0.3,12\n",
      "prints.csv");
  ASSERT_EQ(file.prints.size(), 3U);
  EXPECT_EQ(file.prints[0].plate, "tags.gcode");
  EXPECT_EQ(file.prints[0].seconds, 5400.0);
  EXPECT_EQ(file.prints[0].span, PrintSpan::start);
  EXPECT_NEAR(file.prints[0].energy_wh.value(), 510.0, 1e-9);
  EXPECT_EQ(file.prints[0].grams, 31.5);
  EXPECT_EQ(file.prints[1].span, PrintSpan::first_extrusion);
  EXPECT_FALSE(file.prints[1].energy_wh.has_value());
  EXPECT_EQ(file.prints[2].plate, "lantern, red.gcode");
  EXPECT_EQ(file.prints[2].seconds, 5025.0);
  EXPECT_TRUE(file.faults.empty());
  // Hundredths of a kilowatt-hour are ten watt-hours, also where a nought was not written.
  EXPECT_NEAR(file.energy_step_wh, 10.0, 1e-9);
}

TEST(FinishedPrints, TakeOtherSeparatorsDecimalCommasAndWordsForTime) {
  const FinishedPrints file = parse_finished_prints(
      "\xEF\xBB\xBF# kept by hand\r\nPlate;Seconds;Wh\r\na;12,5;100,5\r\nb;1h 30m;200\r\n",
      "p.csv");
  ASSERT_EQ(file.prints.size(), 2U);
  EXPECT_EQ(file.prints[0].seconds, 12.5);
  EXPECT_EQ(file.prints[0].energy_wh, 100.5);
  EXPECT_EQ(file.prints[1].seconds, 5400.0);
}

TEST(FinishedPrints, SayWhatTheyLeaveOutWithItsPlace) {
  const FinishedPrints file = parse_finished_prints(
      "plate,seconds,span,colour\n"
      "a,-5,start,red\n"
      "b,100,middle,red\n"
      ",100,start,red\n"
      "c,83:45,,red\n"
      "d,100,start,red\n",
      "p.csv");
  ASSERT_EQ(file.prints.size(), 1U);
  EXPECT_EQ(file.prints[0].plate, "d");
  ASSERT_GE(file.faults.size(), 4U);
  EXPECT_EQ(file.faults[0].line, 2U);
  EXPECT_EQ(file.faults[0].column, 3U);
  EXPECT_NE(file.faults[0].message.find("'-5' is no time"), std::string::npos);
  ASSERT_EQ(file.readings.size(), 1U);
  EXPECT_NE(file.readings[0].find("colour"), std::string::npos);
}

TEST(FinishedPrints, AreRefusedInOneLineWhereNothingCanBeUsed) {
  for (const char* text : {"", "a,b\n1,2\n", "plate,colour\na,red\n", "plate,seconds\n",
                           "plate,kwh,wh\na,1,2\n", "plate,seconds\na,none\n"}) {
    try {
      parse_finished_prints(text, "p.csv");
      FAIL() << text;
    } catch (const UnreadableLog& error) {
      EXPECT_EQ(std::string(error.what()).find("p.csv"), 0U) << error.what();
      EXPECT_EQ(std::string(error.what()).find('\n'), std::string::npos);
    }
  }
}

TEST(FinishedPrints, SeeThatAClockWasReadInWholeMinutes) {
  const auto step_of = [](const char* text) {
    return parse_finished_prints(text, "p.csv").seconds_step_s;
  };
  EXPECT_EQ(step_of("plate,seconds\na,600\nb,1260\nc,60\nd,6000\n"), 60.0);
  EXPECT_EQ(step_of("plate,seconds\na,600\nb,1260\nc,61\nd,6000\n"), 1.0);
  EXPECT_EQ(step_of("plate,seconds\na,600\nb,1260\n"), 1.0);  // two may well be a chance
  EXPECT_NEAR(step_of("plate,seconds\na,600.25\nb,1260\n"), 0.01, 1e-12);
}

TEST(Changes, OfSingleOnesTheLongAreStops) {
  std::string text = "seconds\n";
  for (int i = 0; i < 50; ++i)
    text += "38\n42\n";
  text += "240\n";
  const ChangesFile file = parse_changes(text, "c.csv");
  ASSERT_EQ(file.counted.size(), 1U);
  const CountedChanges& counted = file.counted[0];
  EXPECT_EQ(counted.kind, SwapKind::filament_change);
  EXPECT_EQ(counted.changes, 101U);
  EXPECT_NEAR(counted.seconds.expected, 40.0, 1e-9);
  EXPECT_NEAR(counted.seconds.low, 38.0, 1e-9);
  EXPECT_NEAR(counted.seconds.high, 42.0, 1e-9);
  EXPECT_EQ(counted.stops, 1U);
  EXPECT_NEAR(counted.stop_share.value(), 1.0 / 101.0, 1e-12);
  EXPECT_NEAR(counted.stop_s.value(), 200.0, 1e-9);
  const Machine machine = with_changes(Machine{}, file);
  EXPECT_NEAR(machine.swap.filament_change_s.expected, 40.0, 1e-9);
  EXPECT_NEAR(machine.swap.long_swap_probability, 1.0 / 101.0, 1e-12);
  EXPECT_NEAR(machine.swap.long_swap_extra_s, 200.0, 1e-9);
  EXPECT_EQ(machine.swap.head_change_s, Machine{}.swap.head_change_s);
}

TEST(Changes, PurgeThatThePlateHoldsIsTakenOff) {
  const ChangesFile file =
      parse_changes("seconds,purge_s,kind\n70,28,filament\n7,,head\n", "c.csv");
  ASSERT_EQ(file.counted.size(), 2U);
  for (const CountedChanges& counted : file.counted)
    EXPECT_NEAR(counted.seconds.expected, counted.kind == SwapKind::head_change ? 7.0 : 42.0, 1e-9);
}

TEST(Changes, OfOneCounterTheSpreadIsThatOfMachines) {
  const ChangesFile file =
      parse_changes("changes,seconds_a_change,stops,stop_s_in_all\n1542,40,100,20000\n", "c.csv");
  ASSERT_EQ(file.counted.size(), 1U);
  const Range seconds = file.counted[0].seconds;
  EXPECT_NEAR(seconds.low, 0.63 * 40.0, 1e-9);
  EXPECT_NEAR(seconds.expected, 40.0, 1e-9);
  EXPECT_NEAR(seconds.high, 1.56 * 40.0, 1e-9);
  EXPECT_NEAR(file.counted[0].stop_share.value(), 100.0 / 1542.0, 1e-12);
  EXPECT_NEAR(file.counted[0].stop_s.value(), 200.0, 1e-9);
}

// Counters of 61 machines, by others: the figures that their README states.
TEST(Changes, OfManyMachinesEachCountsOnce) {
  const std::string path = PLATETALLY_SHARED "/changes/filament_changes.csv";
  if (!std::ifstream(path))
    GTEST_SKIP() << path << " is not there";
  const ChangesFile file = load_changes(path);
  ASSERT_EQ(file.counted.size(), 1U);
  const CountedChanges& counted = file.counted[0];
  EXPECT_EQ(counted.machines, 61U);
  EXPECT_EQ(counted.changes, 21672U);
  EXPECT_NEAR(counted.seconds.low, 30.0, 0.5);
  EXPECT_NEAR(counted.seconds.expected, 52.0, 0.5);
  EXPECT_NEAR(counted.seconds.high, 82.0, 0.5);
  EXPECT_NEAR(counted.stop_share.value(), 0.16, 0.005);
  EXPECT_NEAR(counted.stop_s.value(), 211.0, 15.0);  // theirs may be of other machines
}

TEST(Changes, AreRefusedInOneLineWhereNothingCanBeUsed) {
  for (const char* text :
       {"", "machine,changes\n1,2\n", "seconds\n", "seconds\n-4\n", "seconds,kind\n4,spool\n"}) {
    try {
      parse_changes(text, "c.csv");
      FAIL() << text;
    } catch (const UnreadableLog& error) {
      EXPECT_EQ(std::string(error.what()).find("c.csv"), 0U) << error.what();
    }
  }
}

TEST(FinishedPrints, TimesAreReadInEveryForm) {
  const auto seconds_of = [](const std::string& text) -> double {
    const FinishedPrints file =
        parse_finished_prints("plate;seconds\nlast;1\na;" + text + "\n", "p.csv");
    return file.prints.size() == 2 ? *file.prints[1].seconds : -1.0;
  };
  EXPECT_EQ(seconds_of("5400"), 5400.0);
  EXPECT_EQ(seconds_of("1:30:00"), 5400.0);
  EXPECT_EQ(seconds_of("30:00:59,5"), 108059.5);
  EXPECT_EQ(seconds_of("1h 30m"), 5400.0);
  EXPECT_EQ(seconds_of("1H30M"), 5400.0);
  EXPECT_EQ(seconds_of("2d 1h 1m 1s"), 176461.0);
  EXPECT_EQ(seconds_of("90 min"), 5400.0);
  EXPECT_EQ(seconds_of("1,5 h"), 5400.0);
  EXPECT_EQ(seconds_of("45s"), 45.0);
  for (const char* text : {"0", "-5", "1:60:00", "1:00:60", "1:30", "30m 1h", "1h 2h", "5 ferns",
                           "h", "1h 30", "1e10", "1:-5:00", "5 \xC2\xB5s", "5\xFFh"})
    EXPECT_EQ(seconds_of(text), -1.0) << text;
}

TEST(FinishedPrints, ASpanThatNobodyKnowsTakesItsSecondsAway) {
  const FinishedPrints file =
      parse_finished_prints("plate,seconds,span,grams\na,100,first,20\nb,50,,\n", "p.csv");
  ASSERT_EQ(file.prints.size(), 2U);
  EXPECT_FALSE(file.prints[0].seconds) << "what they cover is not known";
  EXPECT_EQ(file.prints[0].grams, 20.0);
  EXPECT_EQ(file.prints[1].span, PrintSpan::start) << "nothing said is the usual";
  ASSERT_EQ(file.faults.size(), 1U);
  EXPECT_EQ(file.faults[0].message,
            "'first' is no span; expected first-extrusion or start, left the seconds out");
  EXPECT_EQ(file.faults[0].column, 7U);
}

TEST(FinishedPrints, FaultsAreSaidTwentyTimesAndThenCounted) {
  std::string text = "plate,seconds\ngood,5\n";
  for (int i = 0; i < 30; ++i)
    text += ",100\n";
  const FinishedPrints file = parse_finished_prints(text, "p.csv");
  ASSERT_EQ(file.faults.size(), 21U);
  EXPECT_EQ(file.faults[19].message, "no plate is named; left the line out");
  EXPECT_EQ(file.faults[20].message, "10 more were left out");
  EXPECT_EQ(file.faults[20].code, "print-left-out");
}

TEST(FinishedPrints, EnergyIsAsFineAsItIsWritten) {
  const auto step_of = [](const char* text) {
    return parse_finished_prints(text, "p.csv").energy_step_wh;
  };
  EXPECT_NEAR(step_of("plate,kwh\na,0.512\nb,0.3\n"), 1.0, 1e-9);
  EXPECT_NEAR(step_of("plate,wh\na,512.5\nb,3\n"), 0.1, 1e-9);
  // Four that agree on a coarser step were read off a coarser meter.
  EXPECT_NEAR(step_of("plate,wh\na,500\nb,30\nc,120\nd,10\n"), 10.0, 1e-9);
  EXPECT_NEAR(step_of("plate,wh\na,500\nb,30\nc,120\n"), 1.0, 1e-9);
}

TEST(FinishedPrints, WithoutASpanItIsSaidWhatIsTaken) {
  const FinishedPrints file = parse_finished_prints("plate,seconds\na,100\n", "p.csv");
  ASSERT_EQ(file.readings.size(), 1U);
  EXPECT_TRUE(file.readings[0].starts_with(
      "there is no column span: seconds are taken from the first line of the plate to its end"));
  for (const std::string& reading : parse_finished_prints("plate,wh\na,100\n", "p.csv").readings)
    EXPECT_EQ(reading.find("span"), std::string::npos) << reading;
}

TEST(Changes, OfACounterThatNamesAllItsChangesStopsAreOfThose) {
  const ChangesFile file =
      parse_changes("changes,seconds_a_change,stops,changes_in_all\n500,40,30,600\n", "c.csv");
  EXPECT_NEAR(file.counted.at(0).stop_share.value(), 0.05, 1e-12);
  EXPECT_FALSE(file.counted[0].stop_s) << "how long they took is not said";
}

TEST(Changes, OfSeveralCountersEachCountsOnceAndSmallOnesNot) {
  // Medians by hand: seconds of those with ten changes or more, stops of those with a hundred.
  const ChangesFile file = parse_changes(
      "changes,seconds_a_change,stops,stop_s_in_all\n"
      "1000,40,100,10000\n200,50,2,600\n300,60,30,6000\n20,90,10,100\n5,500,5,5000\n",
      "c.csv");
  const CountedChanges& counted = file.counted.at(0);
  EXPECT_EQ(counted.machines, 5U);
  EXPECT_EQ(counted.changes, 1525U);
  EXPECT_NEAR(counted.seconds.expected, 55.0, 1e-9);
  EXPECT_EQ(counted.stops, 147U);
  EXPECT_NEAR(counted.stop_share.value(), 0.1, 1e-12);
  EXPECT_NEAR(counted.stop_s.value(), 200.0, 1e-9);
}

TEST(Changes, WhereEveryCounterIsSmallAllOfThemCount) {
  const ChangesFile file = parse_changes("changes,mean_s\n5,40\n4,60\n3,50\n", "c.csv");
  EXPECT_NEAR(file.counted.at(0).seconds.expected, 50.0, 1e-9);
  EXPECT_FALSE(file.counted[0].stop_share);
}

TEST(Changes, ArePutIntoTheMachineByTheirKind) {
  const ChangesFile file = parse_changes("seconds,kind\n9,head\n11,head\n50,filament\n", "c.csv");
  const Machine before;
  const Machine after = with_changes(before, file);
  EXPECT_NEAR(after.swap.head_change_s.expected, 10.0, 1e-9);
  EXPECT_NEAR(after.swap.filament_change_s.expected, 50.0, 1e-9);
  EXPECT_NEAR(after.swap.filament_change_s.low, 0.63 * 50.0, 1e-9);
  EXPECT_NEAR(after.swap.filament_change_s.high, 1.56 * 50.0, 1e-9);
  EXPECT_EQ(after.swap.long_swap_probability, 0.0) << "none of them was a stop";
  EXPECT_EQ(with_changes(before, ChangesFile{}), before);
}

TEST(Changes, FaultsHaveTheirPlaceAndAnEnd) {
  std::string text = "seconds,kind\n40,filament\nfern,filament\n50,spool\n-3,head\n";
  const ChangesFile file = parse_changes(text, "c.csv");
  ASSERT_EQ(file.faults.size(), 3U);
  EXPECT_EQ(file.faults[0].message, "'fern': expected a number from 0 to 1e+09, left it out");
  EXPECT_EQ(file.faults[0].line, 3U);
  EXPECT_EQ(file.faults[1].message,
            "'spool' is no kind of change; expected filament or head, left the line out");
  EXPECT_EQ(file.faults[1].column, 4U);
  EXPECT_EQ(file.counted.at(0).changes, 1U);
  for (int i = 0; i < 30; ++i)
    text += "fern,head\n";
  const ChangesFile many = parse_changes(text, "c.csv");
  EXPECT_EQ(many.faults.size(), 20U);
  EXPECT_EQ(many.faults.back().count, 14U) << "the last stands for the rest";
}

TEST(Changes, NeverTakeLongerThanAMachineFileAllows) {
  const ChangesFile file = parse_changes("changes,seconds_a_change\n50,3000\n", "c.csv");
  EXPECT_NEAR(file.counted.at(0).seconds.expected, 3000.0, 1e-9);
  EXPECT_EQ(file.counted[0].seconds.high, 3600.0);
}

}  // namespace
}  // namespace platetally
