// Fitting a machine to finished prints: of machines whose every figure is known, and of real ones.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <sstream>

#include "meter/calibrate/timed_plate.hpp"
#include "platetally/analyze.hpp"
#include "platetally/calibrate.hpp"
#include "support.hpp"
#include "support/temp_folder.hpp"

namespace platetally {
namespace {

namespace fs = std::filesystem;

std::vector<std::string> small_plates() {
  std::vector<std::string> names;
  for (const char* name : {"tower", "chute", "spiral", "round-lantern", "hop-relative", "nonplanar",
                           "sequential", "variable-heights", "lines-inside"})
    names.push_back(test::testdata(fmt::format("plates/{}.gcode.gz", name)));
  return names;
}

// What a plate takes is the same whether it is tallied or kept and timed.
TEST(TimedPlate, TakesAsLongAsItsTally) {
  for (const char* name : {"single-1", "switcher-4", "changer-5"}) {
    Machine machine = test::embedded(name);
    machine.procedures.start_s = {10, 20, 30};
    machine.procedures.end_s = {1, 2, 3};
    for (const std::string& path : small_plates()) {
      const Totals totals = analyze_file(path, machine).totals;
      const calibrate::PlateTimes times = calibrate::TimedPlate(path, machine).times(machine);
      EXPECT_NEAR(times.of_print_s, totals.time_of_print.expected, 1e-6) << path << ' ' << name;
      EXPECT_NEAR(times.all_s, totals.time.expected - totals.time_by.heat_wait_s - totals.pause_s,
                  1e-6)
          << path << ' ' << name;
    }
  }
}

class Prints : public testing::Test {
 protected:
  /// What a person would have written down of these plates on that machine, one line each.
  static std::string kept(const Machine& truth, const std::vector<std::string>& plates,
                          bool from_start, bool energy) {
    std::string text = "plate,seconds,span,kwh,grams\n";
    for (const std::string& path : plates) {
      const Totals totals = analyze_file(path, truth).totals;
      text += fmt::format(
          "{},{:.1f},{},{},\n", path,
          from_start ? totals.time.expected - totals.pause_s : totals.time_of_print.expected,
          from_start ? "start" : "first-extrusion",
          energy ? fmt::format("{:.3f}", totals.energy_wh / 1000.0) : "");
    }
    return text;
  }
  static CalibrationReport fit(const Machine& start, const std::string& text) {
    CalibrationEvidence evidence;
    evidence.prints = parse_finished_prints(text, "prints.csv");
    return calibrate_machine(start, evidence);
  }
  static const FittedParameter* fitted(const CalibrationReport& report, std::string_view key) {
    const auto found = std::ranges::find(report.fitted, key, &FittedParameter::key);
    return found == report.fitted.end() ? nullptr : &*found;
  }
  static double off(double measured, double predicted) {
    return std::abs(predicted / measured - 1.0);
  }
};

// A machine with limits of its own, another corner model and slow changes, and a start from one
// that knows nothing of it.
TEST_F(Prints, FindAMachineThatWasHidden) {
  Machine truth = test::embedded("switcher-4");
  truth.motion.corner_model = CornerModel::corner_speed;
  truth.motion.corner_speed_mm_s = 7.0;
  truth.motion.least_cruise_share = 0.5;
  truth.motion.corner_step_mm_s[3] = 1.0;
  truth.motion.look_ahead_moves = 0;
  truth.motion.print_acceleration_mm_s2 = truth.motion.travel_acceleration_mm_s2 = 3500.0;
  truth.motion.speed_mm_s[2] = 8.0;
  truth.motion.acceleration_mm_s2[2] = 150.0;
  truth.swap.filament_change_s = {60, 75, 90};
  truth.swap.long_swap_probability = 0.0;
  Machine start = test::embedded("switcher-4");
  start.swap.long_swap_probability = 0.0;
  const CalibrationReport report = fit(start, kept(truth, small_plates(), false, false));
  ASSERT_TRUE(report.prints.has_value());
  ASSERT_EQ(report.prints->errors.size(), 1U);
  const PrintErrors& errors = report.prints->errors[0];
  EXPECT_EQ(errors.key, "time");
  EXPECT_EQ(errors.plates, small_plates().size());
  EXPECT_LT(errors.after_median, 0.01);
  EXPECT_LT(errors.left_out_median, 0.02);
  EXPECT_GT(errors.before_median, 2.0 * errors.left_out_median);
  const FittedParameter* const change = fitted(report, "swap.filament_change_s");
  ASSERT_NE(change, nullptr);
  EXPECT_LT(change->low, 75.0);
  EXPECT_GT(change->high, 75.0);
  EXPECT_NEAR(change->value, 75.0, 3.0);
  // Every entry is either fitted or said to stay.
  for (const char* key : {"motion.z_speed_mm_s", "motion.retract_acceleration_mm_s2"})
    EXPECT_TRUE(fitted(report, key) != nullptr ||
                std::ranges::count(report.not_identifiable, key, &UnfittedParameter::key) == 1)
        << key;
  for (const UnfittedParameter& one : report.not_identifiable)
    EXPECT_FALSE(one.settled_by.empty()) << one.key;
  // The machine file reads back to the machine that was found.
  const MachineLoad load = parse_machine(to_toml(report, "2026-11-27"), "mine.toml");
  ASSERT_TRUE(load.ok());
  EXPECT_EQ(load.machine(), report.machine);
}

TEST_F(Prints, NameTheOneWhereSomebodyTurnedAKnob) {
  const Machine truth = test::embedded("changer-5");
  std::string text = kept(truth, small_plates(), false, false);
  const CalibrationReport clean = fit(truth, text);
  // The fifth print at 130 % of the speed.
  std::istringstream lines(text);
  std::string line, turned;
  for (int number = 1; std::getline(lines, line); ++number) {
    if (number == 6) {
      const std::size_t comma = line.find(',');
      const double seconds = std::stod(line.substr(comma + 1));
      line = fmt::format("{},{:.1f},first-extrusion,,", line.substr(0, comma), seconds / 1.3);
    }
    turned += line + "\n";
  }
  const CalibrationReport report = fit(truth, turned);
  const auto is_outlier = [](const PrintOutcome& one) { return one.is_outlier; };
  ASSERT_EQ(std::ranges::count_if(report.prints->outcomes, is_outlier), 1);
  EXPECT_TRUE(report.prints->outcomes[4].is_outlier);
  EXPECT_TRUE(std::ranges::any_of(report.notes, [](const std::string& note) {
    return note.find("(line 6)") != std::string::npos;
  }));
  EXPECT_EQ(std::ranges::count_if(clean.prints->outcomes, is_outlier), 0);
  // The others are as well predicted as without it.
  for (std::size_t i = 0; i < report.prints->outcomes.size(); ++i)
    if (i != 4) {
      EXPECT_LT(off(report.prints->outcomes[i].measured, report.prints->outcomes[i].after), 0.02);
    }
}

TEST_F(Prints, FindWhatAMachineDoesBeforeTheFirstLine) {
  const Machine start = test::embedded("changer-5");
  Machine truth = start;
  truth.procedures.start_s = {300, 300, 300};
  const CalibrationReport report = fit(start, kept(truth, small_plates(), true, false));
  const FittedParameter* const found = fitted(report, "procedures.start_s");
  ASSERT_NE(found, nullptr);
  EXPECT_NEAR(found->value, 300.0, 10.0);
  EXPECT_LT(report.prints->errors[0].left_out_median, 0.01);
}

TEST_F(Prints, FindWhatAMachineDraws) {
  const Machine start = test::embedded("switcher-4");
  Machine truth = start;
  truth.supply.idle_w *= 1.3;
  truth.bed.convection_factor *= 1.3;
  truth.enclosure.loss_closed_w_k *= 1.4;
  const CalibrationReport report = fit(start, kept(truth, small_plates(), false, true));
  ASSERT_EQ(report.prints->errors.size(), 2U);
  const PrintErrors& energy = report.prints->errors[1];
  EXPECT_EQ(energy.key, "energy");
  EXPECT_GT(energy.before_mean, 0.03);
  EXPECT_LT(energy.left_out_mean, 0.03);
  // Where several entries look alike from outside, they say so.
  EXPECT_TRUE(std::ranges::any_of(report.fitted, &FittedParameter::told_together));
  // Logs know an entry better than that, and prints leave it as they found it.
  CalibrationEvidence both;
  both.prints = parse_finished_prints(kept(truth, small_plates(), false, true), "prints.csv");
  std::string log = "seconds,watts\n";
  for (int t_s = 0; t_s <= 600; t_s += 2)
    log += fmt::format("{},{}\n", t_s, truth.supply.idle_w + 0.2 * (t_s % 4 - 1));
  both.logs.push_back({parse_meter_log(log, "idle.csv"), "idle"});
  const CalibrationReport joined = calibrate_machine(start, both);
  EXPECT_NEAR(joined.machine.supply.idle_w, truth.supply.idle_w, 0.05 * truth.supply.idle_w);
  EXPECT_LT(joined.prints->errors[1].left_out_mean, 0.03);
  EXPECT_EQ(joined.experiments.size(), 1U);
}

// The band of a print's energy is what the prints left open: written, read back, and wide where
// prints differ by what no plate explains.
TEST_F(Prints, SayHowFarTheEnergyOfAPrintMayBeOff) {
  const Machine start = test::embedded("switcher-4");
  Machine truth = start;
  truth.supply.idle_w *= 1.3;
  truth.enclosure.loss_closed_w_k *= 1.4;
  const auto energies = [&](double spread) {
    std::string text = "plate,wh\n";
    double sign = 1.0;
    for (const std::string& path : small_plates()) {
      const double wh = analyze_file(path, truth).totals.energy_wh;
      text += fmt::format("{},{:.2f}\n", path, wh * std::exp(sign * spread));
      sign = -sign;
    }
    return text;
  };
  const CalibrationReport even = fit(start, energies(0.0));
  const double band = even.machine.supply.energy_spread;
  // Prints differ by two per cent at the least, whatever these say.
  EXPECT_GT(band, 0.04);
  EXPECT_LT(band, start.supply.energy_spread);
  const MachineLoad load = parse_machine(to_toml(even, ""), "mine.toml");
  ASSERT_TRUE(load.ok());
  EXPECT_EQ(load.machine().supply.energy_spread, band);
  EXPECT_NE(to_text(even).find(fmt::format("{:.0f} % wide", 100.0 * band)), std::string::npos);
  for (const std::string& path : small_plates()) {
    const double wh = analyze_file(path, truth).totals.energy_wh;
    const Totals totals = analyze_file(path, load.machine()).totals;
    EXPECT_LT(totals.energy_low_wh, wh) << path;
    EXPECT_GT(totals.energy_high_wh, wh) << path;
  }
  // Half of the prints 20 % above what the machine draws, half of them below: two deviations are
  // 0.4.
  const double uneven = fit(start, energies(0.2)).machine.supply.energy_spread;
  EXPECT_GT(uneven, 0.3);
  EXPECT_LT(uneven, 0.8);
  // One print tells less than nine of them.
  const std::string all = energies(0.0);
  const std::string first = all.substr(0, all.find('\n', all.find('\n') + 1) + 1);
  EXPECT_GT(fit(start, first).machine.supply.energy_spread, band);
  // Seconds say nothing of it.
  const CalibrationReport times = fit(start, kept(truth, small_plates(), false, false));
  EXPECT_EQ(times.machine.supply.energy_spread, start.supply.energy_spread);
  EXPECT_EQ(to_text(times).find("% wide"), std::string::npos);
}

TEST_F(Prints, FindPurgeThatNoFileHolds) {
  const Machine start = test::embedded("switcher-4");
  Machine truth = start;
  truth.swap.hidden_purge_mm3 = 120.0;
  std::string text = "plate,grams\n";
  for (const std::string& path : small_plates()) {
    const Totals totals = analyze_file(path, truth).totals;
    text += fmt::format("{},{:.1f}\n", path, totals.part_g + totals.purge_g + totals.start_up_g);
  }
  const CalibrationReport report = fit(start, text);
  const FittedParameter* const found = fitted(report, "swap.hidden_purge_mm3");
  ASSERT_NE(found, nullptr);
  EXPECT_LE(found->low, 120.0);
  EXPECT_GE(found->high, 120.0);
  EXPECT_NEAR(found->value, 120.0, 30.0);
}

TEST_F(Prints, CountedChangesGoIn) {
  CalibrationEvidence evidence;
  evidence.changes = parse_changes("seconds\n40\n42\n44\n", "changes.csv");
  const CalibrationReport report = calibrate_machine(test::embedded("switcher-4"), evidence);
  EXPECT_NEAR(report.machine.swap.filament_change_s.expected, 42.0, 1e-9);
  EXPECT_NE(to_toml(report, "").find("Seconds of changes from changes.csv"), std::string::npos);
  EXPECT_THROW(calibrate_machine(test::embedded("switcher-4"), CalibrationEvidence{}),
               std::invalid_argument);
}

TEST_F(Prints, ThatCannotBeReadAreLeftOutAndSaid) {
  const Machine machine = test::embedded("changer-5");
  const std::string text = kept(machine, {small_plates()[0], small_plates()[1]}, false, false) +
                           "nowhere.gcode,100,first-extrusion,,\n";
  const CalibrationReport report = fit(machine, text);
  EXPECT_EQ(report.prints->errors[0].prints, 2U);
  EXPECT_TRUE(std::ranges::any_of(report.notes, [](const std::string& note) {
    return note.find("nowhere.gcode") != std::string::npos;
  }));
  EXPECT_THROW(fit(machine, "plate,seconds\nnowhere.gcode,100\n"), std::invalid_argument);
}

// Real prints of a machine whose limits nobody tells: ../shared/timed, measured by others.
TEST_F(Prints, OfARealMachineArePredictedFromEachOther) {
  const fs::path folder = PLATETALLY_SHARED "/timed";
  std::ifstream jobs(folder / "jobs.csv");
  if (!jobs)
    GTEST_SKIP() << folder << " is not there";
  std::string text = "plate,seconds,span\n";
  for (std::string line; std::getline(jobs, line);) {
    std::istringstream cells(line);
    std::string machine, plate, seconds;
    std::getline(std::getline(std::getline(cells, machine, ','), plate, ','), seconds, ',');
    if (machine == "B")
      text += fmt::format("{},{},first-extrusion\n",
                          (folder / "plates" / (plate + ".gcode.gz")).string(), seconds);
  }
  const CalibrationReport report = fit(test::embedded("single-1"), text);
  EXPECT_EQ(report.prints->errors[0].plates, 6U);
  EXPECT_LT(report.prints->errors[0].left_out_median, 0.02);
}

}  // namespace
}  // namespace platetally
