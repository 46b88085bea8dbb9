// Fits to logs of experiments without plates: what is found, what stays, and what is doubted.
#include "meter/calibrate/fit.hpp"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <deque>
#include <stdexcept>

#include "meter/calibrate/parameters.hpp"
#include "support/calibration_keys.hpp"

namespace platetally::calibrate {
namespace {

class FitTo : public testing::Test {
 protected:
  FitTo() { materials_.assign(machine_.tools.size(), *find_embedded_material("PLA")); }

  /// What an exact plug, which looks every second, sees of an experiment on another machine.
  void add(const std::string& name, const Machine& truth, double seconds, double factor = 1.0) {
    Experiment experiment;
    experiment.name = name;
    experiment.heat_log = heat_log_of(parse_experiment(name, machine_), seconds);
    experiment.is_idle = name == "idle";
    const meter::PowerSeries seen = predict(truth, materials_, experiment).power;
    std::string text = "time,watts\n";
    const double lead_s = experiment.is_idle ? 0.0 : 60.0;
    for (double t_s = -lead_s; t_s < seconds; t_s += 1.0)
      text += fmt::format("{},{:.6f}\n", t_s + lead_s,
                          factor * (t_s < 0.0 ? truth.supply.idle_w : seen.mean_w(t_s, t_s + 1.0)));
    logs_.push_back(parse_meter_log(text, name + ".csv"));
    experiment.log = &logs_.back();
    experiments_.push_back(experiment);
  }
  CalibrationReport fitted(double day_spread = 0.0) const {
    CalibrationOptions options;
    options.day_spread = day_spread;
    return fit(machine_, materials_, experiments_, options);
  }
  static const FittedParameter* find(const CalibrationReport& report, std::string_view key) {
    const auto found = std::ranges::find(report.fitted, key, &FittedParameter::key);
    return found == report.fitted.end() ? nullptr : &*found;
  }

  Machine machine_ = load_machine("single-1").machine();
  std::vector<Material> materials_;
  std::deque<MeterLog> logs_;  // experiments point into it
  std::vector<Experiment> experiments_;
};

TEST_F(FitTo, AMachineThatIsAsDescribedStaysAsItIs) {
  add("idle", machine_, 300.0);
  add("fan=1", machine_, 300.0);
  const CalibrationReport report = fitted();
  EXPECT_TRUE(report.converged);
  EXPECT_LT(report.rms_before_w, 0.1);
  for (const FittedParameter& one : report.fitted)
    EXPECT_NEAR(one.value, one.before, 0.02 * one.before) << one.key;
  for (const CalibratedExperiment& one : report.experiments)
    EXPECT_TRUE(std::ranges::none_of(one.doubts, [](const std::string& doubt) {
      return doubt.find("still") != std::string::npos;
    }));
}

TEST_F(FitTo, TheFanIsWhatItDrawsBesideTheElectronics) {
  Machine truth = machine_;
  truth.supply.idle_w = 9.5;
  truth.supply.part_fan_w = 3.2;
  add("idle", truth, 300.0);
  add("fan=1", truth, 600.0);
  const CalibrationReport report = fitted();
  EXPECT_NEAR(report.machine.supply.idle_w, 9.5, 0.1);
  EXPECT_NEAR(report.machine.supply.part_fan_w, 3.2, 0.15);
  const FittedParameter* const fan = find(report, "supply.part_fan_w");
  ASSERT_NE(fan, nullptr);
  EXPECT_LT(fan->low, 3.2);
  EXPECT_GT(fan->high, 3.2);
  EXPECT_EQ(fan->before, machine_.supply.part_fan_w);
  EXPECT_EQ(fan->unit, "W");
}

TEST_F(FitTo, TheBedsPowerIsToldByItsWarmUp) {
  Machine truth = machine_;
  truth.bed.tile_power_w *= 0.9;
  add("bed=60", truth, 1500.0);
  const CalibrationReport report = fitted();
  const FittedParameter* const power = find(report, "bed.tile_power_w");
  ASSERT_NE(power, nullptr);
  EXPECT_NEAR(power->value, truth.bed.tile_power_w, 0.02 * truth.bed.tile_power_w);
  EXPECT_LT(report.rms_after_w, 0.3 * report.rms_before_w);
  // What no window shows keeps its figure and the width of what was known of it.
  const auto nozzle =
      std::ranges::find(report.not_identifiable, "heads.power_w", &UnfittedParameter::key);
  ASSERT_NE(nozzle, report.not_identifiable.end());
  EXPECT_EQ(nozzle->value, machine_.heads[0].power_w);
  EXPECT_NEAR(std::log(nozzle->high / nozzle->low), 2.0 * 1.96 * 0.1, 1e-9);
  EXPECT_EQ(nozzle->settled_by, "warm-up of a nozzle (nozzle=215)");
}

TEST_F(FitTo, EveryEntryThatTheMachineHasIsNamedOnce) {
  add("idle", machine_, 300.0);
  const CalibrationReport report = fitted();
  const std::vector<std::string> keys = test::keys_of(report);
  std::vector<std::string> expected;
  for (const std::size_t k : applicable(machine_))
    expected.push_back(parameters()[k].key);
  std::ranges::sort(expected);
  EXPECT_EQ(keys, expected);
}

TEST_F(FitTo, LogsThatCannotBothBeOfOneMachineAreDoubted) {
  add("fan=1", machine_, 600.0);
  add("fan=1", machine_, 600.0, 2.5);
  const CalibrationReport report = fitted();
  const auto doubted = [&](std::size_t log) {
    return std::ranges::any_of(report.experiments.at(log).doubts, [](const std::string& doubt) {
      return doubt.starts_with("after the fit its energy is still ") &&
             doubt.ends_with(
                 "% off: something in it is not in the model, or not in the experiment");
    });
  };
  EXPECT_TRUE(doubted(0) || doubted(1));
  double off = 0.0;
  for (const CalibratedExperiment& one : report.experiments)
    off = std::max(off, std::abs(one.after_wh / one.measured_wh - 1.0));
  EXPECT_GT(off, 0.2);
  EXPECT_GE(report.machine.supply.energy_spread, std::min(1.0, 1.96 * off)) << "the band knows it";
}

TEST_F(FitTo, DaysThatDifferWidenEveryInterval) {
  add("idle", machine_, 300.0);
  const auto width = [&](double day_spread) {
    const CalibrationReport report = fitted(day_spread);
    return std::log(report.fitted.at(0).high / report.fitted.at(0).low);
  };
  // One log knows an entry no better than days differ.
  EXPECT_LT(width(0.0), 0.01);
  EXPECT_NEAR(width(0.05), 2.0 * 1.96 * 0.05, 0.01);
  EXPECT_GT(width(0.1), 1.8 * width(0.05));
}

TEST_F(FitTo, WindowsOfTheReportAreOnTheExperimentsClock) {
  add("fan=1", machine_, 300.0);
  const CalibrationReport report = fitted();
  const CalibratedExperiment& one = report.experiments.at(0);
  EXPECT_NEAR(one.offset_s, 60.0, 2.0);
  EXPECT_EQ(one.experiment, "fan=1");
  EXPECT_EQ(one.log_path, "fan=1.csv");
  EXPECT_EQ(one.log_hash, logs_[0].hash);
  ASSERT_FALSE(one.windows.empty());
  EXPECT_NEAR(one.windows.front().from_s, -40.0, 3.0) << "four windows of idling before it";
  EXPECT_LE(one.windows.back().to_s, 300.0 + 2.0);
  for (std::size_t i = 1; i < one.windows.size(); ++i)
    EXPECT_GE(one.windows[i].from_s, one.windows[i - 1].to_s - 1e-9);
  EXPECT_NEAR(one.measured_wh, one.after_wh, 0.01 * one.measured_wh);
}

TEST_F(FitTo, LongerLogsPromiseMore) {
  const auto promise = [&](double seconds) {
    logs_.clear();
    experiments_.clear();
    add("fan=1", machine_, seconds);
    return promise_of(machine_, materials_, experiments_[0],
                      {"supply.idle_w", "supply.part_fan_w"});
  };
  const double of_one_minute = promise(60.0), of_ten = promise(600.0);
  EXPECT_LT(of_ten, of_one_minute);
  EXPECT_GT(of_ten, 0.0);
}

TEST_F(FitTo, WhatAnExperimentDoesNotMoveIsPromisedNothingOf) {
  add("fan=1", machine_, 600.0);
  EXPECT_EQ(promise_of(machine_, materials_, experiments_[0], {"heads.power_w"}), 1.0);
  EXPECT_EQ(promise_of(machine_, materials_, experiments_[0], {}), 0.0);
}

}  // namespace
}  // namespace platetally::calibrate
