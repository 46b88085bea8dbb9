// A small plate against logs of machines that are known: where it lies, phase by phase, what is
// doubted and what is blamed.
#include "platetally/reconcile.hpp"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <ostream>
#include <sstream>
#include <stdexcept>

#include "platetally/account.hpp"
#include "support/plug_log.hpp"
#include "support/workshop.hpp"

namespace platetally {
namespace {

using test::PlugFaults;

/// A frame on a bed at 60 degC, with a hold before it, so that its power has edges.
std::string heated(const test::FramePlate& plate) {
  return "M140 S60\nM190 S60\nG4 S120\n" + plate.text() + "M140 S0\n";
}

class Reconcile : public testing::Test {
 protected:
  ReconcileReport run(const MeterLog& log, const ReconcileOptions& options = {}) const {
    return reconcile(plate_, machine_, log, options);
  }
  static std::string doubts(const ReconcileReport& report) {
    return fmt::format("{}", fmt::join(report.doubts, "\n"));
  }
  static bool doubts(const ReconcileReport& report, std::string_view what) {
    return doubts(report).find(what) != std::string::npos;
  }
  /// `log` with every line's seconds and watts changed.
  template <typename Change>
  static MeterLog changed(const std::string& text, const Change& change) {
    std::istringstream lines(text);
    std::string line, out;
    std::getline(lines, line);
    out = line + "\n";
    while (std::getline(lines, line)) {
      const std::size_t comma = line.find(',');
      const auto [t_s, w] =
          change(std::stod(line.substr(0, comma)), std::stod(line.substr(comma + 1)));
      out += fmt::format("{:.3f},{:.6f}\n", t_s, w);
    }
    return parse_meter_log(out, "plug.csv");
  }

  test::Workshop shop_;
  Machine machine_ = test::machine_named("switcher-4");
  std::string plate_ = shop_.put("tags.gcode", heated(test::FramePlate{80.0, 60.0, 60, {0, 1}}));
};

TEST_F(Reconcile, AMachineThatIsAsDescribedHasNoDifferenceAndNothingToBlame) {
  const ReconcileReport report = run(test::log_of_plug(plate_, machine_, test::exact_plug()));
  const Totals totals = analyze_file(plate_, machine_).totals;
  ASSERT_EQ(report.values.size(), 3U);
  EXPECT_EQ(report.values[0].key, "time_s");
  EXPECT_NEAR(report.values[0].predicted, totals.time.expected, 0.5);
  // The end is where half a minute last draws clearly more than idling.
  EXPECT_NEAR(report.values[0].measured, totals.time.expected, 30.0);
  EXPECT_EQ(report.values[1].key, "energy_wh");
  EXPECT_NEAR(report.values[1].predicted, totals.energy_wh, 0.01 * totals.energy_wh);
  EXPECT_NEAR(report.values[1].measured, totals.energy_wh, 0.01 * totals.energy_wh);
  EXPECT_EQ(report.values[2].key, "mean_power_w");
  EXPECT_GT(report.correlation, 0.99);
  EXPECT_NEAR(report.offset_s, 60.0, 5.0);
  EXPECT_TRUE(report.doubts.empty()) << doubts(report);
  EXPECT_EQ(report.path, plate_);
  EXPECT_EQ(report.machine, "switcher-4");
  EXPECT_EQ(report.log_path, "plug.csv");
}

TEST_F(Reconcile, PhasesAreInOrderAndAddUpToTheValues) {
  const ReconcileReport report = run(test::log_of_plug(plate_, machine_, test::exact_plug()));
  std::vector<std::string> names;
  double predicted_s = 0.0, measured_s = 0.0, predicted_wh = 0.0, measured_wh = 0.0;
  for (const ReconciledPhase& phase : report.phases) {
    names.push_back(phase.name);
    predicted_s += phase.predicted_s;
    measured_s += phase.measured_s;
    predicted_wh += phase.predicted_wh;
    measured_wh += phase.measured_wh;
  }
  EXPECT_EQ(names, (std::vector<std::string>{"heat-up", "first layer", "layers with swaps"}));
  EXPECT_NEAR(predicted_s, report.values[0].predicted, 1e-9);
  EXPECT_NEAR(measured_s, report.values[0].measured, 1e-9);
  EXPECT_NEAR(predicted_wh, report.values[1].predicted, 1e-9);
  EXPECT_NEAR(measured_wh, report.values[1].measured, 1e-9);
  EXPECT_NEAR(report.values[2].measured, measured_wh * 3600.0 / measured_s, 1e-9);
}

TEST_F(Reconcile, LayersWithoutSwapsAreAPhaseOfTheirOwn) {
  plate_ = shop_.put("one.gcode", heated(test::FramePlate{80.0, 60.0, 60}));
  const ReconcileReport report = run(test::log_of_plug(plate_, machine_, test::exact_plug()));
  EXPECT_EQ(std::ranges::count(report.phases, "other layers", &ReconciledPhase::name), 1);
  EXPECT_EQ(std::ranges::count(report.phases, "layers with swaps", &ReconciledPhase::name), 0);
}

TEST_F(Reconcile, WhatIsBehindThePrintIsItsCoolDownAndCountsForNoValue) {
  PlugFaults faults = test::exact_plug();
  faults.tail_s = 400.0;
  const ReconcileReport report = run(test::log_of_plug(plate_, machine_, faults));
  const ReconciledPhase& last = report.phases.back();
  ASSERT_EQ(last.name, "cool-down");
  EXPECT_NEAR(last.measured_s, 400.0, 30.0);
  EXPECT_EQ(last.predicted_s, last.measured_s);
  // The plug saw the machine idle at once.
  EXPECT_NEAR(last.measured_wh, machine_.supply.idle_w * last.measured_s / 3600.0, 0.15);
  EXPECT_GE(last.predicted_wh, machine_.supply.idle_w * last.predicted_s / 3600.0 - 1e-9);
  EXPECT_NEAR(report.values[0].measured, analyze_file(plate_, machine_).totals.time.expected, 30.0);
}

struct Distortion {
  const char* name;
  double slower;    ///< the log's seconds
  double stronger;  ///< its watts
  friend void PrintTo(const Distortion& one, std::ostream* out) { *out << one.name; }
};

class Distorted : public Reconcile, public testing::WithParamInterface<Distortion> {};

/// What is drawn more shows as power, what lasts longer as time, and both make the difference.
TEST_P(Distorted, TheDifferenceIsPowerAndTime) {
  const auto [name, slower, stronger] = GetParam();
  const std::string plain = test::seen_by_plug(plate_, machine_, test::exact_plug());
  const ReconcileReport report = run(
      changed(plain, [&](double t_s, double w) { return std::pair(slower * t_s, stronger * w); }));
  const double predicted_wh = report.values[1].predicted;
  const double measured_wh = report.values[1].measured;
  EXPECT_NEAR(report.power_error_wh + report.time_error_wh, measured_wh - predicted_wh, 1e-9);
  EXPECT_NEAR(measured_wh / predicted_wh, slower * stronger, 0.015);
  EXPECT_NEAR(report.values[0].measured / report.values[0].predicted, slower, 0.015);
  EXPECT_NEAR(report.values[2].measured / report.values[2].predicted, stronger, 0.015);
  EXPECT_NEAR(report.power_error_wh, (stronger - 1.0) * predicted_wh, 0.015 * predicted_wh);
  EXPECT_NEAR(report.time_error_wh, stronger * (slower - 1.0) * predicted_wh, 0.02 * predicted_wh);
}

INSTANTIATE_TEST_SUITE_P(Of, Distorted,
                         testing::Values(Distortion{"nothing", 1.0, 1.0},
                                         Distortion{"a_tenth_more_watts", 1.0, 1.1},
                                         Distortion{"a_fifth_less_watts", 1.0, 0.8},
                                         Distortion{"five_percent_longer", 1.05, 1.0},
                                         Distortion{"four_percent_shorter", 0.96, 1.0},
                                         Distortion{"longer_with_less_watts", 1.05, 0.9}),
                         [](const auto& of) { return std::string(of.param.name); });

TEST_F(Reconcile, IdlingBeforeThePlateMovesItsOffsetAndNothingElse) {
  PlugFaults faults = test::exact_plug();
  const ReconcileReport near = run(test::log_of_plug(plate_, machine_, faults));
  faults.lead_s += 500.0;
  const ReconcileReport far = run(test::log_of_plug(plate_, machine_, faults));
  EXPECT_NEAR(far.offset_s - near.offset_s, 500.0, 3.0);
  for (std::size_t i = 0; i < 3; ++i)
    EXPECT_NEAR(far.values[i].measured, near.values[i].measured, 0.01 * near.values[i].measured)
        << near.values[i].key;
}

TEST_F(Reconcile, ALogThatBeginsBehindTheBeginningIsSaid) {
  // Half-way the bed gets hotter, so that what is left has an edge.
  const test::FramePlate half{80.0, 60.0, 120};
  plate_ = shop_.put("two.gcode", "M140 S60\nM190 S60\n" + half.text() + "M140 S90\nM190 S90\n" +
                                      half.text() + "M140 S0\n");
  PlugFaults faults = test::exact_plug();
  faults.lead_s = -400.0;
  faults.tail_s = 900.0;
  const ReconcileReport report = run(test::log_of_plug(plate_, machine_, faults));
  EXPECT_NEAR(report.offset_s, -400.0, 6.0);
  EXPECT_TRUE(doubts(report, fmt::format("the log begins {:.0f} s after the plate did; what was "
                                         "before is not known",
                                         -report.offset_s)))
      << doubts(report);
  // What is missing is left out of both sides.
  EXPECT_NEAR(report.values[1].measured / report.values[1].predicted, 1.0, 0.02);
}

TEST_F(Reconcile, ALogThatBreaksOffIsSaidAndWhatIsMissingIsLeftOutOfBothSides) {
  const std::string whole = test::seen_by_plug(plate_, machine_, test::exact_plug());
  const std::string most = whole.substr(0, whole.rfind('\n', whole.size() * 7 / 10) + 1);
  const ReconcileReport report = run(parse_meter_log(most, "plug.csv"));
  EXPECT_TRUE(
      doubts(report, "s before the plate should; what is missing is left out of both sides"))
      << doubts(report);
  EXPECT_LT(report.values[0].predicted, 0.85 * analyze_file(plate_, machine_).totals.time.expected);
  EXPECT_NEAR(report.values[1].measured / report.values[1].predicted, 1.0, 0.02);
}

TEST_F(Reconcile, APrintThatWasStoppedEarlyIsNotNearlyAsLong) {
  // Somebody stopped it at a quarter; the machine idles on.
  const std::string whole = test::seen_by_plug(plate_, machine_, test::exact_plug());
  const double print_s = analyze_file(plate_, machine_).totals.time.expected;
  const ReconcileReport report = run(changed(whole, [&](double t_s, double w) {
    return std::pair(t_s, t_s < 60.0 + 0.2 * print_s ? w : machine_.supply.idle_w);
  }));
  EXPECT_TRUE(doubts(report, "the measured print is not nearly as long as the predicted one"))
      << doubts(report);
}

TEST_F(Reconcile, AFlatLogAsLongAsThePlateIsComparedInSumFromItsBeginning) {
  const double print_s = analyze_file(plate_, machine_).totals.time.expected;
  std::string text;
  for (int t_s = 0; t_s < print_s; t_s += 2)
    text += fmt::format("{},{}\n", t_s, 70 + t_s % 4);
  const ReconcileReport report = run(parse_meter_log(text, "plug.csv"));
  EXPECT_TRUE(doubts(report,
                     "so they begin together, as they last about as long; it may be "
                     "another plate or machine, and only the sums are compared"))
      << doubts(report);
  ASSERT_EQ(report.phases.size(), 1U);
  EXPECT_EQ(report.phases[0].name, "all of it");
  EXPECT_EQ(report.offset_s, 0.0);
  EXPECT_TRUE(report.explanations.empty()) << "nothing is blamed";
  EXPECT_NEAR(report.values[2].measured, 71.0, 1.5);
}

TEST_F(Reconcile, DoubtsOfTheLogItselfComeFirst) {
  MeterLog log = test::log_of_plug(plate_, machine_, test::exact_plug());
  log.doubts = {"3 gaps, 40 s in all, in which nothing is known"};
  EXPECT_EQ(run(log).doubts.at(0), log.doubts[0]);
}

TEST_F(Reconcile, ALogWithoutWattsIsRefused) {
  MeterLog log;
  log.path = "heaters.csv";
  try {
    run(log);
    FAIL() << "nothing to compare";
  } catch (const std::invalid_argument& error) {
    EXPECT_STREQ(error.what(), "heaters.csv: holds no watts; expected what a plug saw");
  }
}

TEST_F(Reconcile, ALogOfThreeSamplesHasNoTimeInCommonWithAnything) {
  try {
    run(parse_meter_log("0,10\n1,300\n2,12\n", "short.csv"));
    FAIL() << "three samples say nothing";
  } catch (const std::invalid_argument& error) {
    EXPECT_EQ(std::string(error.what()),
              plate_ + " and short.csv have no time in common: is it the log of another plate?");
  }
}

TEST_F(Reconcile, WhatWasWeighedFollowsWhatThePlugSaw) {
  ReconcileOptions options;
  options.weighed = {{"part_g", 3.0}, {"purge_g", 1.0}};
  const MeterLog log = test::log_of_plug(plate_, machine_, test::exact_plug());
  const ReconcileReport report = run(log, options);
  ASSERT_EQ(report.values.size(), 5U);
  EXPECT_EQ(report.values[3].key, "part_g");
  EXPECT_EQ(report.values[4].key, "purge_g");
  EXPECT_EQ(report.values[4].measured, 1.0);
  const auto& made = report.made_from.options;
  EXPECT_NE(std::ranges::find(made, std::pair(std::string("log"), log.hash)), made.end());
  EXPECT_NE(
      std::ranges::find(made, std::pair(std::string("weighed"), std::string("part_g=3,purge_g=1"))),
      made.end());
  options.weighed = {{"part_kg", 3.0}};
  EXPECT_THROW(run(log, options), std::invalid_argument);
}

TEST_F(Reconcile, TheOverlayIsThePredictionAndTheLogOnOneClock) {
  const ReconcileReport report = run(test::log_of_plug(plate_, machine_, test::exact_plug()));
  const std::size_t windows = report.overlay_predicted_w.size();
  ASSERT_GT(windows, 100U);
  ASSERT_EQ(report.overlay_s.size(), windows + 1);
  ASSERT_EQ(report.overlay_measured_w.size(), windows);
  double predicted_wh = 0.0;
  int far_off = 0;
  for (std::size_t i = 0; i < windows; ++i) {
    const double length_s = report.overlay_s[i + 1] - report.overlay_s[i];
    EXPECT_GT(length_s, 0.0);
    predicted_wh += report.overlay_predicted_w[i] * length_s / 3600.0;
    far_off += std::abs(report.overlay_predicted_w[i] - report.overlay_measured_w[i]) > 40.0;
  }
  EXPECT_NEAR(predicted_wh, report.values[1].predicted, 0.01 * predicted_wh);
  EXPECT_LT(far_off, 10) << "edges only";
}

TEST_F(Reconcile, WhereThePlugWasSilentTheOverlayKnowsNothing) {
  const std::string whole = test::seen_by_plug(plate_, machine_, test::exact_plug());
  std::istringstream lines(whole);
  std::string line, text;
  const double middle_s = 60.0 + 0.5 * analyze_file(plate_, machine_).totals.time.expected;
  while (std::getline(lines, line))
    if (!(std::isdigit(line[0]) != 0 && std::abs(std::stod(line) - middle_s) < 60.0))
      text += line + "\n";
  const ReconcileReport report = run(parse_meter_log(text, "plug.csv"));
  const auto silent =
      std::ranges::count_if(report.overlay_measured_w, [](double w) { return std::isnan(w); });
  const double window_s = report.overlay_s[1] - report.overlay_s[0];
  EXPECT_NEAR(static_cast<double>(silent), 120.0 / window_s, 2.0);
}

TEST_F(Reconcile, ElectronicsThatDrawMoreAreBlamedWithTheirFigure) {
  Machine truth = machine_;
  truth.supply.idle_w += 10.0;
  PlugFaults faults = test::exact_plug();
  faults.lead_s = faults.tail_s = 300.0;
  const ReconcileReport report = run(test::log_of_plug(plate_, truth, faults));
  ASSERT_FALSE(report.explanations.empty());
  const Explanation& first = report.explanations[0];
  EXPECT_EQ(first.key, "supply.idle_w");
  EXPECT_EQ(first.value, machine_.supply.idle_w);
  EXPECT_NEAR(first.would_be, truth.supply.idle_w, 2.0);
  EXPECT_GT(first.explains, 0.9);
}

TEST_F(Reconcile, ElectronicsAreNotBlamedWhereTheMachineIdlesAtLess) {
  // Motors draw more, but only while they move: the machine idles as described.
  Machine truth = machine_;
  truth.supply.motors_moving_w += 30.0;
  PlugFaults faults = test::exact_plug();
  faults.lead_s = faults.tail_s = 300.0;
  const ReconcileReport report = run(test::log_of_plug(plate_, truth, faults));
  ASSERT_FALSE(report.explanations.empty());
  EXPECT_EQ(report.explanations[0].key, "supply.motors_moving_w");
  EXPECT_EQ(std::ranges::count(report.explanations, "supply.idle_w", &Explanation::key), 0);
}

TEST_F(Reconcile, WhatTheLogDrawsAtItsLeastIsNoLessThanTheElectronics) {
  // The log begins within the heat-up, so that this is no phase of it, and what idles behind is too
  // short to be one: only the least draw tells the two apart.
  plate_ = shop_.put("cold.gcode", test::FramePlate{80.0, 60.0, 160}.text());
  Machine truth = machine_;
  truth.supply.motors_moving_w += 30.0;
  PlugFaults faults = test::exact_plug();
  faults.lead_s = -10.0;
  faults.tail_s = 45.0;
  const ReconcileReport report = run(test::log_of_plug(plate_, truth, faults));
  ASSERT_FALSE(report.explanations.empty());
  EXPECT_EQ(report.explanations[0].key, "supply.motors_moving_w");
  EXPECT_EQ(std::ranges::count(report.explanations, "supply.idle_w", &Explanation::key), 0);
}

TEST_F(Reconcile, AtMostThreeEntriesAreBlamedTheBestFirst) {
  Machine truth = machine_;
  truth.bed.convection_factor *= 1.7;
  truth.bed.tile_power_w *= 0.8;
  const ReconcileReport report = run(test::log_of_plug(plate_, truth, test::exact_plug()));
  ASSERT_FALSE(report.explanations.empty());
  EXPECT_LE(report.explanations.size(), 3U);
  for (std::size_t i = 0; i < report.explanations.size(); ++i) {
    EXPECT_GT(report.explanations[i].explains, 0.05);
    EXPECT_LE(report.explanations[i].explains, 1.0);
    if (i > 0) {
      EXPECT_LE(report.explanations[i].explains, report.explanations[i - 1].explains);
    }
  }
}

TEST_F(Reconcile, SecondsTooManyAreLaidOnTheSwapsAsAQuestion) {
  Machine truth = machine_;
  truth.swap.filament_change_s = {43.0, 43.0, 43.0};
  Machine slow = machine_;
  slow.swap.filament_change_s = {40.0, 40.0, 40.0};
  slow.swap.long_swap_probability = truth.swap.long_swap_probability = 0.0;
  const MeterLog log = test::log_of_plug(plate_, truth, test::exact_plug());
  const ReconcileReport report = reconcile(plate_, slow, log, {});
  const auto swaps = static_cast<double>(analyze_file(plate_, slow).totals.swaps);
  const double seconds = report.values[0].measured - report.values[0].predicted;
  EXPECT_NEAR(seconds / swaps, 3.0, 0.3);
  EXPECT_TRUE(doubts(report, fmt::format("if swaps alone explained the time, each would take "
                                         "{:+.1f} s",
                                         seconds / swaps)))
      << doubts(report);
}

}  // namespace
}  // namespace platetally
