// Laws of a machine's network and its books, each by a machine on which nothing else plays a part.
#include <gtest/gtest.h>

#include "heat/power_trace.hpp"
#include "heat/simulate.hpp"
#include "heat/thermal_machine.hpp"

namespace platetally::heat {
namespace {

using timeline::HeatEvent;
using timeline::HeatEventKind;

HeatEvent span(double duration_s) {
  HeatEvent event;
  event.duration_s = duration_s;
  event.moving_s = duration_s;
  event.layer = 1;
  return event;
}

HeatEvent heater(HeatEventKind kind, interpreter::Heater which, double value = 0.0) {
  HeatEvent event;
  event.kind = kind;
  event.heater = which;
  event.tool = 0;
  event.value = value;
  return event;
}

HeatResult run(const Machine& machine, const std::vector<HeatEvent>& events) {
  timeline::HeatLog log;
  log.events = events;
  return run_heat(machine,
                  std::vector<Material>(machine.tools.size(), *find_embedded_material("PLA")), log);
}

TEST(ThermalMachine, WhereTheSupplyIsShortHeadsComeFirstOrTheBedDoes) {
  for (const bool heads_first : {true, false}) {
    Machine machine;
    machine.supply.heads_before_bed = heads_first;
    ThermalMachine thermal(machine);
    const std::vector<Heater> heaters = thermal.heaters();
    EXPECT_EQ(heaters[thermal.head_heater(0)].rank < heaters[0].rank, heads_first);
    EXPECT_NE(heaters[thermal.head_heater(0)].rank, heaters[0].rank);
  }
}

// A short supply served in that order: the head is hot sooner where it comes first.
TEST(RunHeat, AShortSupplyServesTheHeadsFirstWhereTheMachineDoes) {
  double wait_s[2];
  for (const bool heads_first : {false, true}) {
    Machine machine;
    machine.bed.supply = HeaterSupply::dc;
    machine.supply.heads_before_bed = heads_first;
    machine.supply.dc_limit_w = machine.heads[0].power_w + 20.0;
    wait_s[heads_first] =
        run(machine, {heater(HeatEventKind::set_heater, interpreter::Heater::bed, 60),
                      heater(HeatEventKind::set_heater, interpreter::Heater::head, 215),
                      heater(HeatEventKind::wait_heater, interpreter::Heater::head)})
            .wait_s;
  }
  EXPECT_LT(wait_s[true], 0.8 * wait_s[false]);
}

// Nine tiles 10 K above the room, with no loss but that over edges of 2 W/K: two edges at a corner,
// one at a side, none in the middle.
TEST(ThermalMachine, ACornerTileLosesOverBothItsEdges) {
  Machine machine;
  machine.bed.rows = machine.bed.columns = 3;
  machine.bed.depth_nodes = 1;
  machine.bed.underside_loss_w_m2k = 0.0;
  machine.bed.convection_factor = 0.0;
  machine.bed.emissivity = 0.0;
  machine.bed.edge_loss_w_k = 2.0;
  ThermalMachine thermal(machine);
  const int nodes = thermal.network().size();
  const Eigen::VectorXd t_c = Eigen::VectorXd::Constant(nodes, machine.room_c + 10.0);
  Eigen::VectorXd w(nodes);
  thermal.network().inflow(t_c, Eigen::VectorXd::Zero(nodes), w);
  const double expected_w[9] = {-40, -20, -40, -20, 0, -20, -40, -20, -40};
  for (Eigen::Index tile = 0; tile < 9; ++tile)
    EXPECT_NEAR(w[tile], expected_w[tile], 1e-9) << tile;
}

TEST(RunHeat, ABedThatHasGotThereIsGivenTheTimeThatItsFirmwareWaits) {
  Machine machine;
  const std::vector<HeatEvent> heat_up{
      heater(HeatEventKind::set_heater, interpreter::Heater::bed, 60),
      heater(HeatEventKind::wait_heater, interpreter::Heater::bed)};
  machine.bed.residency_s = 0.0;
  const double there_s = run(machine, heat_up).wait_s;
  machine.bed.residency_s = 90.0;
  EXPECT_NEAR(run(machine, heat_up).wait_s, there_s + 90.0, 1e-9);
  EXPECT_GT(there_s, 10.0);
}

// With no heater on, what enters the enclosure is its share of what motors, fans and electronics
// draw.
TEST(RunHeat, MotorsFansAndElectronicsWarmTheEnclosure) {
  Machine machine;
  machine.enclosure.present = true;
  machine.enclosure.waste_heat_share = 0.5;
  machine.supply.motors_moving_w = 40.0;
  machine.supply.auxiliary_fans_w = 12.0;
  machine.supply.idle_w = 8.0;
  EXPECT_NEAR(run(machine, {span(100.0)}).book_in_j, 0.5 * (40.0 + 12.0 + 8.0) * 100.0, 1e-6);
  machine.supply.auxiliary_fans_w = 0.0;
  EXPECT_NEAR(run(machine, {span(100.0)}).book_in_j, 0.5 * (40.0 + 8.0) * 100.0, 1e-6);
}

PowerSample drawn(double start_s, double duration_s, double w) {
  PowerSample sample;
  sample.start_s = start_s;
  sample.duration_s = duration_s;
  sample.energy.bed_wh = w * duration_s / base::kJoulesPerWattHour;
  return sample;
}

// A quarter of an hour at 100 W in a print that draws nothing else.
TEST(PowerTrace, TheHighestQuarterOfAnHourHasNineHundredSeconds) {
  PowerTrace trace;
  double at_s = 0.0;
  for (const auto& [seconds, w] :
       {std::pair(1000, 0.0), std::pair(900, 100.0), std::pair(1100, 0.0)})
    for (int i = 0; i < seconds; ++i, at_s += 1.0)
      trace.keep(drawn(at_s, 1.0, w));
  EXPECT_NEAR(trace.peak_quarter_hour_w(), 100.0, 1e-9);
}

TEST(PowerTrace, AShorterPrintHasItsMean) {
  PowerTrace trace;
  for (int i = 0; i < 600; ++i)
    trace.keep(drawn(i, 1.0, i < 300 ? 100.0 : 50.0));
  EXPECT_NEAR(trace.peak_quarter_hour_w(), 75.0, 1e-9);
}

}  // namespace
}  // namespace platetally::heat
