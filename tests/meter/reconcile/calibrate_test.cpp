// Calibration where plates are read: what is refused, what the report was made from, its machine
// file, and the measuring plan as a plate.
#include "platetally/calibrate.hpp"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <stdexcept>

#include "meter/calibrate/plan.hpp"
#include "platetally/account.hpp"
#include "platetally/analyze.hpp"
#include "support/calibration_keys.hpp"
#include "support/plug_log.hpp"
#include "support/workshop.hpp"

namespace platetally {
namespace {

class Calibrate : public testing::Test {
 protected:
  static MeterLog idle_log(double idle_w, int seconds = 300) {
    std::string text = "time,watts\n";
    for (int t_s = 0; t_s < seconds; ++t_s)
      text += fmt::format("{},{}\n", t_s, idle_w + 0.5 * (t_s % 3 - 1));
    return parse_meter_log(text, "idle.csv");
  }
  std::string refusal(const std::vector<CalibrationLog>& logs) const {
    try {
      calibrate_machine(machine_, logs);
    } catch (const std::invalid_argument& error) {
      return error.what();
    }
    return "";
  }
  std::string refusal(const CalibrationEvidence& evidence) const {
    try {
      calibrate_machine(machine_, evidence);
    } catch (const std::invalid_argument& error) {
      return error.what();
    }
    return "";
  }
  CalibrationEvidence prints(const std::string& text) const {
    CalibrationEvidence evidence;
    evidence.prints = parse_finished_prints(text, shop_.put("prints.csv", text));
    return evidence;
  }
  static std::string option_of(const MadeFrom& made, const std::string& name) {
    for (const auto& [key, value] : made.options)
      if (key == name)
        return value;
    return "(absent)";
  }
  static bool says(const std::vector<std::string>& notes, std::string_view what) {
    return std::ranges::any_of(
        notes, [&](const std::string& note) { return note.find(what) != std::string::npos; });
  }

  test::Workshop shop_;
  Machine machine_ = test::machine_named("single-1");
};

TEST_F(Calibrate, WithoutEvidenceIsRefused) {
  EXPECT_EQ(refusal(std::vector<CalibrationLog>{}),
            "expected at least one log with its experiment");
  EXPECT_EQ(refusal(CalibrationEvidence{}), "expected logs, finished prints or counted changes");
}

TEST_F(Calibrate, ALogThatIsToSayItsSetPointsButHeatsNothingIsRefused) {
  MeterLog log = idle_log(10.0);
  EXPECT_EQ(refusal({{log, "logged"}}),
            "idle.csv: no session of it heats a bed or a nozzle for some minutes: expected columns "
            "of set points, temperatures and duties, or an experiment such as idle.csv:bed=60");
}

TEST_F(Calibrate, AnExperimentWithoutSenseIsRefusedWithTheForms) {
  EXPECT_EQ(refusal({{idle_log(10.0), "bet=60"}}),
            "experiment 'bet=60': expected idle, bed=DEGC, bed=DEGC,zones=0.0+0.1, nozzle=DEGC, "
            "fan=0..1, plate=FILE or logged");
}

TEST_F(Calibrate, IdlingTellsTheElectronicsAndSaysWhatTellsTheRest) {
  const CalibrationReport report = calibrate_machine(machine_, {{idle_log(11.0), "idle"}});
  EXPECT_TRUE(report.converged);
  ASSERT_EQ(report.fitted.size(), 1U);
  EXPECT_EQ(report.fitted[0].key, "supply.idle_w");
  EXPECT_EQ(report.fitted[0].before, machine_.supply.idle_w);
  EXPECT_NEAR(report.machine.supply.idle_w, 11.0, 0.05);
  EXPECT_LT(report.fitted[0].low, 11.0);
  EXPECT_GT(report.fitted[0].high, 11.0);
  EXPECT_EQ(report.rank, 1U);
  ASSERT_EQ(report.experiments.size(), 1U);
  EXPECT_EQ(report.experiments[0].experiment, "idle");
  EXPECT_EQ(report.experiments[0].measured_wh, 0.0) << "idling has no end, and so no energy";
  ASSERT_EQ(report.experiments[0].windows.size(), 30U);
  for (const CalibrationWindow& window : report.experiments[0].windows) {
    EXPECT_NEAR(window.measured_w, 11.0, 0.1);
    EXPECT_NEAR(window.before_w, machine_.supply.idle_w, 1e-9);
    EXPECT_NEAR(window.after_w, report.machine.supply.idle_w, 1e-9);
  }
  EXPECT_LT(report.rms_after_w, report.rms_before_w);
  // Nothing else of the machine is another.
  Machine rest = report.machine;
  rest.supply.idle_w = machine_.supply.idle_w;
  rest.supply.energy_spread = machine_.supply.energy_spread;
  EXPECT_EQ(rest, machine_);
}

TEST_F(Calibrate, TwoLogsOfOneMachineKnowItBetterThanOne) {
  const auto width = [&](const std::vector<CalibrationLog>& logs) {
    const CalibrationReport report = calibrate_machine(machine_, logs);
    return std::log(report.fitted.at(0).high / report.fitted.at(0).low);
  };
  const double one = width({{idle_log(11.0), "idle"}});
  const double four = width({{idle_log(11.0), "idle"},
                             {idle_log(11.1), "idle"},
                             {idle_log(10.9), "idle"},
                             {idle_log(11.0), "idle"}});
  // Days differ: four of them tell twice as well as one.
  EXPECT_NEAR(four / one, 0.5, 0.1);
}

TEST_F(Calibrate, TheReportSaysWhatItWasMadeFrom) {
  const std::string plate =
      shop_.put("tags.gcode", "M140 S60\nM190 S60\nG4 S300\nM140 S0\nG4 S60\n");
  const MeterLog log = test::log_of_plug(plate, machine_, test::exact_plug());
  const MeterLog idle = idle_log(8.0);
  const CalibrationReport report =
      calibrate_machine(machine_, {{log, "plate=" + plate}, {idle, "idle"}});
  EXPECT_EQ(option_of(report.made_from, "logs"), log.hash + " " + idle.hash);
  ASSERT_EQ(report.made_from.plates.size(), 1U);
  EXPECT_EQ(report.made_from.plates[0].path, plate);
  ASSERT_EQ(report.made_from.machines.size(), 1U);
  EXPECT_EQ(report.made_from.machines[0], used(machine_)) << "as it was";
}

TEST_F(Calibrate, ThePlanIsOneOfThoseThatAreTriedAndAPlateOfItsLength) {
  for (const char* name : {"changer-5", "switcher-4", "single-1"}) {
    const Machine machine = test::machine_named(name);
    const std::string plan = measuring_plan(machine);
    double seconds = 0.0;
    for (const double scale : {0.3, 0.5, 0.7, 1.0, 1.5, 2.0}) {
      const calibrate::Plan tried = calibrate::plan_at(machine, scale);
      if (tried.gcode == plan)
        seconds = tried.seconds;
    }
    ASSERT_GT(seconds, 0.0) << name;
    const Account account = analyze_file(shop_.put("plan.gcode", plan), machine);
    EXPECT_NEAR(account.totals.time.expected, seconds, 1e-6) << name;
    EXPECT_EQ(account.totals.part_g, 0.0);
    EXPECT_EQ(account.reading.moves, 0U) << "nothing moves";
    EXPECT_EQ(account.reading.lines_left_out, 0U);
  }
}

/// A report by hand, with every part that the machine file's comments name.
CalibrationReport by_hand(const Machine& machine) {
  CalibrationReport report;
  report.machine = machine;
  CalibratedExperiment one;
  one.experiment = "bed=60";
  one.log_path = "plug\n[evil]\x1b.csv";
  one.log_hash = "abc";
  report.experiments = {one};
  FittedParameter idle;
  idle.key = "supply.idle_w";
  idle.unit = "W";
  idle.before = 8.0;
  idle.value = 11.25;
  idle.low = 10.5;
  idle.high = 12.0;
  FittedParameter plain = idle;
  plain.key = "bed.convection_factor";
  plain.unit = "";
  report.fitted = {idle, plain};
  UnfittedParameter fan;
  fan.key = "supply.part_fan_w";
  fan.value = 2.0;
  fan.low = 1.0;
  fan.high = 4.0;
  report.not_identifiable = {fan};
  report.prints.emplace();
  report.prints->path = "prints.csv";
  report.prints->hash = "def";
  report.changes.emplace();
  report.changes->path = "changes.csv";
  report.changes->hash = "012";
  return report;
}

TEST_F(Calibrate, TheMachineFileSaysWhereEveryFigureComesFrom) {
  const std::string toml = to_toml(by_hand(machine_), "2026-05-04");
  const std::string comments = toml.substr(0, toml.find("\n\n"));
  const std::size_t evil = comments.find("# From plug");
  ASSERT_NE(evil, std::string::npos);
  EXPECT_TRUE(comments.starts_with("# Fitted by platetally calibrate, 2026-05-04.\n"));
  EXPECT_NE(comments.find("(bed=60), XXH3 abc\n"), std::string::npos);
  EXPECT_NE(comments.find("\n# From finished prints, prints.csv, XXH3 def\n"), std::string::npos);
  EXPECT_NE(comments.find("\n# Seconds of changes from changes.csv, XXH3 012\n"),
            std::string::npos);
  EXPECT_NE(comments.find("\n# key = value (95 % interval; before)\n"), std::string::npos);
  EXPECT_NE(comments.find("\n# supply.idle_w = 11.25 W (10.5 to 12; was 8)\n"), std::string::npos);
  EXPECT_NE(comments.find("\n# bed.convection_factor = 11.25 (10.5 to 12; was 8)\n"),
            std::string::npos)
      << "no unit, no blank";
  EXPECT_NE(comments.find("\n# supply.part_fan_w about as it was, 2 (1 to 4): hardly told by these "
                          "logs"),
            std::string::npos);
  EXPECT_TRUE(to_toml(by_hand(machine_), "").starts_with("# Fitted by platetally calibrate.\n"));
}

TEST_F(Calibrate, ANameOfALogCannotWriteKeys) {
  const std::string toml = to_toml(by_hand(machine_), "2026\n[motion]");
  const MachineLoad load = parse_machine(toml, "mine.toml");
  ASSERT_TRUE(load.ok());
  EXPECT_EQ(load.machine(), machine_);
  EXPECT_EQ(toml.find('\x1b'), std::string::npos);
}

TEST_F(Calibrate, OfChangesAloneOnlyTheyChange) {
  CalibrationEvidence evidence;
  evidence.changes = parse_changes("seconds\n100\n120\n140\n", "changes.csv");
  const CalibrationReport report = calibrate_machine(machine_, evidence);
  EXPECT_TRUE(report.converged);
  EXPECT_EQ(report.machine, with_changes(machine_, *evidence.changes));
  EXPECT_TRUE(report.fitted.empty());
  EXPECT_EQ(option_of(report.made_from, "changes"), evidence.changes->hash);
  EXPECT_EQ(report.made_from.machines.at(0), used(machine_)) << "as it was before";
  EXPECT_FALSE(report.prints);
}

TEST_F(Calibrate, PlatesOfPrintsLieBesideTheirFile) {
  shop_.put("tags.gcode", test::FramePlate{}.text());
  const CalibrationReport report =
      calibrate_machine(machine_, prints("plate,seconds,span\ntags.gcode,60,first-extrusion\n"));
  ASSERT_TRUE(report.prints);
  EXPECT_EQ(report.prints->outcomes.at(0).plate, "tags.gcode") << "as written";
  ASSERT_EQ(report.made_from.plates.size(), 1U);
  EXPECT_NE(report.made_from.plates[0].path.find("/tags.gcode"), std::string::npos);
  EXPECT_FALSE(report.made_from.plates[0].hash.empty());
  EXPECT_EQ(option_of(report.made_from, "prints"), report.prints->hash);
}

TEST_F(Calibrate, WhatPrintsWereBeforeIsTheTallyOfTheMachineAsItWas) {
  const std::string small = shop_.put("small.gcode", test::FramePlate{40.0, 20.0, 20}.text());
  const std::string large = shop_.put("large.gcode", test::FramePlate{90.0, 70.0, 40}.text());
  const Totals of_small = analyze_file(small, machine_).totals;
  const Totals of_large = analyze_file(large, machine_).totals;
  const CalibrationReport report =
      calibrate_machine(machine_, prints("plate,seconds,span,wh,grams\nsmall.gcode,400,start,10,2\n"
                                         "large.gcode,600,first-extrusion,30,9\n"));
  const auto& outcomes = report.prints->outcomes;
  ASSERT_EQ(outcomes.size(), 6U);
  EXPECT_EQ(outcomes[0].key, "time_s");
  EXPECT_NEAR(outcomes[0].before, of_small.time.expected, 1e-6);
  EXPECT_EQ(outcomes[1].key, "time_of_print_s");
  EXPECT_NEAR(outcomes[1].before, of_large.time_of_print.expected, 1e-6);
  EXPECT_EQ(outcomes[2].key, "energy_wh");
  EXPECT_NEAR(outcomes[2].before, of_small.energy_wh, 1e-9);
  EXPECT_EQ(outcomes[4].key, "grams");
  EXPECT_NEAR(outcomes[5].before, of_large.part_g + of_large.purge_g + of_large.start_up_g, 1e-9);
  std::vector<std::string> errors;
  for (const PrintErrors& one : report.prints->errors)
    errors.push_back(one.key);
  EXPECT_EQ(errors, (std::vector<std::string>{"time", "energy", "weight"}));
  for (const PrintOutcome& one : outcomes)
    EXPECT_EQ(one.line, one.plate == "small.gcode" ? 2U : 3U);
}

TEST_F(Calibrate, APlateThatCannotBeReadIsSaidOnce) {
  shop_.put("tags.gcode", test::FramePlate{}.text());
  const CalibrationReport report = calibrate_machine(
      machine_, prints("plate,seconds,span\ntags.gcode,60,first-extrusion\n"
                       "gone.gcode,60,first-extrusion\ngone.gcode,61,first-extrusion\n"));
  EXPECT_EQ(std::ranges::count_if(report.notes,
                                  [](const std::string& note) {
                                    return note.find("gone.gcode") != std::string::npos;
                                  }),
            1);
  EXPECT_TRUE(says(report.notes, "prints.csv:3: left out: "));
  EXPECT_EQ(report.prints->errors.at(0).prints, 1U);
}

TEST_F(Calibrate, PrintsOfWhichNoPlateCanBeReadAreRefused) {
  const std::string said = refusal(prints("plate,seconds\ngone.gcode,60\n"));
  EXPECT_NE(said.find("prints.csv: none of its plates can be read: "), std::string::npos) << said;
}

TEST_F(Calibrate, ATimeFromTheFirstExtrusionNeedsOne) {
  shop_.put("tags.gcode", test::FramePlate{}.text());
  shop_.put("plan.gcode", "M140 S50\nG4 S60\nM140 S0\n");
  const CalibrationReport report =
      calibrate_machine(machine_, prints("plate,seconds,span\ntags.gcode,60,first-extrusion\n"
                                         "plan.gcode,60,first-extrusion\n"));
  EXPECT_TRUE(says(report.notes, "prints.csv:3: left out: the plate extrudes nothing"));
  EXPECT_EQ(report.prints->outcomes.size(), 1U);
}

TEST_F(Calibrate, EveryEntryIsToldOrSaidToStayAndNoneTwice) {
  shop_.put("small.gcode", test::FramePlate{40.0, 20.0, 20}.text());
  shop_.put("large.gcode", test::FramePlate{90.0, 70.0, 40}.text());
  CalibrationEvidence evidence =
      prints("plate,seconds,span,wh\nsmall.gcode,300,start,9\nlarge.gcode,600,start,25\n");
  evidence.logs = {{idle_log(11.0), "idle"}};
  const CalibrationReport report = calibrate_machine(machine_, evidence);
  const std::vector<std::string> keys = test::keys_of(report);
  EXPECT_EQ(std::ranges::adjacent_find(keys), keys.end());
  for (const char* key : {"supply.idle_w", "motion.x_speed_mm_s", "procedures.start_s"})
    EXPECT_TRUE(std::ranges::binary_search(keys, key)) << key;
  EXPECT_NEAR(report.machine.supply.idle_w, 11.0, 0.5) << "the log knows it best";
  EXPECT_EQ(report.experiments.size(), 1U);
}

TEST_F(Calibrate, AMachineThatIsNotSoundIsSaidBeforeAnyWork) {
  machine_.tools[0].material = "moss";
  EXPECT_THROW(calibrate_machine(machine_, prints("plate,seconds\ngone.gcode,60\n")),
               UnreadablePlate);
}

}  // namespace
}  // namespace platetally
