// Calibration and reconciliation on logs of machines whose every figure is known.
#include "platetally/calibrate.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <fstream>

#include "account/join/heat_input.hpp"
#include "heat/simulate.hpp"
#include "meter/calibrate/experiment.hpp"
#include "meter/calibrate/parameters.hpp"
#include "platetally/account.hpp"
#include "platetally/reconcile.hpp"
#include "support.hpp"
#include "support/plug_log.hpp"
#include "support/synthetic_log.hpp"
#include "support/temp_folder.hpp"

namespace platetally {
namespace {

namespace fs = std::filesystem;

class Meter : public testing::Test {
 protected:
  std::string put(const std::string& name, const std::string& text) const {
    std::ofstream(folder_ / name) << text;
    return (folder_ / name).string();
  }
  /// What a plug sees of a plate on that machine.
  static std::string seen(const std::string& plate, const Machine& truth,
                          const test::PlugFaults& faults, unsigned seed) {
    return test::seen_by_plug(plate, truth, faults, seed);
  }
  static const FittedParameter* fitted(const CalibrationReport& report, std::string_view key) {
    const auto found = std::ranges::find(report.fitted, key, &FittedParameter::key);
    return found == report.fitted.end() ? nullptr : &*found;
  }
  /// Of an entry, told or not.
  static std::pair<double, double> interval_of(const CalibrationReport& report,
                                               std::string_view key) {
    for (const FittedParameter& one : report.fitted)
      if (one.key == key)
        return {one.low, one.high};
    for (const UnfittedParameter& one : report.not_identifiable)
      if (one.key == key)
        return {one.low, one.high};
    ADD_FAILURE() << key << " is not named";
    return {0.0, 0.0};
  }

  test::TempFolder temp_;
  fs::path folder_ = temp_.path();
  Machine start_ = test::embedded("switcher-4");
};

/// The truth does not differ from day to day.
CalibrationOptions one_day() {
  CalibrationOptions options;
  options.day_spread = 0.0;
  return options;
}

Machine off(Machine machine, double idle, double tile, double convection, double head) {
  machine.supply.idle_w *= idle;
  machine.bed.tile_power_w *= tile;
  machine.bed.convection_factor *= convection;
  for (Head& one : machine.heads)
    one.power_w *= head;
  return machine;
}

TEST_F(Meter, ThePlanTellsTheMachineAgain) {
  const Machine truth = off(start_, 1.15, 0.9, 1.2, 0.92);
  const std::string plan = put("plan.gcode", measuring_plan(start_));
  test::PlugFaults faults;
  const CalibrationReport report = calibrate_machine(
      start_, {{parse_meter_log(seen(plan, truth, faults, 7), "plug.csv"), "plate=" + plan}},
      one_day());
  EXPECT_TRUE(report.converged);
  ASSERT_GE(report.fitted.size(), 8U);
  for (const FittedParameter& one : report.fitted) {
    const auto& parameter =
        *std::ranges::find(calibrate::parameters(), one.key, &calibrate::Parameter::key);
    const double value = parameter.get(truth);
    // Four standard deviations: a false alarm in sixteen thousand.
    const double wide = 4.0 / 1.96 * 0.5 * (one.high - one.low);
    EXPECT_NEAR(one.value, value, wide) << one.key;
    // The bed's two losses look alike at one temperature: only their sum is known well.
    if (one.key != "bed.convection_factor" && one.key != "bed.underside_loss_w_m2k") {
      EXPECT_LT(wide, 0.3 * value) << one.key;
    }
  }
  // Nothing moved, so nothing is said of the motors.
  ASSERT_EQ(report.not_identifiable.size() + report.fitted.size(),
            calibrate::applicable(start_).size());
  EXPECT_EQ(fitted(report, "supply.motors_moving_w"), nullptr);
  EXPECT_LT(report.rms_after_w, report.rms_before_w);
  // A plate that it has not seen: within two percent.
  Machine found = report.machine;
  const std::string plate = test::testdata("demo/labels.gcode.gz");
  const double truth_wh = analyze_file(plate, truth).totals.energy_wh;
  EXPECT_NEAR(analyze_file(plate, found).totals.energy_wh, truth_wh, 0.02 * truth_wh);
  // The machine file reads back to the same machine.
  const std::string toml = to_toml(report, "2026-11-25");
  const MachineLoad load = parse_machine(toml, "mine.toml");
  ASSERT_TRUE(load.ok());
  EXPECT_EQ(load.machine(), report.machine);
  EXPECT_NE(toml.find("95 % interval"), std::string::npos);
  EXPECT_NE(toml.find(report.experiments[0].log_hash), std::string::npos);
}

TEST_F(Meter, AFanThatStopsFarFromWhereItWasExpectedIsFound) {
  // With slopes alone the fit of this machine ended with a heat capacity 18 % off, and sure of it:
  // the head's fan stopped a minute from where the log has it.
  Machine truth = start_;
  std::mt19937 random(1001);
  std::uniform_real_distribution<double> share(0.85, 1.2);
  for (const std::size_t k : calibrate::applicable(truth)) {
    const calibrate::Parameter& parameter = calibrate::parameters()[k];
    parameter.set(truth, parameter.get(truth) * share(random));
  }
  const std::string plan = put("plan.gcode", measuring_plan(start_));
  test::PlugFaults faults;
  faults.interval_s = 10.0;
  const CalibrationReport report = calibrate_machine(
      start_, {{parse_meter_log(seen(plan, truth, faults, 1), "plug.csv"), "plate=" + plan}});
  const FittedParameter* found = fitted(report, "heads.heat_capacity_j_k");
  ASSERT_NE(found, nullptr);
  EXPECT_NEAR(found->value, truth.heads[0].heat_capacity_j_k,
              0.1 * truth.heads[0].heat_capacity_j_k);
}

TEST_F(Meter, APlugThatLooksRarelyIsNotTrustedWithEdges) {
  const Machine truth = off(start_, 1.15, 0.9, 1.2, 0.92);
  const std::string plan = put("plan.gcode", measuring_plan(start_));
  const auto share_of = [&](double interval_s, const char* key, double value) {
    test::PlugFaults faults;
    faults.interval_s = interval_s;
    const CalibrationReport report = calibrate_machine(
        start_, {{parse_meter_log(seen(plan, truth, faults, 7), "plug.csv"), "plate=" + plan}},
        one_day());
    const FittedParameter* const one = fitted(report, key);
    EXPECT_NE(one, nullptr) << key;
    if (one == nullptr)
      return 0.0;
    const double half = 0.5 * (one->high - one->low);
    // One in twenty lies outside; what samples miss has an end, so hardly any lies far outside.
    EXPECT_NEAR(one->value, value, 1.5 * half) << key << " every " << interval_s << " s";
    return half / value;
  };
  // The bed is at full power for about a minute: of that, up to ten seconds at either end are
  // missed by one plug and up to one by the other.
  const double truth_j_m2k = truth.bed.areal_heat_capacity_j_m2k;
  const double often = share_of(1.0, "bed.areal_heat_capacity_j_m2k", truth_j_m2k);
  const double rarely = share_of(10.0, "bed.areal_heat_capacity_j_m2k", truth_j_m2k);
  // The share of it that lies above the plate and the lag of the sensor are free as well.
  EXPECT_LT(often, 0.02);
  EXPECT_GT(rarely, 2.5 * often);
  EXPECT_LT(rarely, 0.06);
}

TEST_F(Meter, AnIdleLogTellsTheIdlePowerAndNothingElse) {
  std::string text;
  for (int t = 0; t < 600; ++t)
    text += fmt::format("{},{}\n", t, 23.0 + 0.5 * (t % 3 - 1));
  const CalibrationReport report =
      calibrate_machine(start_, {{parse_meter_log(text, "idle.csv"), "idle"}});
  ASSERT_EQ(report.fitted.size(), 1U);
  EXPECT_EQ(report.fitted[0].key, "supply.idle_w");
  EXPECT_NEAR(report.fitted[0].value, 23.0, 0.05);
  for (const UnfittedParameter& one : report.not_identifiable)
    EXPECT_FALSE(one.settled_by.empty());
}

/// Hours of even motion above a hot bed.
std::string long_plate(double hours) {
  std::string text = "M140 S100\nM104 S250\nM190 S100\nM109 S250\nG21\nG90\nM83\nG1 Z0.2 F600\n";
  const int strokes = static_cast<int>(hours * 3600.0 / 5.0);  // of 5 s: 150 mm at 30 mm/s
  for (int i = 0; i < strokes; ++i)
    text += fmt::format("G1 X{} Y{} E5 F1800\n", i % 2 == 0 ? 200 : 50, 50 + i % 100);
  return text + "M104 S0\nM140 S0\n";
}

// The bed gives less and less as the enclosure warms: how long that takes is its heat capacity, and
// where it ends is its loss. Half an hour says less.
TEST_F(Meter, ALongPrintTellsTheEnclosure) {
  Machine truth = start_;
  ASSERT_TRUE(truth.enclosure.present);
  truth.enclosure.heat_capacity_j_k *= 1.6;
  truth.enclosure.loss_closed_w_k *= 1.5;
  truth.supply.motors_moving_w *= 1.2;
  test::PlugFaults faults;
  faults.interval_s = 5.0;
  const auto fit_to = [&](double hours) {
    const std::string plate = put("long.gcode", long_plate(hours));
    return calibrate_machine(
        start_, {{parse_meter_log(seen(plate, truth, faults, 11), "plug.csv"), "plate=" + plate}},
        one_day());
  };
  const CalibrationReport report = fit_to(5.0);
  // The loss shares what the bed loses with the bed's own losses, so it is narrowed, no more: its
  // prior alone allows a factor of 4.8.
  const auto [least_w_k, most_w_k] = interval_of(report, "enclosure.loss_closed_w_k");
  EXPECT_LE(least_w_k, truth.enclosure.loss_closed_w_k);
  EXPECT_GE(most_w_k, truth.enclosure.loss_closed_w_k);
  EXPECT_LT(most_w_k / least_w_k, 3.5);
  const FittedParameter* const capacity = fitted(report, "enclosure.heat_capacity_j_k");
  ASSERT_NE(capacity, nullptr);
  EXPECT_LE(capacity->low, truth.enclosure.heat_capacity_j_k);
  EXPECT_GE(capacity->high, truth.enclosure.heat_capacity_j_k);
  EXPECT_GT(capacity->value, 1.2 * start_.enclosure.heat_capacity_j_k);
  const auto [least_of_short, most_of_short] =
      interval_of(fit_to(0.5), "enclosure.loss_closed_w_k");
  EXPECT_GT(most_of_short / least_of_short, 1.15 * most_w_k / least_w_k);
  // With the door open it is the other loss.
  Machine open = start_;
  open.enclosure.door_open = true;
  truth = open;
  truth.enclosure.loss_open_w_k *= 1.5;
  const std::string plate = put("open.gcode", long_plate(1.0));
  const CalibrationReport of_open = calibrate_machine(
      open, {{parse_meter_log(seen(plate, truth, faults, 12), "plug.csv"), "plate=" + plate}},
      one_day());
  const auto is_named = [&](const char* key) {
    return fitted(of_open, key) != nullptr ||
           std::ranges::count(of_open.not_identifiable, key, &UnfittedParameter::key) == 1;
  };
  EXPECT_TRUE(is_named("enclosure.loss_open_w_k"));
  EXPECT_FALSE(is_named("enclosure.loss_closed_w_k"));
}

// Three real logs of one machine tell its motors from its hot end, by difference. One of them with
// the hot end on sees the sum only, and must not be sure of either.
TEST_F(Meter, OneRealPrintIsNotSureOfTheMotors) {
  const fs::path logs = fs::path(PLATETALLY_SHARED) / "logs";
  if (!fs::exists(logs / "bench.toml"))
    GTEST_SKIP() << logs << " is not there";
  const Machine bench = load_machine((logs / "bench.toml").string()).machine();
  const auto log_of = [&](const std::string& name) {
    return CalibrationLog{parse_meter_log(test::read_text((logs / (name + ".csv")).string()), name),
                          "plate=" + (logs / (name + ".gcode.gz")).string()};
  };
  constexpr const char* kMotors = "supply.motors_moving_w";
  const std::vector<CalibrationLog> all{log_of("bench_print_0.2mm"), log_of("bench_bed_off"),
                                        log_of("bench_heaters_off")};
  const CalibrationReport three = calibrate_machine(bench, all);
  // By difference of the logs, about 11.5 W.
  const FittedParameter* const motors = fitted(three, kMotors);
  ASSERT_NE(motors, nullptr);
  EXPECT_NEAR(motors->value, 11.5, 1.0);
  for (const CalibratedExperiment& one : three.experiments)
    EXPECT_NEAR(one.after_wh / one.measured_wh, 1.0, 0.015) << one.log_path;
  for (const std::size_t i : {std::size_t{0}, std::size_t{1}}) {
    const CalibrationReport alone = calibrate_machine(bench, {all[i]});
    const auto [low, high] = interval_of(alone, kMotors);
    EXPECT_LT(low, motors->value) << all[i].experiment;
    EXPECT_GT(high, motors->value) << all[i].experiment;
    EXPECT_GT(high / low, 2.0) << all[i].experiment;
    EXPECT_EQ(fitted(alone, kMotors), nullptr) << all[i].experiment;
    const auto [least, most] = interval_of(alone, "heads.still_loss_w_k");
    const FittedParameter* const head = fitted(three, "heads.still_loss_w_k");
    ASSERT_NE(head, nullptr);
    EXPECT_LT(least, head->value);
    EXPECT_GT(most, head->value);
  }
  // Without heat there is nothing else that could draw it.
  EXPECT_NE(fitted(calibrate_machine(bench, {all[2]}), kMotors), nullptr);
}

TEST_F(Meter, ExperimentsOfTheirOwnAndZonesAreUnderstood) {
  const Machine changer = test::embedded("changer-5");
  Machine truth = changer;
  truth.bed.tile_power_w *= 1.1;
  truth.supply.idle_w = 24.0;
  calibrate::Experiment experiment;
  experiment.heat_log =
      calibrate::heat_log_of(calibrate::parse_experiment("bed=60,zones=0.0+0.1", changer), 2400.0);
  const auto materials = materials_of(truth, {});
  test::PlugFaults faults;
  faults.idle_w = 24.0;
  faults.tail_s = 0.0;
  const std::string text =
      test::synthetic_log(heat::run_heat(truth, materials, experiment.heat_log).power, faults, 3);
  const CalibrationReport report =
      calibrate_machine(changer, {{parse_meter_log(text, "warm.csv"), "bed=60,zones=0.0+0.1"}});
  const FittedParameter* tile = fitted(report, "bed.tile_power_w");
  ASSERT_NE(tile, nullptr);
  EXPECT_NEAR(tile->value, truth.bed.tile_power_w, 0.02 * truth.bed.tile_power_w);
}

TEST_F(Meter, ExperimentsWithoutSenseAreRefused) {
  const MeterLog log = parse_meter_log("0,20\n1,21\n2,20\n3,22\n", "log");
  for (const char* text : {"", "bed", "bed=", "bed=hot", "bed=500", "bed=10", "fan=2", "nozzle=-1",
                           "bed=60,zones=9.9", "bed=60,zones=x", "plates=x", "plate="})
    EXPECT_THROW(calibrate_machine(start_, {{log, text}}), std::invalid_argument) << text;
  EXPECT_THROW(calibrate_machine(start_, std::vector<CalibrationLog>{}), std::invalid_argument);
  EXPECT_THROW(calibrate_machine(start_, {{log, "plate=/no/such.gcode"}}), UnreadablePlate);
  EXPECT_THROW(calibrate_machine(start_, {{log, "bed=60"}}), std::invalid_argument) << "4 s of log";
}

TEST_F(Meter, ReconcilingFindsTheStartTheDriftAndTheCause) {
  const Machine machine = test::embedded("changer-5");
  Machine truth = machine;
  truth.bed.convection_factor *= 1.6;
  const std::string plate = test::testdata("demo/lantern.gcode.gz");
  test::PlugFaults faults;
  faults.interval_s = 2.0;
  faults.lead_s = 613.0;
  faults.tail_s = 900.0;
  faults.clock = 1.006;
  const MeterLog log = parse_meter_log(seen(plate, truth, faults, 5), "plug.csv");
  ReconcileOptions options;
  options.weighed = {{"purge_g", 9.0}};
  const ReconcileReport report = reconcile(plate, machine, log, options);
  EXPECT_NEAR(report.offset_s, 613.0 * 1.006, 10.0);
  EXPECT_NEAR(report.drift, 0.006, 0.003);
  EXPECT_GT(report.correlation, 0.9);
  ASSERT_GE(report.values.size(), 4U);
  const double truth_s = analyze_file(plate, truth).totals.time.expected;
  EXPECT_NEAR(report.values[0].measured, truth_s * 1.006, 0.01 * truth_s);
  EXPECT_NEAR(report.values[1].measured, analyze_file(plate, truth).totals.energy_wh * 1.006,
              0.03 * report.values[1].measured);
  EXPECT_GT(report.values[1].measured, report.values[1].predicted);
  EXPECT_EQ(report.values[3].key, "purge_g");
  EXPECT_NEAR(report.values[3].predicted, 8.49, 0.1);
  ASSERT_FALSE(report.explanations.empty());
  EXPECT_EQ(report.explanations[0].key, "bed.convection_factor");
  EXPECT_NEAR(report.explanations[0].would_be, truth.bed.convection_factor,
              0.15 * truth.bed.convection_factor);
  // Power and time together make the difference.
  EXPECT_NEAR(report.power_error_wh + report.time_error_wh,
              report.values[1].measured - report.values[1].predicted, 1e-6);
  double phases_wh = 0.0;
  for (const ReconciledPhase& phase : report.phases)
    if (phase.name != "cool-down")
      phases_wh += phase.measured_wh;
  EXPECT_NEAR(phases_wh, report.values[1].measured, 1e-9);
  EXPECT_EQ(report.phases.front().name, "heat-up");
  const ReconciledPhase& cool_down = report.phases.back();
  EXPECT_EQ(cool_down.name, "cool-down");
  // Everything is off but the electronics and, while it is hot, a head's fan.
  const double cool_down_w = cool_down.predicted_wh * 3600.0 / cool_down.predicted_s;
  EXPECT_GE(cool_down_w, machine.supply.idle_w * (1.0 - 1e-9));
  EXPECT_LT(cool_down_w, machine.supply.idle_w + 60.0);
}

TEST_F(Meter, ShortStrangeAndForeignLogsAreDoubtedOrRefused) {
  const Machine machine = test::embedded("changer-5");
  const std::string plate = test::testdata("demo/lantern.gcode.gz");
  test::PlugFaults faults;
  faults.interval_s = 5.0;
  faults.tail_s = 0.0;
  const std::string whole = seen(plate, machine, faults, 5);
  // Cut in the middle: said, and what is missing is left out of both sides.
  const std::string half = whole.substr(0, whole.rfind('\n', whole.size() * 6 / 10) + 1);
  const ReconcileReport report = reconcile(plate, machine, parse_meter_log(half, "half.csv"));
  EXPECT_TRUE(std::ranges::any_of(report.doubts, [](const std::string& doubt) {
    return doubt.find("ends") != std::string::npos;
  }));
  EXPECT_NEAR(report.values[1].measured / report.values[1].predicted, 1.0, 0.03);
  std::string other;
  for (int t = 0; t < 20000; t += 5)
    other += fmt::format("{},{}\n", t, 50 + (t / 700) % 5 * 13);
  // A log of something else is not refused, but doubted, compared in sum and blamed on nothing.
  const ReconcileReport strange = reconcile(plate, machine, parse_meter_log(other, "other.csv"));
  EXPECT_TRUE(std::ranges::any_of(strange.doubts, [](const std::string& doubt) {
    return doubt.find("nothing in the power") != std::string::npos;
  }));
  EXPECT_TRUE(strange.explanations.empty());
  ASSERT_EQ(strange.phases.size(), 1U);
  EXPECT_EQ(strange.phases[0].name, "all of it");
  ReconcileOptions options;
  options.weighed = {{"purge_gg", 1.0}};
  EXPECT_THROW(reconcile(plate, machine, parse_meter_log(half, "half.csv"), options),
               std::invalid_argument);
}

TEST_F(Meter, WhatWasTimedOrWeighedNeedsNoLog) {
  const std::string history = (folder_ / "h.sqlite").string();
  const std::string plate = test::testdata("plates/tower.gcode.gz");
  const Totals totals = analyze_file(plate, start_).totals;
  ReconcileOptions options;
  options.weighed = {{"time_s", 3.0 * totals.time.expected}, {"totals.time_of_print_s", 300.0}};
  const ReconcileReport report = reconcile_weighed(plate, start_, options);
  ASSERT_EQ(report.values.size(), 2U);
  EXPECT_EQ(report.values[0].predicted, totals.time.expected);
  EXPECT_EQ(report.values[0].low, totals.time.low);
  EXPECT_EQ(report.values[0].high, totals.time.high);
  EXPECT_EQ(report.values[1].key, "time_of_print_s");
  EXPECT_EQ(report.values[1].predicted, totals.time_of_print.expected);
  EXPECT_TRUE(report.log_path.empty());
  EXPECT_NE(to_text(report).find("above"), std::string::npos);
  EXPECT_NE(to_html(report).find("above"), std::string::npos);
  keep_reconciliation(history, plate, report, start_, {}, "test", 10);
  const AccuracyBook book = read_accuracy(history, start_.name);
  ASSERT_EQ(book.size(), 2U);
  EXPECT_NEAR(book[1].mean, 2.0, 1e-12) << book[1].key;
  EXPECT_TRUE(read_accuracy(history, "another machine").empty());
  EXPECT_THROW(reconcile_weighed(plate, start_, {}), std::invalid_argument);
  options.weighed = {{"time_ss", 1.0}};
  EXPECT_THROW(reconcile_weighed(plate, start_, options), std::invalid_argument);
}

TEST_F(Meter, PastErrorsWidenTheBand) {
  const std::string history = (folder_ / "h.sqlite").string();
  ReconcileReport report;
  report.values = {{"time_s", "s", 100.0, 110.0}};
  keep_reconciliation(history, test::testdata("plates/tower.gcode.gz"), report, start_, {}, "test",
                      10);
  Account account = analyze_file(test::testdata("plates/chute.gcode.gz"), start_);
  const Range before = account.totals.time;
  widen_by_past(account, read_accuracy(history, start_.name));
  EXPECT_EQ(account.totals.time, before) << "one plate says nothing of the spread";
  keep_reconciliation(history, test::testdata("plates/tower.gcode.gz"), report, start_, {}, "test",
                      20);
  EXPECT_EQ(read_accuracy(history, start_.name)[0].plates, 1U) << "the same plate again";
  report.values[0].measured = 106.0;
  keep_reconciliation(history, test::testdata("plates/chute.gcode.gz"), report, start_, {}, "test",
                      30);
  const AccuracyBook book = read_accuracy(history, start_.name);
  ASSERT_EQ(book.size(), 1U);
  EXPECT_NEAR(book[0].mean, 0.08, 1e-12);
  EXPECT_NEAR(book[0].spread, std::sqrt(2.0) * 0.02, 1e-12);
  widen_by_past(account, book);
  EXPECT_NEAR(account.totals.time.high - before.high,
              (0.08 + 2.0 * std::sqrt(2.0) * 0.02) * before.expected, 1e-9);
  EXPECT_EQ(account.totals.time.low, before.low);
  // Energy and purge likewise, each by its own past.
  const Totals plain = account.totals;
  widen_by_past(account,
                {{"energy_wh", 3, -0.1, 0.02}, {"purge_g", 3, 0.0, 0.05}, {"time_s", 1, 0.5, 0.0}});
  EXPECT_NEAR(plain.energy_low_wh - account.totals.energy_low_wh, 0.14 * plain.energy_wh, 1e-9);
  EXPECT_EQ(account.totals.energy_high_wh, plain.energy_high_wh);
  EXPECT_NEAR(account.totals.purge_high_g - plain.purge_high_g, 0.1 * plain.purge_g, 1e-9);
  EXPECT_NEAR(plain.purge_low_g - account.totals.purge_low_g, 0.1 * plain.purge_g, 1e-9);
  EXPECT_EQ(account.totals.time, plain.time);
}

}  // namespace
}  // namespace platetally
