// Windows of logs against experiments whose power can be said by hand: idling, and a fan.
#include "meter/calibrate/windows.hpp"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <stdexcept>

#include "meter/calibrate/explain.hpp"
#include "meter/calibrate/parameters.hpp"

namespace platetally::calibrate {
namespace {

Machine machine_named(const char* name) {
  return load_machine(name).machine();
}

/// A bench that idles at 10 W and has a fan.
class WindowsOf : public testing::Test {
 protected:
  WindowsOf() {
    machine_.supply.idle_w = 10.0;
    materials_.assign(machine_.tools.size(), *find_embedded_material("PLA"));
  }
  /// A sample every two seconds.
  template <typename Watts>
  static MeterLog log_of(double seconds, const Watts& watts) {
    std::string text = "time,watts\n";
    for (double t_s = 0.0; t_s < seconds; t_s += 2.0)
      text += fmt::format("{},{:.6f}\n", t_s, watts(t_s));
    return parse_meter_log(text, "plug.csv");
  }
  Experiment experiment_of(const std::string& name, const MeterLog& log, double seconds) const {
    Experiment experiment;
    experiment.name = name;
    experiment.log = &log;
    experiment.heat_log = heat_log_of(parse_experiment(name, machine_), seconds);
    experiment.is_idle = name == "idle";
    return experiment;
  }
  Windows windows_of(const std::vector<Experiment>& experiments, double window_s = 10.0) const {
    CalibrationOptions options;
    options.window_s = window_s;
    return Windows(machine_, materials_, experiments, options);
  }

  Machine machine_ = machine_named("single-1");
  std::vector<Material> materials_;
};

double idling(double t_s) {
  return 12.0 + (std::fmod(t_s, 4.0) < 2.0 ? 0.5 : -0.5);
}

TEST_F(WindowsOf, AnIdleLogAreMeansOfWholeSamples) {
  const MeterLog log = log_of(100.0, idling);
  const std::vector<Experiment> experiments = {experiment_of("idle", log, 100.0)};
  const Windows windows = windows_of(experiments);
  ASSERT_EQ(windows.count(), 10U) << "no total: idling has no energy to hold";
  double last_s = 0.0;
  for (const Window& window : windows.all()) {
    EXPECT_EQ(window.from_s, last_s);
    EXPECT_EQ(window.to_s - window.from_s, 10.0);
    EXPECT_NEAR(window.measured_w, *mean_w(log, window.from_s, window.to_s), 1e-12);
    EXPECT_FALSE(window.is_total);
    last_s = window.to_s;
  }
  const Eigen::VectorXd residuals = windows.residuals_w(windows.start());
  for (Eigen::Index i = 0; i < residuals.size(); ++i)
    EXPECT_NEAR(residuals[i], 10.0 - windows.all()[static_cast<std::size_t>(i)].measured_w, 1e-9);
  EXPECT_TRUE(windows.doubts()[0].empty());
}

TEST_F(WindowsOf, ALengthThatIsNoWholeNumberOfSamplesIsRounded) {
  const MeterLog log = log_of(200.0, idling);
  const std::vector<Experiment> experiments = {experiment_of("idle", log, 200.0)};
  for (const auto& [asked_s, made_s] : {std::pair(9.1, 10.0), {8.9, 8.0}, {0.5, 2.0}}) {
    const Windows windows = windows_of(experiments, asked_s);
    EXPECT_EQ(windows.all()[0].to_s - windows.all()[0].from_s, made_s) << asked_s;
  }
}

TEST_F(WindowsOf, FewerThanFourAreRefused) {
  const MeterLog log = log_of(30.0, idling);
  const std::vector<Experiment> experiments = {experiment_of("idle", log, 30.0)};
  try {
    windows_of(experiments);
    FAIL() << "three windows";
  } catch (const std::invalid_argument& error) {
    EXPECT_STREQ(error.what(),
                 "the logs have too little in common with their experiments: fewer than four "
                 "windows");
  }
  EXPECT_EQ(windows_of(experiments, 6.0).count(), 5U);
}

TEST_F(WindowsOf, WhereThePlugWasSilentThereIsNone) {
  std::string text = "time,watts\n";
  for (int t_s = 0; t_s < 400; t_s += 2)
    if (t_s < 100 || t_s >= 300)
      text += fmt::format("{},{}\n", t_s, 12 + t_s % 4);
  const MeterLog log = parse_meter_log(text, "plug.csv");
  const std::vector<Experiment> experiments = {experiment_of("idle", log, 400.0)};
  const Windows windows = windows_of(experiments);
  EXPECT_NEAR(static_cast<double>(windows.count()), 20.0, 1.0);
  for (const Window& window : windows.all())
    EXPECT_TRUE(window.to_s <= 102.0 || window.from_s >= 300.0 - 2.0) << window.from_s;
}

/// Idling, and the fan from `from_s` on.
MeterLog fan_log(double seconds, double from_s, double idle_w, double fan_w) {
  std::string text = "time,watts\n";
  for (double t_s = 0.0; t_s < seconds; t_s += 2.0)
    text += fmt::format("{},{:.3f}\n", t_s, idle_w + (t_s >= from_s ? fan_w : 0.0));
  return parse_meter_log(text, "plug.csv");
}

TEST_F(WindowsOf, AnExperimentHoldsOneMoreOfAllOfIt) {
  const MeterLog log = fan_log(500.0, 100.0, 10.0, 4.0);
  const std::vector<Experiment> experiments = {experiment_of("fan=1", log, 400.0)};
  const Windows windows = windows_of(experiments);
  EXPECT_TRUE(windows.has_offset(0));
  EXPECT_NEAR(windows.start().offsets_s[0], 100.0, 3.0);
  EXPECT_EQ(std::ranges::count_if(windows.all(), &Window::is_total), 1);
  const Window& total = windows.all().back();
  EXPECT_TRUE(total.is_total);
  EXPECT_NEAR(total.measured_w, 14.0, 0.05);
  EXPECT_NEAR(total.to_s - total.from_s, 400.0, 4.0);
  // Four windows of idling before it are compared too.
  EXPECT_NEAR(windows.all().front().from_s, 60.0, 4.0);
}

TEST_F(WindowsOf, ALogThatCoversLessThanHalfOfItsExperimentIsDoubted) {
  const MeterLog log = fan_log(560.0, 100.0, 10.0, 4.0);
  for (const auto& [experiment_s, is_doubted] :
       {std::pair(460.0, false), {900.0, false}, {960.0, true}, {2000.0, true}}) {
    const std::vector<Experiment> experiments = {experiment_of("fan=1", log, experiment_s)};
    const Windows windows = windows_of(experiments);
    const std::string said = fmt::format("the log covers {:.0f} of {:.0f} s",
                                         560.0 - windows.start().offsets_s[0], experiment_s);
    EXPECT_EQ(std::ranges::count(windows.doubts()[0], said), is_doubted ? 1 : 0)
        << said << fmt::format(": {}", fmt::join(windows.doubts()[0], "; "));
  }
}

TEST_F(WindowsOf, BeforeAndBehindAnExperimentTheMachineIdles) {
  const MeterLog log = fan_log(500.0, 100.0, 10.0, 4.0);
  const std::vector<Experiment> experiments = {experiment_of("fan=1", log, 400.0)};
  const Windows windows = windows_of(experiments);
  const Eigen::VectorXd predicted_w = windows.predicted_w(windows.start());
  const Course& course = windows.start().courses[0];
  const double offset_s = windows.start().offsets_s[0];
  for (std::size_t i = 0; i < windows.count(); ++i) {
    const Window& window = windows.all()[i];
    const double inside_s = std::max(
        0.0, std::min(window.to_s - offset_s, 400.0) - std::max(window.from_s - offset_s, 0.0));
    const double share = inside_s / (window.to_s - window.from_s);
    const double fan_w = course.power.mean_w(0.0, 400.0);
    EXPECT_NEAR(predicted_w[static_cast<Eigen::Index>(i)],
                share * fan_w + (1.0 - share) * machine_.supply.idle_w, 0.05)
        << window.from_s;
  }
}

TEST_F(WindowsOf, IdlingAndLogsThatSayTheirSetPointsHaveNoOffset) {
  const MeterLog log = log_of(100.0, idling);
  std::vector<Experiment> experiments = {experiment_of("idle", log, 100.0)};
  EXPECT_FALSE(windows_of(experiments).has_offset(0));
  EXPECT_EQ(windows_of(experiments).intervals_s(2.0).at(0), 0.0);
  const MeterLog fan = fan_log(500.0, 100.0, 10.0, 4.0);
  experiments.push_back(experiment_of("fan=1", fan, 400.0));
  EXPECT_EQ(windows_of(experiments).intervals_s(2.0), (std::vector<double>{0.0, 4.0}));
}

// A machine that idles at exp(x) W: the slope by its logarithm is what it draws.
TEST_F(WindowsOf, TheJacobianOfTheElectronicsIsWhatTheyDraw) {
  const MeterLog log = log_of(100.0, idling);
  const std::vector<Experiment> experiments = {experiment_of("idle", log, 100.0)};
  const Windows windows = windows_of(experiments);
  const std::vector<std::size_t> chosen = {0};
  ASSERT_EQ(parameters()[0].key, "supply.idle_w");
  const Eigen::MatrixXd j = windows.jacobian(windows.start(), chosen);
  ASSERT_EQ(j.cols(), 2);
  for (Eigen::Index i = 0; i < j.rows(); ++i) {
    // Chords of 1.5 % to either side: sinh(h) / h of it.
    EXPECT_NEAR(j(i, 0), 10.0 * std::sinh(Windows::kStep) / Windows::kStep, 1e-6);
    EXPECT_EQ(j(i, 1), 0.0) << "idling has no beginning";
  }
}

TEST_F(WindowsOf, AMachineWhereItStandsIsTheMachineAsGiven) {
  const MeterLog log = log_of(100.0, idling);
  const std::vector<Experiment> experiments = {experiment_of("idle", log, 100.0)};
  const Windows windows = windows_of(experiments);
  EXPECT_EQ(windows.machine_at(windows.start().logs), machine_) << "to the last bit";
  std::vector<double> logs = windows.start().logs;
  logs[0] = std::log(25.0);
  Machine changed = windows.machine_at(logs);
  EXPECT_NEAR(changed.supply.idle_w, 25.0, 1e-12);
  changed.supply.idle_w = machine_.supply.idle_w;
  EXPECT_EQ(changed, machine_);
  const Standing there = windows.stand_at(logs, windows.start().offsets_s);
  EXPECT_NEAR(windows.predicted_w(there)[0], 25.0, 1e-9);
}

TEST_F(WindowsOf, StandingsComeInTheirOrder) {
  const MeterLog log = log_of(100.0, idling);
  const std::vector<Experiment> experiments = {experiment_of("idle", log, 100.0)};
  const Windows windows = windows_of(experiments);
  std::vector<std::vector<double>> places(9, windows.start().logs);
  for (std::size_t i = 0; i < places.size(); ++i)
    places[i][0] = std::log(5.0 + static_cast<double>(i));
  const std::vector<Standing> there = windows.stand_at_each(places, windows.start().offsets_s);
  ASSERT_EQ(there.size(), 9U);
  for (std::size_t i = 0; i < there.size(); ++i)
    EXPECT_NEAR(windows.predicted_w(there[i])[3], 5.0 + static_cast<double>(i), 1e-9);
}

TEST_F(WindowsOf, TheSameWithOtherWattsMeasured) {
  const MeterLog log = log_of(100.0, idling);
  const std::vector<Experiment> experiments = {experiment_of("idle", log, 100.0)};
  const Windows windows = windows_of(experiments);
  const Windows other = windows.with_measured(windows.predicted_w(windows.start()));
  EXPECT_EQ(other.residuals_w(other.start()).norm(), 0.0);
  EXPECT_GT(windows.residuals_w(windows.start()).norm(), 1.0);
}

TEST_F(WindowsOf, WhatAPlugShowsOfAPredictionIsIt) {
  const MeterLog log = fan_log(500.0, 100.0, 10.0, 4.0);
  const std::vector<Experiment> experiments = {experiment_of("fan=1", log, 400.0)};
  const Windows windows = windows_of(experiments);
  const Eigen::VectorXd predicted_w = windows.predicted_w(windows.start());
  const Eigen::VectorXd sampled_w = windows.sampled_w(windows.start(), {0.0});
  for (Eigen::Index i = 0; i < predicted_w.size(); ++i)
    // At the edge it misses up to one sample of five.
    EXPECT_NEAR(sampled_w[i], predicted_w[i], 0.2 * 4.0 + 1e-6) << i;
  EXPECT_NEAR(sampled_w.sum(), predicted_w.sum(), 1.5);
}

TEST_F(WindowsOf, NoiseIsExpectedOfEachAndMoreBesideAnEdge) {
  const MeterLog log = fan_log(500.0, 100.0, 10.0, 4.0);
  machine_.supply.part_fan_w = 40.0;
  const std::vector<Experiment> experiments = {experiment_of("fan=1", log, 400.0)};
  const Windows windows = windows_of(experiments);
  const Groups groups = windows.groups(windows.start(), {0.5});
  ASSERT_EQ(groups.first.front(), 0U);
  ASSERT_EQ(groups.first.back(), windows.count());
  EXPECT_TRUE(std::ranges::is_sorted(groups.first));
  int edges = 0;
  for (std::size_t g = 0; g < groups.count(); ++g) {
    const double expected_w = groups.expected_w[static_cast<Eigen::Index>(g)];
    if (groups.is_total[g]) {
      EXPECT_NEAR(expected_w, 0.005 * windows.all().back().measured_w, 1e-9);
    } else if (groups.is_edge[g]) {
      ++edges;
      EXPECT_GT(expected_w, 1.0);
    } else {
      EXPECT_NEAR(expected_w, 0.5, 0.05);
    }
    EXPECT_EQ(groups.is_exact(static_cast<Eigen::Index>(g)), groups.is_total[g]);
  }
  EXPECT_GE(edges, 1);
  EXPECT_LE(edges, 4);
  EXPECT_TRUE(groups.is_exact(static_cast<Eigen::Index>(groups.count()))) << "a prior";
}

TEST_F(WindowsOf, GroupsAreMeansOverWhatIsExpected) {
  Groups groups;
  groups.first = {0, 1, 4};
  groups.is_edge = {false, true};
  groups.is_total = {false, false};
  groups.expected_w = Eigen::Vector2d(2.0, 0.5);
  Eigen::MatrixXd by_window(4, 2);
  by_window << 6.0, 1.0, 1.0, 2.0, 2.0, 4.0, 6.0, 0.0;
  const Eigen::MatrixXd weighed = groups.weighed(by_window);
  ASSERT_EQ(weighed.rows(), 2);
  EXPECT_DOUBLE_EQ(weighed(0, 0), 3.0);
  EXPECT_DOUBLE_EQ(weighed(0, 1), 0.5);
  EXPECT_DOUBLE_EQ(weighed(1, 0), 6.0);
  EXPECT_DOUBLE_EQ(weighed(1, 1), 4.0);
}

TEST_F(WindowsOf, EachEntryAloneExplainsNoLessThanNothing) {
  Machine truth = machine_;
  truth.supply.idle_w = 14.0;
  const MeterLog log = log_of(1200.0, [](double) { return 14.0; });
  const Experiment experiment = experiment_of("idle", log, 1200.0);
  const OneByOne each = explain_by_one(machine_, materials_, experiment, {}, 60.0);
  ASSERT_EQ(each.alone.size(), parameters().size());
  // Twenty windows that are off by 4 W.
  EXPECT_NEAR(each.as_is_w2, 20.0 * 16.0, 1e-6);
  for (std::size_t k = 0; k < each.alone.size(); ++k) {
    EXPECT_LE(each.alone[k].sum_w2, each.as_is_w2) << parameters()[k].key;
    if (parameters()[k].key == "supply.idle_w") {
      EXPECT_NEAR(each.alone[k].value, 14.0, 0.5);
      EXPECT_LT(each.alone[k].sum_w2, 0.02 * each.as_is_w2);
    } else if (!parameters()[k].applies(machine_)) {
      EXPECT_EQ(each.alone[k].value, parameters()[k].get(machine_));
      EXPECT_EQ(each.alone[k].sum_w2, each.as_is_w2);
    }
  }
}

}  // namespace
}  // namespace platetally::calibrate
