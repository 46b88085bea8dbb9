// The measuring plan: its G-code and what the model plays are one and the same.
#include "meter/calibrate/plan.hpp"

#include <gtest/gtest.h>

#include <cstdlib>
#include <sstream>
#include <string>

namespace platetally::calibrate {
namespace {

using timeline::HeatEvent;
using timeline::HeatEventKind;

std::vector<std::string> commands_of(const Plan& plan) {
  std::vector<std::string> commands;
  std::istringstream lines(plan.gcode);
  for (std::string line; std::getline(lines, line);)
    if (!line.starts_with(';'))
      commands.push_back(line);
  return commands;
}

double number_behind_s(const std::string& command) {
  return std::strtod(command.c_str() + command.find('S') + 1, nullptr);
}

TEST(MeasuringPlan, EveryCommandIsAnEventOfTheModel) {
  for (const char* name : {"changer-5", "switcher-4", "single-1"})
    for (const double scale : {0.3, 1.0, 2.0}) {
      const Plan plan = plan_at(load_machine(name).machine(), scale);
      const std::vector<std::string> commands = commands_of(plan);
      ASSERT_EQ(commands.size(), plan.heat_log.events.size());
      double seconds = 0.0;
      for (std::size_t i = 0; i < commands.size(); ++i) {
        const HeatEvent& event = plan.heat_log.events[i];
        const std::string word = commands[i].substr(0, commands[i].find(' '));
        if (word == "G4") {
          EXPECT_EQ(event.kind, HeatEventKind::span);
          EXPECT_EQ(event.duration_s, number_behind_s(commands[i]));
          seconds += event.duration_s;
        } else if (word == "M140" || word == "M104") {
          EXPECT_EQ(event.kind, HeatEventKind::set_heater);
          EXPECT_EQ(event.heater,
                    word == "M140" ? interpreter::Heater::bed : interpreter::Heater::head);
          EXPECT_EQ(event.value, number_behind_s(commands[i]));
        } else {
          EXPECT_EQ(event.kind, HeatEventKind::set_fan) << commands[i];
          EXPECT_EQ(event.value, word == "M106" ? number_behind_s(commands[i]) / 255.0 : 0.0);
        }
      }
      EXPECT_EQ(plan.seconds, seconds);
    }
}

TEST(MeasuringPlan, NothingMovesAndEverythingIsOffAtTheEnd) {
  const Plan plan = plan_at(load_machine("changer-5").machine(), 1.0);
  double bed_c = -1.0, nozzle_c = -1.0, fan = -1.0;
  for (const HeatEvent& event : plan.heat_log.events) {
    EXPECT_EQ(event.moving_s, 0.0);
    EXPECT_EQ(event.volume_mm3, 0.0);
    if (event.kind == HeatEventKind::set_fan)
      fan = event.value;
    if (event.kind == HeatEventKind::set_heater)
      (event.heater == interpreter::Heater::bed ? bed_c : nozzle_c) = event.value;
  }
  EXPECT_EQ(bed_c, 0.0);
  EXPECT_EQ(nozzle_c, 0.0);
  EXPECT_EQ(fan, 0.0);
  for (const std::string& command : commands_of(plan))
    EXPECT_FALSE(command.starts_with("G1") || command.starts_with("G28")) << command;
}

TEST(MeasuringPlan, CoolingLastsTheSameWhateverTheScaleOfTheHolds) {
  const Machine machine = load_machine("switcher-4").machine();
  // Two pauses of ten minutes and two warm-ups of five are as they are.
  constexpr double kFixed_s = 2.0 * 600.0 + 2.0 * 300.0;
  const double holds_s = plan_at(machine, 1.0).seconds - kFixed_s;
  for (const double scale : {0.3, 0.5, 0.7, 1.5, 2.0})
    EXPECT_NEAR(plan_at(machine, scale).seconds, kFixed_s + scale * holds_s, 4.0) << scale;
}

TEST(MeasuringPlan, StaysWithinWhatTheMachineMayDo) {
  Machine machine = load_machine("single-1").machine();
  machine.bed.maximum_c = 45.0;
  machine.heads.front().maximum_c = 190.0;
  for (const HeatEvent& event : plan_at(machine, 1.0).heat_log.events)
    if (event.kind == HeatEventKind::set_heater) {
      EXPECT_LE(event.value, event.heater == interpreter::Heater::bed ? 45.0 : 190.0);
    }
  EXPECT_NE(plan_at(machine, 1.0).gcode.find("M140 S45"), std::string::npos);
  EXPECT_NE(plan_at(machine, 1.0).gcode.find("M104 S190"), std::string::npos);
}

TEST(MeasuringPlan, CautionsComeBeforeAnythingIsHot) {
  const std::string gcode = plan_at(load_machine("single-1").machine(), 1.0).gcode;
  const std::size_t hot = gcode.find("\nM140");
  for (const char* caution : {"Stay with the machine while it is hot", "listed plug-in meter",
                              "never open a supply or a mains cable", "licensed electrician"})
    EXPECT_LT(gcode.find(caution), hot) << caution;
}

}  // namespace
}  // namespace platetally::calibrate
