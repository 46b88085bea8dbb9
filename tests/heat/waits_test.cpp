// How long a wait takes, by the exponential of one node, and what is said where it cannot end.
#include <fmt/format.h>
#include <gtest/gtest.h>

#include <cmath>

#include "heat/simulate.hpp"

namespace platetally::heat {
namespace {

using timeline::HeatEvent;
using timeline::HeatEventKind;
using Which = interpreter::Heater;

HeatEvent heater(HeatEventKind kind, Which which, double value_c = 0.0, std::uint64_t line = 1) {
  HeatEvent event;
  event.kind = kind;
  event.heater = which;
  event.value = value_c;
  event.tool = 0;
  event.line = line;
  return event;
}
HeatEvent set(Which which, double value_c) {
  return heater(HeatEventKind::set_heater, which, value_c);
}
HeatEvent wait(Which which, std::uint64_t line = 1) {
  return heater(HeatEventKind::wait_heater, which, 0.0, line);
}

HeatResult run(const Machine& machine, std::vector<HeatEvent> events,
               const HeatOptions& options = {}) {
  timeline::HeatLog log;
  log.events = std::move(events);
  return run_heat(machine,
                  std::vector<Material>(machine.tools.size(), *find_embedded_material("PLA")), log,
                  options);
}

/// One node each for the bed and the head, with linear losses alone: 520 J/K and 0.4 W/K, 14 J/K
/// and 0.05 W/K.
Machine linear_machine() {
  Machine machine;
  machine.room_c = 20.0;
  machine.bed.width_mm = machine.bed.depth_mm = 200.0;
  machine.bed.areal_heat_capacity_j_m2k = 13000.0;
  machine.bed.underside_loss_w_m2k = 10.0;
  machine.bed.convection_factor = machine.bed.emissivity = 0.0;
  machine.bed.tile_power_w = 100.0;
  machine.bed.band_k = 1.0;
  machine.heads[0].power_w = 40.0;
  machine.heads[0].heat_capacity_j_k = 14.0;
  machine.heads[0].still_loss_w_k = 0.03;
  machine.heads[0].fan_loss_w_k = 0.02;
  machine.heads[0].emissivity = 0.0;
  machine.heads[0].band_k = 2.0;
  return machine;
}

/// Seconds from one temperature to another at a constant power.
double rise_s(double capacity_j_k, double loss_w_k, double power_w, double room_c, double from_c,
              double to_c) {
  const double end_c = room_c + power_w / loss_w_k;
  return capacity_j_k / loss_w_k * std::log((end_c - from_c) / (end_c - to_c));
}

TEST(Wait, OfABedIsTheTimeOfItsExponential) {
  Machine machine = linear_machine();
  for (const double target_c : {40.0, 60.0, 110.0})
    for (const double band_k : {0.5, 1.0, 5.0}) {
      machine.bed.band_k = band_k;
      const double expected_s = rise_s(520.0, 0.4, 100.0, 20.0, 20.0, target_c - band_k);
      EXPECT_NEAR(run(machine, {set(Which::bed, target_c), wait(Which::bed)}).wait_s, expected_s,
                  2e-3 * expected_s)
          << target_c;
    }
  HeatOptions warm;
  warm.start_bed_c = 50.0;
  machine.bed.band_k = 1.0;
  EXPECT_NEAR(run(machine, {set(Which::bed, 60.0), wait(Which::bed)}, warm).wait_s,
              rise_s(520.0, 0.4, 100.0, 20.0, 50.0, 59.0), 0.2);
  machine.bed.duty_limit = 0.5;
  EXPECT_NEAR(run(machine, {set(Which::bed, 60.0), wait(Which::bed)}, warm).wait_s,
              rise_s(520.0, 0.4, 50.0, 20.0, 50.0, 59.0), 0.3)
      << "half of the time is half of the power";
}

TEST(Wait, OfAHeadIsTheTimeOfItsExponentialAndOneThatIsHotTakesNone) {
  Machine machine = linear_machine();
  const double expected_s = rise_s(14.0, 0.05, 40.0, 20.0, 20.0, 213.0);
  const HeatResult once = run(machine, {set(Which::head, 215.0), wait(Which::head)});
  EXPECT_NEAR(once.wait_s, expected_s, 2e-3 * expected_s);
  EXPECT_NEAR(once.total_s, once.wait_s, 1e-9) << "nothing else takes time";
  const HeatResult twice =
      run(machine, {set(Which::head, 215.0), wait(Which::head), wait(Which::head)});
  EXPECT_NEAR(twice.wait_s, once.wait_s, 1e-9);
  machine.heads[0].residency_s = 12.0;
  EXPECT_NEAR(run(machine, {set(Which::head, 215.0), wait(Which::head), wait(Which::head)}).wait_s,
              once.wait_s + 24.0, 1e-9)
      << "each wait stays its time inside the band";
}

TEST(Wait, ForCoolingIsTheTimeThatTheBedTakes) {
  const Machine machine = linear_machine();
  HeatOptions warm;
  warm.start_bed_c = 80.0;
  HeatEvent cooling = wait(Which::bed);
  cooling.wait_cooling = true;
  // From 80 to 41 degC towards a room of 20, with a time constant of 1300 s.
  EXPECT_NEAR(run(machine, {set(Which::bed, 40.0), cooling}, warm).wait_s,
              1300.0 * std::log(60.0 / 21.0), 2.0);
  EXPECT_NEAR(run(machine, {set(Which::bed, 40.0), wait(Which::bed)}, warm).wait_s, 0.0, 1e-9)
      << "who waits for heating alone goes on";
}

TEST(Wait, OfSomethingThatIsOffTakesNoTime) {
  const Machine machine = linear_machine();
  for (const Which which : {Which::bed, Which::head, Which::enclosure}) {
    EXPECT_EQ(run(machine, {wait(which)}).wait_s, 0.0);
    EXPECT_EQ(run(machine, {set(which, 0.0), wait(which)}).wait_s, 0.0);
    EXPECT_EQ(run(machine, {set(which, 15.0), wait(which)}).wait_s, 0.0) << "below the room";
  }
  HeatEvent nobody = wait(Which::head);
  for (const int tool : {-1, 7}) {
    nobody.tool = static_cast<std::int16_t>(tool);
    EXPECT_EQ(run(machine, {set(Which::head, 215.0), nobody}).wait_s, 0.0) << tool;
  }
}

TEST(Wait, IsPaidByItsLayerAndToldBeforeTheStopBehindIt) {
  const Machine machine = linear_machine();
  timeline::HeatLog log;
  HeatEvent bed = wait(Which::bed, 10), head = wait(Which::head, 30);
  bed.layer = 1;
  head.layer = 3;
  log.events = {set(Which::bed, 60.0), set(Which::head, 215.0), bed, head};
  log.stop_lines = {5, 20, 40};
  const HeatResult result = run_heat(machine, {*find_embedded_material("PLA")}, log);
  ASSERT_GE(result.layers.size(), 4U);
  const double bed_s = result.layers[1].wait_s, head_s = result.layers[3].wait_s;
  EXPECT_GT(bed_s, 60.0);
  EXPECT_NEAR(bed_s + head_s, result.wait_s, 1e-9);
  ASSERT_EQ(result.waited_before_stop_s.size(), 3U);
  EXPECT_EQ(result.waited_before_stop_s[0], 0.0);
  EXPECT_NEAR(result.waited_before_stop_s[1], bed_s, 1e-9);
  EXPECT_NEAR(result.waited_before_stop_s[2], bed_s + head_s, 1e-9);
}

TEST(Wait, ForWhatCannotBeReachedIsLeftAndSaid) {
  Machine machine = linear_machine();
  machine.bed.tile_power_w = 10.0;  // 45 degC at the most
  const HeatResult result = run(machine, {set(Which::bed, 100.0), wait(Which::bed, 17)});
  ASSERT_EQ(result.diagnostics.size(), 1U);
  EXPECT_EQ(result.diagnostics[0].code, "target-unreachable");
  EXPECT_EQ(result.diagnostics[0].severity, Severity::warning);
  EXPECT_EQ(result.diagnostics[0].line, 17U);
  EXPECT_TRUE(result.diagnostics[0].message.starts_with("the bed never reached its target: 5"))
      << result.diagnostics[0].message;
  EXPECT_LE(result.wait_s, 7200.0 + 120.0);
  EXPECT_GT(result.wait_s, 1300.0) << "it was tried";
}

TEST(Wait, OfAPlateIsThreeDaysAtMost) {
  Machine machine = linear_machine();
  machine.bed.residency_s = 600.0;
  std::vector<HeatEvent> events{set(Which::bed, 60.0)};
  for (std::uint64_t i = 1; i <= 1000; ++i)
    events.push_back(wait(Which::bed, i));
  const HeatResult result = run(machine, events);
  EXPECT_LE(result.wait_s, 3.0 * 86400.0 + 700.0);
  EXPECT_GT(result.wait_s, 3.0 * 86400.0);
  ASSERT_EQ(result.diagnostics.size(), 1U);
  EXPECT_EQ(result.diagnostics[0].code, "waits-too-long");
  EXPECT_EQ(result.diagnostics[0].severity, Severity::error);
  EXPECT_GT(result.diagnostics[0].count, 500U);
}

TEST(SetPoint, OfAnEnclosureThatIsNotHeatedIsSaid) {
  Machine machine = linear_machine();
  machine.name = "open bench";
  const HeatResult result = run(machine, {set(Which::enclosure, 40.0), wait(Which::enclosure)});
  ASSERT_EQ(result.diagnostics.size(), 1U);
  EXPECT_EQ(result.diagnostics[0].code, "enclosure-not-heated");
  EXPECT_EQ(result.diagnostics[0].message,
            "found a temperature for the enclosure; 'open bench' has no heater for it; left out");
  EXPECT_TRUE(run(machine, {set(Which::enclosure, 0.0)}).diagnostics.empty())
      << "off is what it is";
  machine.enclosure.present = true;
  machine.enclosure.heater_w = 500.0;
  EXPECT_TRUE(run(machine, {set(Which::enclosure, 40.0)}).diagnostics.empty());
}

TEST(SetPoint, ThatALogCouldNotKeepIsSaid) {
  timeline::HeatLog log;
  log.left_out = 12;
  const HeatResult result = run_heat(linear_machine(), {*find_embedded_material("PLA")}, log);
  ASSERT_EQ(result.diagnostics.size(), 1U);
  EXPECT_EQ(result.diagnostics[0].code, "heat-log-full");
  EXPECT_NE(result.diagnostics[0].message.find("12 of them were left out"), std::string::npos);
}

TEST(Standby, SinksToItsTemperatureAndIsHeldThere) {
  Machine machine = linear_machine();
  machine.heads.push_back(machine.heads[0]);
  machine.tools.resize(2);
  machine.tools[1].head = 1;
  machine.heads[0].standby_c = 120.0;
  machine.heads[1].standby_c = 120.0;
  HeatOptions hot;
  hot.start_head_c = 220.0;
  HeatEvent take, set_other = set(Which::head, 220.0), span;
  take.kind = HeatEventKind::take_tool;
  take.tool = 0;
  set_other.tool = 1;
  span.tool = 0;
  span.duration_s = span.moving_s = 4.0 * 3600.0;
  span.layer = 1;
  const HeatResult result = run(machine, {set(Which::head, 220.0), set_other, take, span}, hot);
  // In hand: 0.05 W/K times 200 K; waiting: it sinks first, by ln 2 of its time constant of 280 s,
  // and takes 0.05 W/K times 100 K from there on.
  EXPECT_NEAR(result.tools[0].energy_wh, 10.0 * 4.0, 0.01);
  EXPECT_NEAR(result.tools[1].energy_wh, 5.0 * (4.0 - 280.0 * std::log(2.0) / 3600.0), 0.01);
  EXPECT_NEAR(result.tools[0].active_s, span.duration_s, 1e-6);
  EXPECT_NEAR(result.tools[1].standby_s, span.duration_s, 1e-6);
}

}  // namespace
}  // namespace platetally::heat
