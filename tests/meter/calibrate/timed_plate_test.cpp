// Plates that are timed again and again, and what prints' seconds, watt-hours and grams tell.
#include "meter/calibrate/timed_plate.hpp"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <cmath>
#include <fstream>

#include "meter/calibrate/print_fit.hpp"
#include "platetally/analyze.hpp"
#include "support/temp_folder.hpp"

namespace platetally::calibrate {
namespace {

class Timed : public testing::Test {
 protected:
  std::string put(const std::string& name, const std::string& text) const {
    const std::string path = (folder_.path() / name).string();
    std::ofstream(path, std::ios::binary) << text;
    return path;
  }
  PlateTimes times_of(const std::string& text) const {
    return TimedPlate(put("plate.gcode", text), machine_).times(machine_);
  }
  std::string refusal(const std::string& path) const {
    try {
      (void)TimedPlate(path, machine_);
    } catch (const UnreadablePlate& error) {
      return error.what();
    }
    return "";
  }

  test::TempFolder folder_;
  /// Limits that no move here meets; changes and procedures of whole seconds.
  Machine machine_ = [] {
    Machine machine = load_machine("switcher-4").machine();
    machine.motion.corner_model = CornerModel::junction_deviation;
    machine.motion.speed_mm_s = {1000.0, 1000.0, 100.0, 100.0};
    machine.motion.acceleration_mm_s2 = {1000.0, 1000.0, 1000.0, 1000.0};
    machine.motion.print_acceleration_mm_s2 = 1000.0;
    machine.motion.travel_acceleration_mm_s2 = 1000.0;
    machine.swap.filament_change_s = {30.0, 40.0, 60.0};
    machine.swap.long_swap_probability = 0.0;
    machine.procedures.start_s = {7.0, 7.0, 7.0};
    machine.procedures.end_s = {11.0, 11.0, 11.0};
    machine.procedures.homing_s = {13.0, 13.0, 13.0};
    return machine;
  }();
};

// From rest to rest over s mm at v mm/s with a mm/s2: s / v + v / a.
TEST_F(Timed, AStrokeLastsAsLongAsItsTrapezoid) {
  const PlateTimes times = times_of("G21\nG90\nM83\nG1 X100 E4 F3000\n");
  EXPECT_NEAR(times.of_print_s, 100.0 / 50.0 + 50.0 / 1000.0 + 11.0, 1e-6);
  EXPECT_NEAR(times.all_s, times.of_print_s + 7.0, 1e-6);
  EXPECT_FALSE(times.has_filament_changes);
  EXPECT_FALSE(times.has_head_changes);
}

TEST_F(Timed, WhatIsBeforeTheFirstExtrusionIsNoPartOfThePrint) {
  const double alone_s = times_of("G21\nG90\nM83\nG1 X100 E4 F3000\n").of_print_s;
  const PlateTimes times = times_of("G21\nG90\nM83\nG4 S20\nG1 X100 E4 F3000\n");
  EXPECT_NEAR(times.of_print_s, alone_s, 1e-6);
  EXPECT_NEAR(times.all_s, alone_s + 7.0 + 20.0, 1e-6);
}

TEST_F(Timed, ADwellIsPartOfThePrintBehindItsFirstExtrusion) {
  const double alone_s = times_of("G21\nG90\nM83\nG1 X100 E4 F3000\n").of_print_s;
  EXPECT_NEAR(times_of("G21\nG90\nM83\nG1 X100 E4 F3000\nG4 S20\n").of_print_s, alone_s + 20.0,
              1e-6);
}

TEST_F(Timed, HomingLiesAsideWhereverItComes) {
  const PlateTimes without = times_of("G21\nG90\nM83\nG1 X100 E4 F3000\nG4 S1\n");
  const PlateTimes with = times_of("G21\nG90\nM83\nG1 X100 E4 F3000\nG4 S1\nG28\n");
  EXPECT_NEAR(with.of_print_s, without.of_print_s, 1e-6);
  EXPECT_NEAR(with.all_s - without.all_s, 13.0, 1e-6);
}

TEST_F(Timed, PausesAreInNoTime) {
  machine_.procedures.pause_s = {600.0, 600.0, 600.0};
  const PlateTimes without = times_of("G21\nG90\nM83\nG1 X100 E4 F3000\nG4 S1\n");
  const PlateTimes with = times_of("G21\nG90\nM83\nG1 X100 E4 F3000\nG4 S1\nM0\n");
  EXPECT_NEAR(with.all_s, without.all_s, 1e-6);
  EXPECT_NEAR(with.of_print_s, without.of_print_s, 1e-6);
}

TEST_F(Timed, ChangesOfFilamentAreSeenAndTimed) {
  const std::string stroke = "G1 X100 E4 F3000\nG1 X0 E4\nG4 S0\n";
  const PlateTimes one = times_of("G21\nG90\nM83\nT0\n" + stroke + "T0\n" + stroke);
  const PlateTimes two = times_of("G21\nG90\nM83\nT0\n" + stroke + "T1\n" + stroke);
  EXPECT_FALSE(one.has_filament_changes);
  EXPECT_TRUE(two.has_filament_changes);
  EXPECT_FALSE(two.has_head_changes);
  EXPECT_NEAR(two.of_print_s - one.of_print_s, 40.0, 1e-6);
}

TEST_F(Timed, TheSamePlateIsTimedOnMachinesThatDiffer) {
  const TimedPlate plate(put("plate.gcode", "G21\nG90\nM83\nG1 X100 E4 F3000\n"), machine_);
  const double before_s = plate.times(machine_).of_print_s;
  Machine slow = machine_;
  slow.motion.print_acceleration_mm_s2 = 250.0;
  EXPECT_NEAR(plate.times(slow).of_print_s - before_s, 50.0 / 250.0 - 50.0 / 1000.0, 1e-6);
  EXPECT_EQ(plate.times(machine_).of_print_s, before_s) << "nothing of it stays";
}

TEST_F(Timed, ManyPlatesComeInTheirOrder) {
  std::vector<TimedPlate> plates;
  for (int i = 1; i <= 12; ++i) {
    std::string text = "G21\nG90\nM83\n";
    for (int stroke = 0; stroke < 13 - i; ++stroke)
      text += fmt::format("G1 X{} E4 F3000\n", stroke % 2 == 0 ? 100 : 0);
    text += fmt::format("G4 S{}\n", 100 * i);
    plates.emplace_back(put(fmt::format("{}.gcode", i), text), machine_);
  }
  const std::vector<PlateTimes> all = calibrate::times_of(plates, machine_);
  ASSERT_EQ(all.size(), 12U);
  for (std::size_t i = 0; i < all.size(); ++i)
    EXPECT_EQ(all[i].all_s, plates[i].times(machine_).all_s);
}

TEST_F(Timed, WhatIsNoPlateIsRefusedWithItsPath) {
  const std::string empty = put("notes.gcode", "; the ferns are thirsty\n\n");
  EXPECT_EQ(refusal(empty), empty + ": no G-code command in it");
  const std::string gone = (folder_.path() / "gone.gcode").string();
  EXPECT_TRUE(refusal(gone).starts_with(gone + ": ")) << refusal(gone);
}

/// Finished prints of plates, by hand.
struct Kept {
  std::vector<FinishedPrint> prints;
  std::vector<MeasuredPrint> measured;

  void add(std::size_t plate, FinishedPrint print, double before) {
    print.plate = fmt::format("plate {}", plate);
    print.line = 2 + prints.size();
    prints.push_back(print);
    measured.push_back({nullptr, plate, before});
    for (std::size_t i = 0; i < prints.size(); ++i)
      measured[i].print = &prints[i];
  }
};

TEST(Weights, HiddenPurgeIsWhatTheScaleSaysTooMuch) {
  // Grams of three plates, and what each mm3 of hidden purge adds: a change each.
  const std::vector<PlateWeight> plates = {{20.0, 0.012}, {40.0, 0.05}, {30.0, 0.0}};
  Kept kept;
  for (std::size_t i = 0; i < plates.size(); ++i) {
    FinishedPrint print;
    print.grams = plates[i].grams + 150.0 * plates[i].grams_per_mm3;
    kept.add(i, print, plates[i].grams);
  }
  const Machine machine = load_machine("switcher-4").machine();
  const PrintStage stage = fit_weights(machine, plates, kept.measured);
  EXPECT_NEAR(stage.machine.swap.hidden_purge_mm3, 150.0, 10.0);
  ASSERT_EQ(stage.fitted.size(), 1U);
  EXPECT_EQ(stage.fitted[0].key, "swap.hidden_purge_mm3");
  EXPECT_LT(stage.fitted[0].low, 150.0);
  EXPECT_GT(stage.fitted[0].high, 150.0);
  EXPECT_EQ(stage.errors.key, "weight");
  EXPECT_EQ(stage.errors.prints, 3U);
  EXPECT_EQ(stage.errors.plates, 3U);
  EXPECT_TRUE(stage.notes.empty());
  for (std::size_t i = 0; i < 3; ++i) {
    EXPECT_EQ(stage.outcomes[i].key, "grams");
    EXPECT_EQ(stage.outcomes[i].before, plates[i].grams);
    EXPECT_EQ(stage.outcomes[i].measured, *kept.prints[i].grams);
    EXPECT_EQ(stage.outcomes[i].line, kept.prints[i].line);
    EXPECT_FALSE(stage.outcomes[i].is_outlier);
  }
}

TEST(Weights, PlatesWithoutChangesTellNothingOfHiddenPurge) {
  const std::vector<PlateWeight> plates = {{20.0, 0.0}, {40.0, 0.0}};
  Kept kept;
  for (std::size_t i = 0; i < 2; ++i) {
    FinishedPrint print;
    print.grams = plates[i].grams;
    kept.add(i, print, plates[i].grams);
  }
  const Machine machine = load_machine("switcher-4").machine();
  const PrintStage stage = fit_weights(machine, plates, kept.measured);
  EXPECT_EQ(stage.machine, machine);
  EXPECT_TRUE(stage.fitted.empty());
  ASSERT_EQ(stage.not_told.size(), 1U);
  EXPECT_EQ(stage.not_told[0].settled_by, "weighed prints with many changes");
  EXPECT_NEAR(stage.errors.after_median, 0.0, 1e-12);
}

TEST(Weights, PrintsThatAreAllTooHeavyAreAQuestionOfTheFilament) {
  const std::vector<PlateWeight> plates = {{20.0, 0.0}, {40.0, 0.0}, {30.0, 0.0}};
  for (const auto& [factor, word] : {std::pair(1.1, "10 % more"), {0.85, "15 % less"}}) {
    Kept kept;
    for (std::size_t i = 0; i < plates.size(); ++i) {
      FinishedPrint print;
      print.grams = factor * plates[i].grams;
      kept.add(i, print, plates[i].grams);
    }
    const PrintStage stage =
        fit_weights(load_machine("switcher-4").machine(), plates, kept.measured);
    ASSERT_EQ(stage.notes.size(), 1U);
    EXPECT_EQ(stage.notes[0],
              fmt::format("prints weigh {} than they should: are the filament's diameter and "
                          "density right, and was a flow factor set by hand?",
                          word));
  }
}

TEST(Weights, OfOnePlateNothingIsLeftToFitTo) {
  Kept kept;
  for (int i = 0; i < 2; ++i) {
    FinishedPrint print;
    print.grams = 20.0;
    kept.add(0, print, 20.0);
  }
  const PrintStage stage =
      fit_weights(load_machine("switcher-4").machine(), {{20.0, 0.01}}, kept.measured);
  EXPECT_EQ(stage.errors.prints, 2U);
  EXPECT_EQ(stage.errors.plates, 1U);
  ASSERT_EQ(stage.notes.size(), 1U);
  EXPECT_EQ(stage.notes[0],
            "one plate alone: nothing is left to fit to when its weight is left out");
}

TEST_F(Timed, OnePrintThatIsFarOffIsNamedWithItsLine) {
  std::vector<TimedPlate> plates;
  std::vector<std::string> paths;
  Kept kept;
  for (int i = 1; i <= 6; ++i) {
    std::string text = "G21\nG90\nM83\n";
    for (int stroke = 0; stroke < 60 * i; ++stroke)
      text += fmt::format("G1 X{} E4 F{}\n", stroke % 2 == 0 ? 100 : 0, 1500 + 300 * i);
    paths.push_back(put(fmt::format("{}.gcode", i), text));
    plates.emplace_back(paths.back(), machine_);
    const double seconds = plates.back().times(machine_).of_print_s;
    FinishedPrint print;
    print.span = PrintSpan::first_extrusion;
    print.seconds = i == 4 ? 1.4 * seconds : seconds;
    kept.add(static_cast<std::size_t>(i - 1), print, seconds);
  }
  const PrintStage stage =
      fit_times(machine_, plates, paths, std::vector<double>(6, 0.0), kept.measured, 1.0);
  EXPECT_EQ(stage.errors.key, "time");
  for (std::size_t i = 0; i < 6; ++i) {
    EXPECT_EQ(stage.outcomes[i].key, "time_of_print_s");
    EXPECT_EQ(stage.outcomes[i].is_outlier, i == 3) << i;
  }
  ASSERT_FALSE(stage.notes.empty());
  EXPECT_EQ(stage.notes[0].find("plate 3 (line 5) took 40 % more time than the others say: it "
                                "counts little"),
            0U)
      << stage.notes[0];
}

TEST_F(Timed, HeatWaitsAreThoseOfTheHeatModel) {
  AnalyzeOptions options;
  HeatInput cold, hot;
  cold.log.events.emplace_back();
  cold.log.events.back().duration_s = 100.0;
  cold.materials = hot.materials =
      std::vector<Material>(machine_.tools.size(), *find_embedded_material("PLA"));
  hot.log = cold.log;
  for (const auto kind :
       {timeline::HeatEventKind::set_heater, timeline::HeatEventKind::wait_heater}) {
    timeline::HeatEvent event;
    event.kind = kind;
    event.value = 60.0;
    hot.log.events.push_back(event);
  }
  const std::vector<double> waits_s = heat_waits_s(machine_, {cold, hot, cold});
  ASSERT_EQ(waits_s.size(), 3U);
  EXPECT_EQ(waits_s[0], 0.0);
  EXPECT_GT(waits_s[1], 30.0);
  EXPECT_EQ(waits_s[2], 0.0);
  Machine weak = machine_;
  weak.bed.tile_power_w *= 0.5;
  EXPECT_GT(heat_waits_s(weak, {hot}).at(0), 1.8 * waits_s[1]);
}

}  // namespace
}  // namespace platetally::calibrate
