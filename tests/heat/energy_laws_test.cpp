// Watt-hours of prints that can be worked out by hand, and laws that hold of all.
#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <random>

#include "heat/loads.hpp"
#include "heat/power_trace.hpp"
#include "heat/simulate.hpp"
#include "heat/thermal_machine.hpp"
#include "heat/zones.hpp"

namespace platetally::heat {
namespace {

using timeline::HeatEvent;
using timeline::HeatEventKind;
using Which = interpreter::Heater;

HeatEvent span(double duration_s, double volume_mm3 = 0.0, int tool = 0, std::uint32_t layer = 1) {
  HeatEvent event;
  event.duration_s = event.moving_s = duration_s;
  event.volume_mm3 = volume_mm3;
  event.tool = static_cast<std::int16_t>(tool);
  event.layer = layer;
  return event;
}

HeatEvent set(Which heater, double value_c, int tool = 0) {
  HeatEvent event;
  event.kind = HeatEventKind::set_heater;
  event.heater = heater;
  event.value = value_c;
  event.tool = static_cast<std::int16_t>(tool);
  return event;
}

HeatEvent happens(HeatEventKind kind, double value, int tool = -1) {
  HeatEvent event;
  event.kind = kind;
  event.value = value;
  event.tool = static_cast<std::int16_t>(tool);
  return event;
}

HeatOptions warm_bed(double bed_c) {
  HeatOptions options;
  options.start_bed_c = bed_c;
  return options;
}

HeatOptions hot_heads(double head_c) {
  HeatOptions options;
  options.start_head_c = head_c;
  return options;
}

HeatResult run(const Machine& machine, std::vector<HeatEvent> events,
               const HeatOptions& options = {}, std::vector<std::uint64_t> footprint = {}) {
  timeline::HeatLog log;
  log.events = std::move(events);
  log.footprint_by_layer = std::move(footprint);
  return run_heat(machine,
                  std::vector<Material>(machine.tools.size(), *find_embedded_material("PLA")), log,
                  options);
}

/// Nothing but linear losses, so that a held temperature takes G dT.
Machine linear_machine(int heads = 1) {
  Machine machine;
  machine.room_c = 20.0;
  machine.bed.convection_factor = machine.bed.emissivity = 0.0;
  machine.bed.underside_loss_w_m2k = 10.0;
  machine.bed.supply = HeaterSupply::ac;
  machine.bed.width_mm = machine.bed.depth_mm = 200.0;  // 0.04 m2: 0.4 W/K
  machine.heads.assign(static_cast<std::size_t>(heads), Head{});
  machine.tools.assign(static_cast<std::size_t>(heads), Tool{});
  for (int head = 0; head < heads; ++head) {
    machine.heads[static_cast<std::size_t>(head)].emissivity = 0.0;
    machine.heads[static_cast<std::size_t>(head)].still_loss_w_k = 0.02;
    machine.heads[static_cast<std::size_t>(head)].fan_loss_w_k = 0.01;
    machine.heads[static_cast<std::size_t>(head)].part_fan_factor = 3.0;
    machine.tools[static_cast<std::size_t>(head)].head = head;
  }
  return machine;
}

TEST(HeldBed, TakesWhatItLoses) {
  Machine machine = linear_machine();
  const HeatResult result = run(machine, {set(Which::bed, 70.0), span(7200.0)}, warm_bed(70.0));
  // 0.4 W/K times 50 K for two hours.
  EXPECT_NEAR(result.energy.bed_wh, 0.4 * 50.0 * 2.0, 1e-6);
  machine.bed.edge_loss_w_k = 0.05;  // four edges
  EXPECT_NEAR(run(machine, {set(Which::bed, 70.0), span(7200.0)}, warm_bed(70.0)).energy.bed_wh,
              (0.4 + 0.2) * 50.0 * 2.0, 1e-6);
  machine.room_c = 30.0;
  EXPECT_NEAR(run(machine, {set(Which::bed, 70.0), span(7200.0)}, warm_bed(70.0)).energy.bed_wh,
              (0.4 + 0.2) * 40.0 * 2.0, 1e-6);
}

TEST(HeldHead, TakesWhatItLosesWithTheFanOnItOrNot) {
  const Machine machine = linear_machine(2);
  const auto wh_of = [&](double duty, int in_hand) {
    return run(machine,
               {set(Which::head, 220.0, 0), set(Which::head, 220.0, 1),
                happens(HeatEventKind::take_tool, 0.0, in_hand),
                happens(HeatEventKind::set_fan, duty), span(3600.0, 0.0, in_hand)},
               hot_heads(220.0))
        .tools;
  };
  // 0.02 + 0.01 (1 + 3 duty) W/K times 200 K for an hour: of the head in hand.
  for (const double duty : {0.0, 0.25, 1.0})
    for (const int in_hand : {0, 1}) {
      const auto tools = wh_of(duty, in_hand);
      const auto here = static_cast<std::size_t>(in_hand);
      EXPECT_NEAR(tools[here].energy_wh, (0.02 + 0.01 * (1.0 + 3.0 * duty)) * 200.0, 1e-6);
      EXPECT_NEAR(tools[1 - here].energy_wh, 0.03 * 200.0, 1e-6);
    }
}

TEST(HeldHead, MeltsForWhatThePlasticTakes) {
  const Machine machine = linear_machine();
  const Material& pla = *find_embedded_material("PLA");
  const auto hot_ends_wh = [&](double volume_mm3) {
    return run(machine, {set(Which::head, pla.nozzle_c), span(3600.0, volume_mm3)},
               hot_heads(pla.nozzle_c))
        .energy.hot_ends_wh;
  };
  const double grams = 5000.0 / 1000.0 * pla.density_g_cm3;
  EXPECT_NEAR(hot_ends_wh(5000.0) - hot_ends_wh(0.0),
              grams * pla.enthalpy_j_g / 3600.0 * (pla.nozzle_c - machine.room_c) /
                  (pla.nozzle_c - pla.reference_room_c),
              0.02 * grams * pla.enthalpy_j_g / 3600.0);
  EXPECT_NEAR(hot_ends_wh(8000.0) - hot_ends_wh(4000.0), hot_ends_wh(4000.0) - hot_ends_wh(0.0),
              1e-6)
      << "twice the plastic takes twice";
}

TEST(HeldHead, MeltsAtTheCostOfTheHeadInHandAlone) {
  const Machine machine = linear_machine(2);
  const auto tools = [&](double volume_mm3) {
    return run(machine,
               {set(Which::head, 215.0, 0), set(Which::head, 215.0, 1), span(3600.0, volume_mm3)},
               hot_heads(215.0))
        .tools;
  };
  EXPECT_GT(tools(5000.0)[0].energy_wh, tools(0.0)[0].energy_wh + 0.5);
  EXPECT_NEAR(tools(5000.0)[1].energy_wh, tools(0.0)[1].energy_wh, 1e-9);
}

TEST(Enclosure, LosesAsItsDoorStands) {
  for (const bool open : {false, true}) {
    Machine machine = linear_machine();
    machine.enclosure.present = true;
    machine.enclosure.door_open = open;
    machine.enclosure.loss_closed_w_k = 4.0;
    machine.enclosure.loss_open_w_k = 24.0;
    ThermalMachine thermal(machine);
    ASSERT_TRUE(thermal.has_enclosure());
    const int nodes = thermal.network().size();
    Eigen::VectorXd w(nodes);
    const double to_room_w = thermal.network().inflow(
        Eigen::VectorXd::Constant(nodes, machine.room_c + 10.0), Eigen::VectorXd::Zero(nodes), w);
    EXPECT_NEAR(to_room_w, open ? 240.0 : 40.0, 1e-9);
    EXPECT_NEAR(w[thermal.air_node()], -to_room_w, 1e-9) << "all of it through the air";
  }
}

TEST(Enclosure, HeldWarmTakesItsLoss) {
  Machine machine = linear_machine();
  machine.enclosure.present = true;
  machine.enclosure.heater_w = 1000.0;
  machine.enclosure.loss_closed_w_k = 4.0;
  machine.enclosure.waste_heat_share = 0.0;
  machine.enclosure.heat_capacity_j_k = 100.0;
  machine.enclosure.supply = HeaterSupply::ac;
  const auto wh_after = [&](double seconds) {
    return run(machine, {set(Which::enclosure, 50.0), span(seconds)},
               {.start_bed_c = 50.0, .start_head_c = 50.0})
        .energy.enclosure_wh;
  };
  EXPECT_NEAR(wh_after(10800.0) - wh_after(7200.0), 4.0 * 30.0, 1e-3);
  machine.enclosure.door_open = true;
  machine.enclosure.loss_open_w_k = 20.0;
  EXPECT_NEAR(wh_after(10800.0) - wh_after(7200.0), 20.0 * 30.0, 1e-3);
}

/// A print of anything: set points, fans, tools, spans of layers.
std::vector<HeatEvent> any_print(std::mt19937& random, std::size_t count) {
  std::vector<HeatEvent> events{set(Which::bed, 60.0), set(Which::head, 215.0, 0),
                                set(Which::head, 215.0, 1),
                                happens(HeatEventKind::take_tool, 0.0, 0)};
  int tool = 0;
  std::uint32_t layer = 1;
  for (std::size_t i = 0; i < count; ++i)
    switch (random() % 6) {
      case 0:
        tool = 1 - tool;
        events.push_back(happens(HeatEventKind::take_tool, 0.0, tool));
        break;
      case 1:
        events.push_back(happens(HeatEventKind::set_fan, 0.1 * static_cast<double>(random() % 11)));
        break;
      case 2:
        ++layer;
        break;
      default:
        events.push_back(span(1.0 + static_cast<double>(random() % 100),
                              static_cast<double>(random() % 300), tool, layer));
    }
  return events;
}

TEST(EnergyLaws, BooksCloseAndPartsAddUpWhateverIsPrinted) {
  std::mt19937 random(51);
  for (int round = 0; round < 12; ++round) {
    SCOPED_TRACE(round);
    Machine machine;
    machine.heads.resize(2);
    machine.tools.resize(2);
    machine.tools[1].head = 1;
    machine.enclosure.present = round % 2 == 0;
    machine.bed.rows = machine.bed.columns = 1 + round % 3;
    machine.bed.tile_power_w = 250.0 / (machine.bed.rows * machine.bed.columns);
    const HeatResult result = run(machine, any_print(random, 60));
    EXPECT_LT(result.book_residual, 1e-9);
    double layers_wh = 0.0, trace_wh = 0.0, trace_s = 0.0, zones_wh = 0.0, tools_wh = 0.0;
    for (const LayerHeat& layer : result.layers)
      layers_wh += layer.energy.sum_wh();
    for (const PowerSample& sample : result.power) {
      EXPECT_NEAR(sample.start_s, trace_s, 1e-6) << "one behind the other";
      trace_wh += sample.energy.sum_wh();
      trace_s += sample.duration_s;
    }
    for (const ZoneHeat& zone : result.zones)
      zones_wh += zone.energy_wh;
    for (const ToolHeat& tool : result.tools)
      tools_wh += tool.energy_wh;
    EXPECT_NEAR(layers_wh, result.energy.sum_wh(), 1e-9 * layers_wh);
    EXPECT_NEAR(trace_wh, result.energy.sum_wh(), 1e-9 * layers_wh);
    EXPECT_NEAR(trace_s, result.total_s, 1e-6);
    EXPECT_NEAR(zones_wh, result.energy.bed_wh, 1e-9 * layers_wh);
    EXPECT_NEAR(tools_wh, result.energy.hot_ends_wh, 1e-9 * layers_wh);
    EXPECT_NEAR(result.energy.electronics_wh, machine.supply.idle_w * result.total_s / 3600.0,
                1e-9 * layers_wh);
    EXPECT_GE(result.peak_power_w, result.peak_quarter_hour_w - 1e-9);
    EXPECT_LE(result.peak_power_w, result.connected_load_w + 1e-6);
  }
}

TEST(EnergyLaws, ALongerPrintNeverTakesLess) {
  std::mt19937 random(52);
  for (int round = 0; round < 8; ++round) {
    Machine machine;
    machine.heads.resize(2);
    machine.tools.resize(2);
    machine.tools[1].head = 1;
    std::vector<HeatEvent> events = any_print(random, 20);
    double before_wh = 0.0;
    for (int more = 0; more < 5; ++more) {
      const HeatResult result = run(machine, events);
      EXPECT_GE(result.energy.sum_wh(), before_wh);
      before_wh = result.energy.sum_wh();
      events.push_back(span(10.0 + static_cast<double>(random() % 500),
                            static_cast<double>(random() % 200), 0, 40));
    }
  }
}

TEST(EnergyLaws, ASpanInPiecesTakesWhatItTakesWhole) {
  std::mt19937 random(53);
  for (int round = 0; round < 6; ++round) {
    Machine machine;
    const std::vector<HeatEvent> start{set(Which::bed, 60.0), set(Which::head, 215.0)};
    std::vector<HeatEvent> whole = start, pieces = start;
    whole.push_back(span(1200.0, 2400.0));
    double left_s = 1200.0;
    while (left_s > 0.0) {
      const double piece_s = std::min(left_s, 0.5 + static_cast<double>(random() % 40));
      pieces.push_back(span(piece_s, 2.0 * piece_s));
      left_s -= piece_s;
    }
    const HeatResult one = run(machine, whole), many = run(machine, pieces);
    EXPECT_NEAR(many.total_s, one.total_s, 1e-6);
    EXPECT_NEAR(many.energy.sum_wh(), one.energy.sum_wh(), 2e-3 * one.energy.sum_wh());
    EXPECT_NEAR(many.energy.motors_wh, one.energy.motors_wh, 1e-9);
  }
}

TEST(EnergyLaws, AHotterBedAndAColderRoomTakeMore) {
  Machine machine;
  double before_wh = 0.0;
  for (const double bed_c : {0.0, 40.0, 60.0, 80.0, 100.0}) {
    const double wh = run(machine, {set(Which::bed, bed_c), span(3600.0)}).energy.sum_wh();
    EXPECT_GT(wh, before_wh) << bed_c;
    before_wh = wh;
  }
  for (const double room_c : {30.0, 23.0, 10.0, -5.0}) {
    machine.room_c = room_c;
    const double wh = run(machine, {set(Which::bed, 60.0), span(3600.0)}).energy.sum_wh();
    EXPECT_GT(wh, room_c == 30.0 ? 0.0 : before_wh) << room_c;
    before_wh = wh;
  }
}

/// Bits of a 4 by 4 bed seen from another side.
std::uint64_t turned(std::uint64_t tiles, bool mirror_x, bool mirror_y, bool transpose) {
  std::uint64_t other = 0;
  for (unsigned row = 0; row < 4; ++row)
    for (unsigned column = 0; column < 4; ++column)
      if ((tiles >> (4 * row + column)) & 1U) {
        const unsigned r = mirror_y ? 3 - row : row, c = mirror_x ? 3 - column : column;
        other |= std::uint64_t{1} << (transpose ? 4 * c + r : 4 * r + c);
      }
  return other;
}

TEST(Zones, APlateTakesTheSameFromEverySideOfASquareBed) {
  std::mt19937 random(54);
  Machine machine;
  machine.bed.rows = machine.bed.columns = 4;
  machine.bed.width_mm = machine.bed.depth_mm = 360;
  machine.bed.tile_power_w = 27;
  machine.bed.edge_loss_w_k = 0.05;
  machine.bed.zone_policy = ZonePolicy::footprint;
  for (int round = 0; round < 4; ++round) {
    const std::uint64_t tiles = 1 + random() % 65535;
    const auto wh_of = [&](std::uint64_t footprint) {
      return run(machine, {set(Which::bed, 60.0), span(1800.0)}, {}, {footprint, footprint})
          .energy.bed_wh;
    };
    const double wh = wh_of(tiles);
    EXPECT_NEAR(wh_of(turned(tiles, true, false, false)), wh, 1e-6 * wh);
    EXPECT_NEAR(wh_of(turned(tiles, false, true, false)), wh, 1e-6 * wh);
    EXPECT_NEAR(wh_of(turned(tiles, false, false, true)), wh, 1e-6 * wh);
  }
}

TEST(Zones, NeighboursAreTheTilesAStepAway) {
  std::mt19937 random(55);
  for (int round = 0; round < 300; ++round) {
    Bed bed;
    bed.rows = 1 + static_cast<int>(random() % 8);
    bed.columns = 1 + static_cast<int>(random() % 8);
    bed.neighbour_count = std::array{0, 4, 8}[random() % 3];
    const int count = bed.rows * bed.columns;
    const std::uint64_t all = count == 64 ? ~std::uint64_t{0} : (std::uint64_t{1} << count) - 1;
    const auto word = [&random] {
      const std::uint64_t high = random();
      return high << 32 | random();
    };
    const std::uint64_t some = word();
    const std::uint64_t tiles = some & word() & all;
    std::uint64_t expected = 0;
    for (int a = 0; a < count; ++a)
      for (int b = 0; b < count; ++b) {
        const int down = std::abs(a / bed.columns - b / bed.columns);
        const int across = std::abs(a % bed.columns - b % bed.columns);
        const bool is_near = bed.neighbour_count == 8   ? std::max(down, across) == 1
                             : bed.neighbour_count == 4 ? down + across == 1
                                                        : false;
        if (is_near && ((tiles >> a) & 1U) && !((tiles >> b) & 1U))
          expected |= std::uint64_t{1} << b;
      }
    EXPECT_EQ(neighbours_of(tiles, bed), expected);
  }
}

TEST(Zones, ThatFollowTheLayersNeverComeBack) {
  std::mt19937 random(56);
  Bed bed;
  bed.rows = bed.columns = 4;
  bed.zone_policy = ZonePolicy::footprint;
  for (int round = 0; round < 50; ++round) {
    std::vector<std::uint64_t> footprint(1 + random() % 12);
    for (std::uint64_t& tiles : footprint)
      tiles = random() % 65536 & random();
    bed.follow_layers = false;
    const ZonePlanner steady(bed, footprint);
    Bed follows_bed = bed;
    follows_bed.follow_layers = true;
    const ZonePlanner follows(follows_bed, footprint);
    std::uint64_t whole = 0;
    for (const std::uint64_t tiles : footprint)
      whole |= tiles;
    const std::uint64_t expected = whole == 0 ? 65535 : whole;
    std::uint64_t before = 65535;
    for (std::uint32_t layer = 0; layer < footprint.size(); ++layer) {
      EXPECT_EQ(steady.plan(layer).active, expected);
      std::uint64_t still_to_come = 0;
      for (std::size_t later = layer; later < footprint.size(); ++later)
        still_to_come |= footprint[later];
      const std::uint64_t active = follows.plan(layer).active;
      EXPECT_EQ(active, still_to_come == 0 ? 65535 : still_to_come);
      if (still_to_come != 0) {
        EXPECT_EQ(active & ~before, 0U) << "none is heated again";
        before = active;
      }
      EXPECT_EQ(follows.plan(layer).warm & active, 0U);
    }
  }
}

TEST(Loads, EverythingAtOnceIsTheSumAtItsRatedPower) {
  Machine machine;
  machine.bed.tile_power_w = 40.0;
  machine.bed.supply = HeaterSupply::ac;
  machine.heads.assign(2, Head{});
  machine.heads[0].power_w = 50.0;
  machine.heads[1].power_w = 30.0;
  machine.heads[0].fan_w = machine.heads[1].fan_w = 1.5;
  machine.supply = {.idle_w = 10.0,
                    .loss_share = 0.1,
                    .loss_per_w = 0.001,
                    .ac_efficiency = 0.8,
                    .motors_moving_w = 20.0,
                    .motors_holding_w = 25.0,
                    .part_fan_w = 3.0,
                    .auxiliary_fans_w = 4.0};
  // DC: heads 80, the greater of the motors' 25, fans 3 + 4 + 3; AC: 6 tiles.
  const double dc_w = 80.0 + 25.0 + 10.0;
  EXPECT_NEAR(connected_load_w(machine, 6, false), 10.0 + dc_w * (1.1 + 0.001 * dc_w) + 240.0 / 0.8,
              1e-9);
  machine.enclosure.heater_w = 100.0;
  machine.enclosure.supply = HeaterSupply::ac;
  EXPECT_NEAR(connected_load_w(machine, 6, true), 10.0 + dc_w * (1.1 + 0.001 * dc_w) + 340.0 / 0.8,
              1e-9);
  machine.supply.dc_limit_w = 200.0;
  EXPECT_NEAR(connected_load_w(machine, 6, true), 10.0 + dc_w * (1.1 + 0.001 * dc_w) + 340.0 / 0.8,
              1e-9)
      << "heaters of the mains are none of the supply's";
  machine.bed.supply = HeaterSupply::dc;
  const double limited_w = 200.0 + 25.0 + 10.0;
  EXPECT_NEAR(connected_load_w(machine, 6, false), 10.0 + limited_w * (1.1 + 0.001 * limited_w),
              1e-9);
  EXPECT_NEAR(supply_loss_w(machine.supply, 100.0, 40.0), 100.0 * 0.2 + 40.0 * 0.25, 1e-9);
  EXPECT_EQ(supply_loss_w(machine.supply, 0.0, 0.0), 0.0);
}

TEST(PowerTrace, KeepsEveryWattHourHoweverManySamplesCome) {
  std::mt19937 random(57);
  for (const std::size_t count : {10U, 4096U, 4097U, 30'000U}) {
    PowerTrace trace;
    double start_s = 0.0, wh = 0.0, highest_w = 0.0;
    for (std::size_t i = 0; i < count; ++i) {
      PowerSample sample;
      sample.start_s = start_s;
      sample.duration_s = 0.5 + 0.1 * static_cast<double>(random() % 100);
      const double w = static_cast<double>(random() % 500);
      sample.energy.bed_wh = w * sample.duration_s / 3600.0;
      start_s += sample.duration_s;
      wh += sample.energy.bed_wh;
      highest_w = std::max(highest_w, w);
      trace.keep(sample);
    }
    const double quarter_w = trace.peak_quarter_hour_w();
    EXPECT_LE(quarter_w, highest_w + 1e-9);
    EXPECT_GE(quarter_w, wh * 3600.0 / start_s * 0.99) << "no less than the mean of all";
    const std::vector<PowerSample> samples = trace.take();
    EXPECT_LE(samples.size(), 4096U);
    double kept_wh = 0.0, kept_s = 0.0;
    for (const PowerSample& sample : samples) {
      EXPECT_NEAR(sample.start_s, kept_s, 1e-6);
      kept_wh += sample.energy.sum_wh();
      kept_s += sample.duration_s;
    }
    EXPECT_NEAR(kept_wh, wh, 1e-9 * wh);
    EXPECT_NEAR(kept_s, start_s, 1e-6);
  }
}

TEST(RunHeat, ASpanOfNoTimeTakesNothing) {
  const Machine machine;
  const HeatResult result = run(machine, {set(Which::bed, 60.0), span(0.0), span(60.0)});
  const HeatResult without = run(machine, {set(Which::bed, 60.0), span(60.0)});
  EXPECT_NEAR(result.energy.sum_wh(), without.energy.sum_wh(), 1e-9);
  EXPECT_NEAR(run(machine, {span(0.0)}).energy.sum_wh(), 0.0, 1e-12);
}

TEST(RunHeat, WithoutAnythingIsNothing) {
  const HeatResult result = run(Machine{}, {});
  EXPECT_EQ(result.total_s, 0.0);
  EXPECT_EQ(result.energy.sum_wh(), 0.0);
  EXPECT_EQ(result.peak_quarter_hour_w, 0.0);
  EXPECT_GT(result.connected_load_w, 0.0);
  EXPECT_TRUE(result.diagnostics.empty());
}

}  // namespace
}  // namespace platetally::heat
