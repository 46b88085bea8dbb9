// The print as a whole: set points, waits, zones, heads, books.
#include "heat/simulate.hpp"

#include <gtest/gtest.h>

#include <bit>
#include <cmath>

#include "heat/zones.hpp"

namespace platetally::heat {
namespace {

using timeline::HeatEvent;
using timeline::HeatEventKind;
using Which = interpreter::Heater;

Machine one_head() {
  Machine machine;
  machine.supply.idle_w = 20;
  machine.supply.motors_holding_w = 10;
  return machine;
}

Machine zoned() {
  Machine machine = one_head();
  machine.bed.rows = machine.bed.columns = 4;
  machine.bed.width_mm = machine.bed.depth_mm = 360;
  machine.bed.tile_power_w = 27;
  machine.bed.areal_heat_capacity_j_m2k = 13430;
  machine.bed.zone_policy = ZonePolicy::footprint;
  return machine;
}

class Log {
 public:
  Log& set(Which heater, double value, int tool = 0) {
    HeatEvent event;
    event.kind = HeatEventKind::set_heater;
    event.heater = heater;
    event.value = value;
    return add(event, tool);
  }
  Log& wait(Which heater, int tool = 0, bool cooling = false) {
    HeatEvent event;
    event.kind = HeatEventKind::wait_heater;
    event.heater = heater;
    event.wait_cooling = cooling;
    return add(event, tool);
  }
  Log& take(int tool) {
    HeatEvent event;
    event.kind = HeatEventKind::take_tool;
    return add(event, tool);
  }
  Log& print(double seconds, double volume_mm3, int tool = 0, std::uint32_t layer = 1) {
    HeatEvent event;
    event.duration_s = seconds;
    event.moving_s = seconds;
    event.volume_mm3 = volume_mm3;
    event.layer = layer;
    return add(event, tool);
  }
  Log& footprint(std::vector<std::uint64_t> by_layer) {
    log_.footprint_by_layer = std::move(by_layer);
    return *this;
  }
  HeatResult run(const Machine& machine, const HeatOptions& options = {}) const {
    return run_heat(machine,
                    std::vector<Material>(machine.tools.size(), *find_embedded_material("PLA")),
                    log_, options);
  }

 private:
  Log& add(HeatEvent event, int tool) {
    event.tool = static_cast<std::int16_t>(tool);
    log_.events.push_back(event);
    return *this;
  }
  timeline::HeatLog log_;
};

TEST(RunHeat, FilamentsChangedByHandAreToolsOnTheSameHead) {
  Machine machine = one_head();
  machine.swap.filament_change_by_hand = true;
  const auto wh_with = [&](int tool) {
    timeline::HeatLog log;
    HeatEvent event;
    event.kind = HeatEventKind::set_heater;
    event.heater = Which::head;
    event.value = 215;
    event.tool = static_cast<std::int16_t>(tool);
    log.events.push_back(event);
    event = {};
    event.duration_s = event.moving_s = 300;
    event.volume_mm3 = 900;
    event.tool = static_cast<std::int16_t>(tool);
    event.layer = 1;
    log.events.push_back(event);
    const std::vector<Material> materials(kMostByHand, *find_embedded_material("PLA"));
    return run_heat(machine, materials, log).energy.sum_wh();
  };
  EXPECT_GT(wh_with(0), 0.0);
  EXPECT_EQ(wh_with(static_cast<int>(kMostByHand) - 1), wh_with(0));
}

TEST(RunHeat, SumsOverLayersEqualTheTotalsAndTheBookCloses) {
  const Machine machine = one_head();
  const HeatResult result = Log()
                                .set(Which::bed, 60)
                                .set(Which::head, 215)
                                .wait(Which::bed)
                                .wait(Which::head)
                                .print(300, 900, 0, 1)
                                .print(300, 1200, 0, 2)
                                .run(machine);
  double wh = 0.0, wait_s = 0.0;
  for (const LayerHeat& layer : result.layers) {
    wh += layer.energy.sum_wh();
    wait_s += layer.wait_s;
  }
  EXPECT_NEAR(wh, result.energy.sum_wh(), 1e-9 * wh);
  EXPECT_NEAR(wait_s, result.wait_s, 1e-9 * wait_s);
  EXPECT_GT(result.wait_s, 60.0);
  EXPECT_NEAR(result.total_s, result.wait_s + 600.0, 1e-9);
  EXPECT_LT(result.book_residual, 1e-9);
  EXPECT_NEAR(result.layers[1].start_s, result.wait_s, 1e-9);
  double trace_wh = 0.0;
  for (const PowerSample& sample : result.power)
    trace_wh += sample.energy.sum_wh();
  EXPECT_NEAR(trace_wh, wh, 1e-9 * wh);
}

TEST(RunHeat, MeltingTakesTheHeatOfThePlastic) {
  const Machine machine = one_head();
  const auto hot_ends_wh = [&](double volume_mm3) {
    return Log()
        .set(Which::head, 215)
        .wait(Which::head)
        .print(3600, volume_mm3)
        .run(machine)
        .energy.hot_ends_wh;
  };
  // 10 mm3/s of PLA: 0.0124 g/s times 366 J/g from 25 degC; 23 degC room adds 2 / 190 of it.
  const double expected_wh = 0.0124 * 366.0 * (215.0 - 23.0) / 190.0;
  EXPECT_NEAR(hot_ends_wh(36000) - hot_ends_wh(0), expected_wh, 1e-4 * expected_wh);
}

TEST(RunHeat, AWaitThatCannotEndIsSaidAndLeft) {
  Machine machine = one_head();
  machine.heads[0].power_w = 10.0;  // loses 10 W far below 215 degC
  const HeatResult result = Log().set(Which::head, 215).wait(Which::head).print(10, 0).run(machine);
  ASSERT_EQ(result.diagnostics.size(), 1U);
  EXPECT_EQ(result.diagnostics[0].code, "target-unreachable");
  EXPECT_LT(result.wait_s, 7200.0);
}

TEST(RunHeat, WaitsEndWhereTheBandBegins) {
  // One node, linear loss: C dT/dt = P - G (T - Troom), reached at t = tau ln(P / (P - G (T -
  // Troom))).
  Machine machine = one_head();
  Head& head = machine.heads[0];
  head.radiating_area_cm2 = 0.0;
  head.still_loss_w_k = 0.05;
  head.fan_loss_w_k = 0.0;
  head.band_k = 2.0;
  const double rise_k = 215.0 - 2.0 - machine.room_c;
  const double tau_s = head.heat_capacity_j_k / 0.05;
  const double expected_s = tau_s * std::log(head.power_w / (head.power_w - 0.05 * rise_k));
  const HeatResult result = Log().set(Which::head, 215).wait(Which::head).run(machine);
  EXPECT_NEAR(result.wait_s, expected_s, 0.1);
}

TEST(RunHeat, CoolingIsWaitedForOnlyWhereAsked) {
  const Machine machine = one_head();
  const Log hot = Log().set(Which::head, 215).wait(Which::head).print(60, 0).set(Which::head, 150);
  const double without_s = Log(hot).wait(Which::head).run(machine).wait_s;
  const double with_s = Log(hot).wait(Which::head, 0, true).run(machine).wait_s;
  EXPECT_GT(with_s, without_s + 10.0);
}

TEST(RunHeat, AHeadOnStandbyIsReheatedBeforeItPrints) {
  Machine machine = one_head();
  machine.heads = {Head{}, Head{}};
  machine.heads[0].standby_c = machine.heads[1].standby_c = 150;
  machine.tools = {Tool{}, Tool{}};
  machine.tools[1].head = 1;
  const HeatResult result = Log()
                                .take(0)
                                .set(Which::head, 215, 0)
                                .set(Which::head, 215, 1)
                                .wait(Which::head, 0)
                                .print(300, 0, 0, 1)
                                .take(1)
                                .print(300, 0, 1, 1)
                                .run(machine);
  EXPECT_GT(result.tools[1].standby_s, 299.0);
  EXPECT_NEAR(result.tools[0].standby_s, 300.0, 60.0);
  const Machine hot = [machine]() mutable {
    machine.heads[0].standby_c = machine.heads[1].standby_c = 0;
    return machine;
  }();
  const HeatResult always_hot = Log()
                                    .take(0)
                                    .set(Which::head, 215, 0)
                                    .set(Which::head, 215, 1)
                                    .wait(Which::head, 0)
                                    .print(300, 0, 0, 1)
                                    .take(1)
                                    .print(300, 0, 1, 1)
                                    .run(hot);
  EXPECT_GT(result.wait_s, always_hot.wait_s + 5.0);
  EXPECT_LT(result.energy.hot_ends_wh, always_hot.energy.hot_ends_wh);
}

TEST(Zones, NeighboursByFourAndByEight) {
  Bed bed = zoned().bed;
  const std::uint64_t middle = std::uint64_t{1} << (1 * 4 + 1);
  bed.neighbour_count = 8;
  EXPECT_EQ(std::popcount(neighbours_of(middle, bed)), 8);
  bed.neighbour_count = 4;
  EXPECT_EQ(std::popcount(neighbours_of(middle, bed)), 4);
  bed.neighbour_count = 8;
  EXPECT_EQ(std::popcount(neighbours_of(1, bed)), 3);  // a corner
  bed.neighbour_count = 0;
  EXPECT_EQ(neighbours_of(middle, bed), 0U);
}

TEST(Zones, OnlyWhatIsPrintedOnAndItsNeighboursAreHeated) {
  const Machine machine = zoned();
  const HeatResult result = Log()
                                .footprint({0, 1})
                                .set(Which::bed, 60)
                                .wait(Which::bed)
                                .print(3600, 0, 0, 1)
                                .run(machine);
  EXPECT_EQ(result.zones_used, 1U);
  EXPECT_GT(result.zones[0].active_s, 3600.0);
  EXPECT_GT(result.zones[1].neighbour_s, 3600.0);
  EXPECT_GT(result.zones[0].energy_wh, result.zones[1].energy_wh);
  EXPECT_DOUBLE_EQ(result.zones[15].energy_wh, 0.0);
  EXPECT_LT(result.zones[15].peak_c, 40.0);
  EXPECT_EQ(result.layers[1].zones_active, 1U);
}

TEST(Zones, ATileGoesOffAfterItsLastLayerWhereTheMachineDoesThat) {
  Machine machine = zoned();
  const Log log = Log()
                      .footprint({0, 0b11, 0b01})
                      .set(Which::bed, 60)
                      .wait(Which::bed)
                      .print(1800, 0, 0, 1)
                      .print(1800, 0, 0, 2);
  const double all_the_time_s = log.run(machine).zones[1].active_s;
  machine.bed.follow_layers = true;
  const HeatResult followed = log.run(machine);
  EXPECT_NEAR(followed.zones[1].active_s, all_the_time_s - 1800.0, 1.0);
  EXPECT_NEAR(followed.zones[1].neighbour_s, 1800.0, 1.0);
}

TEST(Supply, DrawAtRestIsTheIdlePower) {
  const HeatResult result = Log().print(3600, 0).run([] {
    Machine machine = one_head();
    machine.supply.motors_moving_w = 0;
    machine.supply.motors_holding_w = 0;
    return machine;
  }());
  EXPECT_NEAR(result.energy.sum_wh(), 20.0, 1e-9);
  EXPECT_NEAR(result.peak_power_w, 20.0, 1e-9);
  EXPECT_NEAR(result.peak_quarter_hour_w, 20.0, 1e-9);
}

TEST(Supply, LossGrowsWithTheLoad) {
  Machine machine = one_head();
  machine.supply.motors_moving_w = 100;
  const HeatResult result = Log().print(3600, 0).run(machine);
  EXPECT_NEAR(result.energy.motors_wh, 100.0, 1e-9);
  EXPECT_NEAR(result.energy.supply_loss_wh, 100.0 * (0.08 + 1.2e-4 * 100.0), 1e-9);
}

TEST(Depth, TwoNodesAndOneHoldTheSameTargetWithTheSameOrderOfPower) {
  Machine machine = one_head();
  machine.bed.width_mm = machine.bed.depth_mm = 235;
  const Log log = Log().set(Which::bed, 60).wait(Which::bed).print(7200, 0);
  const double one_wh = log.run(machine).energy.bed_wh;
  machine.bed.depth_nodes = 2;
  const HeatResult two = log.run(machine);
  // The surface lags behind the plate, so it loses less while the plate is held.
  EXPECT_LT(two.energy.bed_wh, one_wh);
  EXPECT_GT(two.energy.bed_wh, 0.7 * one_wh);
  EXPECT_LT(two.book_residual, 1e-9);
}

/// A bed of one node that loses nothing: its rate is power over heat capacity.
Machine lossless() {
  Machine machine = one_head();
  machine.bed.width_mm = machine.bed.depth_mm = 200;
  machine.bed.areal_heat_capacity_j_m2k = 10000;  // 400 J/K
  machine.bed.tile_power_w = 200;
  machine.bed.underside_loss_w_m2k = machine.bed.convection_factor = machine.bed.emissivity = 0;
  return machine;
}

TEST(Heaters, ResistanceThatRisesTakesThePowerDown) {
  Machine machine = lossless();
  machine.bed.resistance_rise_per_k = 0.004;
  const HeatResult result = Log().set(Which::bed, 100).wait(Which::bed).run(machine);
  // C dT/dt = P / (1 + a (T - 20)): t = C / P (u + a u^2 / 2) between u = 3 K and 79 K (band 1 K).
  const auto primitive = [](double u) { return u + 0.004 * u * u / 2.0; };
  EXPECT_NEAR(result.wait_s, 400.0 / 200.0 * (primitive(79.0) - primitive(3.0)), 0.05);
}

TEST(Heaters, ACapOfTheDutyIsASmallerHeaterAsAMean) {
  Machine machine = lossless();
  machine.bed.duty_limit = 0.75;
  const HeatResult capped = Log().set(Which::bed, 100).wait(Which::bed).run(machine);
  EXPECT_NEAR(capped.wait_s, 400.0 * (99.0 - 23.0) / 150.0, 0.05);
  machine.bed.duty_limit = 1.0;
  machine.bed.tile_power_w = 150;
  EXPECT_NEAR(capped.energy.sum_wh(),
              Log().set(Which::bed, 100).wait(Which::bed).run(machine).energy.sum_wh(), 1e-9);
  // At once it still draws all of it.
  EXPECT_GT(capped.connected_load_w, 200.0);
}

TEST(Heaters, ASensorThatLagsLetsTheBedGoFurther) {
  Machine machine = lossless();
  machine.bed.sensor_lag_s = 8.0;
  HeatOptions options;
  options.keeps_heaters = true;
  const HeatResult result =
      Log().set(Which::bed, 60).wait(Which::bed).print(60, 0).run(machine, options);
  // At 0.5 K/s a sensor is 4 K behind, so the bed stands 4 K above when the sensor is there;
  // nothing is lost, so there it stays, and so does the sensor in the end.
  EXPECT_NEAR(result.zones[0].peak_c, 64.0, 0.1);
  EXPECT_NEAR(result.heaters.back().bed_c, 64.0, 0.2);
  // The wait ends a kelvin before the target, by the sensor.
  EXPECT_NEAR(result.wait_s, 400.0 * (60.0 - 1.0 - 23.0) / 200.0 + 8.0, 0.2);
  EXPECT_LT(result.book_residual, 1e-9);
}

TEST(Heaters, WhatIsKeptOfThemIsDutyAndTemperature) {
  const Machine machine = one_head();
  HeatOptions options;
  options.keeps_heaters = true;
  const HeatResult result =
      Log().set(Which::bed, 60).wait(Which::bed).print(3600, 0).run(machine, options);
  ASSERT_FALSE(result.heaters.empty());
  EXPECT_NEAR(result.heaters.front().bed_duty, 1.0, 1e-9);
  EXPECT_NEAR(result.heaters.back().bed_c, 60.0, 0.01);
  double bed_wh = 0.0;
  for (const HeaterSample& sample : result.heaters)
    bed_wh += sample.bed_duty * machine.bed.tile_power_w * sample.duration_s / 3600.0;
  EXPECT_NEAR(bed_wh, result.energy.bed_wh, 1e-9 * bed_wh);
}

TEST(Start, AWarmBedTakesLessAndTheBookCloses) {
  const Machine machine = lossless();
  HeatOptions options;
  options.start_bed_c = 45.0;
  const Log log = Log().set(Which::bed, 60).wait(Which::bed);
  const HeatResult warm = log.run(machine, options);
  EXPECT_NEAR(log.run(machine).energy.bed_wh - warm.energy.bed_wh, 400.0 * (45.0 - 23.0) / 3600.0,
              1e-6);
  EXPECT_LT(warm.book_residual, 1e-9);
}

TEST(Fans, OfAHotHeadStopWhenItIsCold) {
  Machine machine = one_head();
  machine.heads[0].radiating_area_cm2 = 0.0;
  machine.heads[0].still_loss_w_k = 0.05;
  machine.heads[0].fan_loss_w_k = 0.0;
  const Log log = Log().set(Which::head, 215).wait(Which::head).print(1, 0).set(Which::head, 0);
  // From 215, which it is at after a second in its band, to 50 degC in a room of 23, whatever the
  // length of the spans: tau ln(192 / 27).
  const double cooling_s = 14.0 / 0.05 * std::log(192.0 / 27.0);
  const double before_wh = log.run(machine).energy.fans_wh;
  const HeatResult after = Log(log).print(3600, 0).run(machine);
  EXPECT_NEAR((after.energy.fans_wh - before_wh) * 3600.0 / machine.heads[0].fan_w, cooling_s, 1.0);
}

}  // namespace
}  // namespace platetally::heat
