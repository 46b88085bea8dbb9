// Experiments by name: what they mean, what the heat model is given of them, and what is refused.
#include "meter/calibrate/experiment.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <ostream>
#include <stdexcept>

#include "support/test_names.hpp"

namespace platetally::calibrate {
namespace {

using Kind = ExperimentName::Kind;
using timeline::HeatEventKind;

Machine machine_named(const char* name) {
  return load_machine(name).machine();
}

std::vector<Material> materials_of(const Machine& machine) {
  return std::vector<Material>(machine.tools.size(), *find_embedded_material("PLA"));
}

TEST(Experiment, NamesAreTakenApart) {
  const Machine changer = machine_named("changer-5");
  EXPECT_EQ(parse_experiment("idle", changer).kind, Kind::idle);
  EXPECT_EQ(parse_experiment("logged", changer).kind, Kind::logged);
  const ExperimentName bed = parse_experiment("bed=60.5", changer);
  EXPECT_EQ(bed.kind, Kind::bed);
  EXPECT_EQ(bed.value, 60.5);
  EXPECT_EQ(bed.zones, 0U) << "all of them";
  const ExperimentName nozzle = parse_experiment("nozzle=215", changer);
  EXPECT_EQ(nozzle.kind, Kind::nozzle);
  EXPECT_EQ(nozzle.value, 215.0);
  EXPECT_EQ(parse_experiment("fan=0.25", changer).value, 0.25);
  const ExperimentName plate = parse_experiment("plate=a=b,zones=1.gcode", changer);
  EXPECT_EQ(plate.kind, Kind::plate);
  EXPECT_EQ(plate.path, "a=b,zones=1.gcode") << "the rest is the path, whatever it holds";
}

TEST(Experiment, ZonesAreBitsByRowAndColumn) {
  const Machine changer = machine_named("changer-5");  // three rows of four
  EXPECT_EQ(parse_experiment("bed=60,zones=0.0", changer).zones, 1U);
  EXPECT_EQ(parse_experiment("bed=60,zones=0.0+0.1", changer).zones, 3U);
  EXPECT_EQ(parse_experiment("bed=60,zones=2.3+1.0", changer).zones, 1U << 11 | 1U << 4);
  EXPECT_EQ(parse_experiment("bed=60,zones=1.2+1.2", changer).zones, 1U << 6);
}

struct Refused {
  const char* text;
  const char* expected;
  friend void PrintTo(const Refused& one, std::ostream* out) { *out << test::readable(one.text); }
};

class RefusedExperiment : public testing::TestWithParam<Refused> {};

constexpr const char* kForms =
    "idle, bed=DEGC, bed=DEGC,zones=0.0+0.1, nozzle=DEGC, fan=0..1, plate=FILE or logged";
constexpr const char* kZones = "zones such as 0.0+0.1 (row.column), rows to 2, columns to 3";

TEST_P(RefusedExperiment, SaysWhatWasExpected) {
  try {
    parse_experiment(GetParam().text, machine_named("changer-5"));
    FAIL() << GetParam().text;
  } catch (const std::invalid_argument& error) {
    EXPECT_EQ(std::string(error.what()),
              std::string("experiment '") + GetParam().text + "': expected " + GetParam().expected);
  }
}

// The changer's bed goes to 120, its nozzles to 290, its room is at 23 degC.
INSTANTIATE_TEST_SUITE_P(
    Names, RefusedExperiment,
    testing::Values(Refused{"", kForms}, Refused{"Idle", kForms}, Refused{"idle=1", kForms},
                    Refused{"bed", kForms}, Refused{"bed=", kForms}, Refused{"bed=60C", kForms},
                    Refused{"bed= 60", kForms}, Refused{"bed=nan", kForms},
                    Refused{"nozzle=215,zones=0.0", kForms}, Refused{"plate=", kForms},
                    Refused{"chamber=50", kForms},
                    Refused{"bed=120.5", "a value above 28, at most 120"},
                    Refused{"bed=28", "a value above 28, at most 120"},
                    Refused{"nozzle=291", "a value above 28, at most 290"},
                    Refused{"fan=0", "a value above 0, at most 1"},
                    Refused{"fan=1.1", "a value above 0, at most 1"},
                    Refused{"bed=60,zones=3.0", kZones}, Refused{"bed=60,zones=0.4", kZones},
                    Refused{"bed=60,zones=-1.0", kZones}, Refused{"bed=60,zones=00", kZones},
                    Refused{"bed=60,zones=+0.0", kZones}),
    [](const auto& one) { return test::numbered(one.index, one.param.text); });

TEST(Experiment, ItsLimitsAreWithin) {
  const Machine changer = machine_named("changer-5");
  ASSERT_EQ(changer.room_c, 23.0);
  EXPECT_NO_THROW(parse_experiment("bed=120", changer));
  EXPECT_NO_THROW(parse_experiment("bed=28.1", changer));
  EXPECT_NO_THROW(parse_experiment("fan=1", changer));
}

TEST(Experiment, TheHeatModelIsGivenASetPointAndATime) {
  const Machine changer = machine_named("changer-5");
  const timeline::HeatLog bed = heat_log_of(parse_experiment("bed=60,zones=0.2", changer), 900.0);
  ASSERT_EQ(bed.events.size(), 2U);
  EXPECT_EQ(bed.events[0].kind, HeatEventKind::set_heater);
  EXPECT_EQ(bed.events[0].heater, interpreter::Heater::bed);
  EXPECT_EQ(bed.events[0].value, 60.0);
  EXPECT_EQ(bed.events[1].kind, HeatEventKind::span);
  EXPECT_EQ(bed.events[1].duration_s, 900.0);
  EXPECT_EQ(bed.footprint_by_layer, (std::vector<std::uint64_t>{4}));
  const timeline::HeatLog nozzle = heat_log_of(parse_experiment("nozzle=200", changer), 60.0);
  EXPECT_EQ(nozzle.events.at(0).heater, interpreter::Heater::head);
  EXPECT_EQ(nozzle.events[0].tool, 0);
  EXPECT_TRUE(nozzle.footprint_by_layer.empty());
  const timeline::HeatLog fan = heat_log_of(parse_experiment("fan=0.5", changer), 60.0);
  EXPECT_EQ(fan.events.at(0).kind, HeatEventKind::set_fan);
  EXPECT_EQ(fan.events[0].value, 0.5);
  EXPECT_EQ(heat_log_of(parse_experiment("idle", changer), 60.0).events.size(), 1U);
}

Course course_of(const Machine& machine, const std::string& name, double seconds) {
  Experiment experiment;
  experiment.heat_log = heat_log_of(parse_experiment(name, machine), seconds);
  return predict(machine, materials_of(machine), experiment);
}

TEST(Predict, AnIdlingMachineDrawsItsElectronics) {
  for (const char* name : {"changer-5", "switcher-4", "single-1"}) {
    const Machine machine = machine_named(name);
    const Course course = course_of(machine, "idle", 600.0);
    EXPECT_NEAR(course.power.end_s, 600.0, 1e-9) << name;
    EXPECT_NEAR(course.energy_wh, machine.supply.idle_w / 6.0, 1e-9) << name;
    EXPECT_EQ(course.power.idle_w, machine.supply.idle_w) << name;
    EXPECT_EQ(course.laying_from_s, 0.0) << name;
  }
}

TEST(Predict, TheFanAloneAddsWhatTheSupplyTakesForIt) {
  const Machine machine = machine_named("single-1");
  const double idle_w = course_of(machine, "idle", 100.0).power.mean_w(0.0, 100.0);
  const double half_w = course_of(machine, "fan=0.5", 100.0).power.mean_w(0.0, 100.0) - idle_w;
  const double full_w = course_of(machine, "fan=1", 100.0).power.mean_w(0.0, 100.0) - idle_w;
  EXPECT_GE(full_w, machine.supply.part_fan_w);
  EXPECT_GT(half_w, 0.0);
  EXPECT_LT(half_w, full_w);
}

TEST(Predict, OnlyZonesThatAreNamedAreHeated) {
  const Machine changer = machine_named("changer-5");
  const double all_wh = course_of(changer, "bed=60", 1800.0).energy_wh;
  const double two_wh = course_of(changer, "bed=60,zones=0.0+2.3", 1800.0).energy_wh;
  const double one_wh = course_of(changer, "bed=60,zones=0.0", 1800.0).energy_wh;
  EXPECT_LT(one_wh, two_wh);
  EXPECT_LT(two_wh, 0.6 * all_wh);
}

TEST(Predict, ARoomOfItsOwnTakesTheMachinesPlace) {
  const Machine machine = machine_named("single-1");
  Experiment experiment;
  experiment.heat_log = heat_log_of(parse_experiment("bed=60", machine), 1800.0);
  const double usual_wh = predict(machine, materials_of(machine), experiment).energy_wh;
  experiment.room_c = machine.room_c + 8.0;
  const double warm_wh = predict(machine, materials_of(machine), experiment).energy_wh;
  experiment.room_c = machine.room_c;
  experiment.start_bed_c = 55.0;
  const double preheated_wh = predict(machine, materials_of(machine), experiment).energy_wh;
  EXPECT_LT(warm_wh, usual_wh);
  EXPECT_LT(preheated_wh, usual_wh);
  Machine placed = machine;
  placed.room_c += 8.0;
  experiment.start_bed_c.reset();
  experiment.room_c.reset();
  EXPECT_DOUBLE_EQ(predict(placed, materials_of(machine), experiment).energy_wh, warm_wh);
}

TEST(Predict, HeatersAreShownOnlyWhereTheLogShowsThem) {
  const Machine machine = machine_named("single-1");
  MeterLog log;
  Experiment experiment;
  experiment.log = &log;
  experiment.heat_log = heat_log_of(parse_experiment("bed=60", machine), 900.0);
  EXPECT_TRUE(predict(machine, materials_of(machine), experiment).heaters[0].w.empty());
  log.heaters.resize(2);
  const Course course = predict(machine, materials_of(machine), experiment);
  for (const meter::PowerSeries& shown : course.heaters) {
    ASSERT_FALSE(shown.w.empty());
    EXPECT_TRUE(std::ranges::is_sorted(shown.start_s));
    EXPECT_NEAR(shown.end_s, 900.0, 1e-6);
  }
  EXPECT_NEAR(course.heaters[0].w.back(), 60.0, 2.0) << "bed";
  EXPECT_NEAR(course.heaters[2].w.back(), machine.room_c, 3.0) << "nozzle";
  EXPECT_EQ(*std::ranges::max_element(course.heaters[3].w), 0.0) << "its duty";
}

}  // namespace
}  // namespace platetally::calibrate
