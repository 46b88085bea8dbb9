// Machines on one circuit: laws between one machine and many.
#include "platetally/circuit.hpp"

#include <gtest/gtest.h>

#include <cmath>

namespace platetally {
namespace {

Machine open_machine() {
  Machine machine;
  machine.name = "open";
  machine.bed.tile_power_w = 250.0;
  machine.bed.supply = HeaterSupply::ac;
  machine.supply.idle_w = 20.0;
  machine.supply.motors_moving_w = 15.0;
  return machine;
}

CircuitReport plan_of(int count, double amps = 16.0, double share = 0.8) {
  CircuitPlan plan;
  plan.amps = amps;
  plan.continuous_share = share;
  plan.machines = {{open_machine(), count}};
  return plan_circuit(plan);
}

TEST(Circuit, OneMachineStaysBelowItsConnectedLoad) {
  const CircuitReport one = plan_of(1);
  ASSERT_EQ(one.rows.size(), 1U);
  EXPECT_LE(one.together_peak_w, one.connected_load_w);
  EXPECT_GT(one.together_peak_w, 0.8 * one.connected_load_w);
  EXPECT_GT(one.together_peak_w, one.printing_w);
  EXPECT_LE(one.together_quarter_hour_w, one.together_peak_w);
  EXPECT_GE(one.together_quarter_hour_w, one.printing_w * 0.99);
  EXPECT_EQ(one.stagger_s, 0.0);
}

TEST(Circuit, StartedTogetherTheyAddUp) {
  const CircuitReport one = plan_of(1);
  const CircuitReport seven = plan_of(7);
  EXPECT_NEAR(seven.together_peak_w, 7.0 * one.together_peak_w, 1e-6);
  EXPECT_NEAR(seven.printing_w, 7.0 * one.printing_w, 1e-6);
  EXPECT_NEAR(seven.connected_load_w, 7.0 * one.connected_load_w, 1e-6);
}

TEST(Circuit, TheLeastStaggerKeepsBelowAndNoLessDoes) {
  const CircuitReport seven = plan_of(7, 5.0, 0.8);  // 920 W
  ASSERT_TRUE(seven.stagger_s.has_value());
  EXPECT_GT(*seven.stagger_s, 0.0);
  EXPECT_LE(seven.staggered_peak_w, seven.continuous_w);
  EXPECT_GT(seven.together_peak_w, seven.continuous_w);
  // With a little less room the stagger is no shorter.
  const CircuitReport tighter = plan_of(7, 4.8, 0.8);
  if (tighter.stagger_s) {
    EXPECT_GE(*tighter.stagger_s, *seven.stagger_s);
  }
}

TEST(Circuit, WhatIsTooMuchWhilePrintingNoStaggerMends) {
  const CircuitReport many = plan_of(60);
  EXPECT_GT(many.printing_w, many.continuous_w);
  EXPECT_FALSE(many.stagger_s.has_value());
}

TEST(Circuit, ManyBurstLessThanAsManyTimesOne) {
  const CircuitReport one = plan_of(1);
  const CircuitReport ten = plan_of(10);
  EXPECT_LT(ten.burst_99_w, 10.0 * one.burst_99_w);
  EXPECT_GT(ten.burst_99_w, ten.printing_w);
  EXPECT_GE(ten.burst_99_w, ten.burst_95_w);
  // Two heaters switch, bed and head: of one machine the 99 % quantile is both of them on, or one.
  EXPECT_LE(one.burst_99_w, one.connected_load_w);
}

TEST(Circuit, BurstsFollowTheBinomialDistribution) {
  // Nothing but the bed: no head to speak of, so 20 machines are 20 heaters of one duty.
  Machine machine = open_machine();
  machine.heads[0].power_w = 0.1;
  machine.heads[0].still_loss_w_k = machine.heads[0].fan_loss_w_k = 0.0;
  machine.heads[0].radiating_area_cm2 = 0.0;
  CircuitPlan plan;
  plan.nozzle_c = 24.0;
  plan.machines = {{machine, 20}};
  const CircuitReport report = plan_circuit(plan);
  // Duty from the mean: constant + duty 250 = printing.
  const double others_w = 20.0 + (15.0 + 1.5) * (1.08 + 1.2e-4 * 16.5);
  const double duty = (report.rows[0].printing_w - others_w) / 250.0;
  double sum = 0.0;
  double probability = std::pow(1.0 - duty, 20);
  int on = 0;
  for (; on < 20; ++on) {
    sum += probability;
    if (sum >= 0.99)
      break;
    probability *= (20.0 - on) / (on + 1.0) * duty / (1.0 - duty);
  }
  EXPECT_NEAR(report.burst_99_w, 20.0 * others_w + on * 250.0, 60.0);
}

TEST(Circuit, PlansWithoutSenseAreRefused) {
  CircuitPlan plan;
  EXPECT_THROW(plan_circuit(plan), std::invalid_argument);
  plan.machines = {{open_machine(), 0}};
  EXPECT_THROW(plan_circuit(plan), std::invalid_argument);
  plan.machines = {{open_machine(), 101}};
  EXPECT_THROW(plan_circuit(plan), std::invalid_argument);
  plan.machines = {{open_machine(), 1}};
  plan.volts = 5.0;
  EXPECT_THROW(plan_circuit(plan), std::invalid_argument);
  plan.volts = 230.0;
  plan.continuous_share = 0.0;
  EXPECT_THROW(plan_circuit(plan), std::invalid_argument);
}

}  // namespace
}  // namespace platetally
