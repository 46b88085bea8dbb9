// A plate that asks for more than the machine has.
#include "account/findings/wrong_machine.hpp"

#include <gtest/gtest.h>

#include "platetally/machine.hpp"

namespace platetally::findings {
namespace {

Machine machine() {
  Machine machine;
  machine.heads.resize(2);
  machine.heads[0].maximum_c = 260.0;
  machine.heads[1].maximum_c = 300.0;
  machine.tools.resize(2);
  machine.area = {10, 210, 0, 150, 180};
  machine.bed.maximum_c = 90.0;
  machine.enclosure.present = true;
  machine.enclosure.heater_w = 100.0;
  machine.enclosure.maximum_c = 60.0;
  return machine;
}

/// Just within every bound.
ledgers::Demand within() {
  ledgers::Demand demand;
  demand.x_min_mm = 10.0;
  demand.x_max_mm = 210.0;
  demand.y_min_mm = 0.0;
  demand.y_max_mm = 150.0;
  demand.z_max_mm = 180.0;
  demand.bed_c = 90.0;
  demand.head_c = 300.0;
  demand.enclosure_c = 60.0;
  return demand;
}

std::vector<std::string> codes_of(const ledgers::Demand& demand) {
  std::vector<std::string> codes;
  for (const Diagnostic& warning : check_machine(demand, 2, machine()))
    codes.push_back(warning.code);
  return codes;
}

TEST(WrongMachine, WhatJustFitsIsNotWarnedOf) {
  EXPECT_TRUE(codes_of(within()).empty());
}

TEST(WrongMachine, EveryBoundThatIsPassedIsSaid) {
  struct Case {
    double ledgers::Demand::*member;
    double value;
    const char* code;
  };
  for (const Case& one : {Case{&ledgers::Demand::x_min_mm, 9.9, "plate-leaves-area"},
                          Case{&ledgers::Demand::x_max_mm, 210.1, "plate-leaves-area"},
                          Case{&ledgers::Demand::y_min_mm, -0.1, "plate-leaves-area"},
                          Case{&ledgers::Demand::y_max_mm, 150.1, "plate-leaves-area"},
                          Case{&ledgers::Demand::z_max_mm, 180.1, "plate-leaves-area"},
                          Case{&ledgers::Demand::bed_c, 91.0, "bed-beyond-machine"},
                          Case{&ledgers::Demand::head_c, 301.0, "nozzle-beyond-machine"},
                          Case{&ledgers::Demand::enclosure_c, 61.0, "enclosure-beyond-machine"},
                          Case{&ledgers::Demand::head_c, 0.0, "nozzle-never-heated"}}) {
    ledgers::Demand demand = within();
    demand.*one.member = one.value;
    EXPECT_EQ(codes_of(demand), std::vector<std::string>{one.code}) << one.code << ' ' << one.value;
  }
}

std::string help_of(const ledgers::Demand& demand) {
  return check_machine(demand, 2, machine()).front().help;
}

TEST(WrongMachine, SaysTheLeastMoveThatMakesItFit) {
  ledgers::Demand demand = within();
  demand.x_min_mm = 0.0;
  demand.x_max_mm = 100.0;
  demand.y_min_mm = 60.0;
  demand.y_max_mm = 155.0;
  EXPECT_TRUE(help_of(demand).starts_with("moved by +10.0 mm in X and -5.0 mm in Y it fits; "))
      << help_of(demand);
}

TEST(WrongMachine, SaysThatTurningHelps) {
  ledgers::Demand demand = within();
  demand.x_max_mm = 150.0;  // 140 by 190, where 200 by 150 are
  demand.y_max_mm = 190.0;
  EXPECT_TRUE(help_of(demand).starts_with("turned by 90 degrees and moved it fits; "))
      << help_of(demand);
}

TEST(WrongMachine, SaysHowMuchSmallerItWouldFit) {
  ledgers::Demand demand = within();
  demand.x_max_mm = 410.0;  // 400 wide, where 200 are: half
  EXPECT_TRUE(help_of(demand).starts_with("at 50 % of its size it fits")) << help_of(demand);
  demand.z_max_mm = 720.0;  // four times too high
  EXPECT_TRUE(help_of(demand).starts_with("at 25 % of its size it fits")) << help_of(demand);
}

}  // namespace
}  // namespace platetally::findings
