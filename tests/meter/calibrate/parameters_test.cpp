// The entries that logs may tell: each is one place in the machine and in its file.
#include "meter/calibrate/parameters.hpp"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <set>

#include "meter/calibrate/print_entries.hpp"

namespace platetally::calibrate {
namespace {

const std::vector<std::string> kMachines = {"changer-5", "switcher-4", "single-1"};

TEST(Parameters, HaveKeysOfTheirOwnAndARangeInWhichTheDefaultsLie) {
  std::set<std::string> keys;
  for (const Parameter& parameter : parameters()) {
    EXPECT_TRUE(keys.insert(parameter.key).second) << parameter.key;
    EXPECT_GT(parameter.low, 0.0) << parameter.key << " is fitted by its logarithm";
    EXPECT_LT(parameter.low, parameter.high) << parameter.key;
    EXPECT_GT(parameter.prior, 0.0) << parameter.key;
    EXPECT_FALSE(parameter.settled_by.empty()) << parameter.key;
    EXPECT_EQ(&parameter_named(parameter.key), &parameter);
    for (const std::string& name : kMachines) {
      const Machine machine = load_machine(name).machine();
      if (parameter.applies(machine)) {
        EXPECT_GE(parameter.get(machine), parameter.low) << parameter.key << " of " << name;
        EXPECT_LE(parameter.get(machine), parameter.high) << parameter.key << " of " << name;
      }
    }
  }
}

TEST(Parameters, ChangeOneThingWhichIsReadBackAndCanBeTakenBack) {
  for (const std::string& name : kMachines) {
    const Machine machine = load_machine(name).machine();
    for (const Parameter& parameter : parameters()) {
      Machine changed = machine;
      const double before = parameter.get(machine);
      parameter.set(changed, before + 0.125);
      EXPECT_EQ(parameter.get(changed), before + 0.125) << parameter.key;
      for (const Parameter& other : parameters())
        if (other.key != parameter.key) {
          EXPECT_EQ(other.get(changed), other.get(machine)) << parameter.key << ' ' << other.key;
        }
      parameter.set(changed, before);
      EXPECT_EQ(changed, machine) << parameter.key;
    }
  }
}

TEST(Parameters, AreWhatTheMachineFileCallsThem) {
  // Each value is written under its key's last part, and nothing else in the file changes.
  const Machine machine = load_machine("switcher-4").machine();
  for (const std::size_t k : applicable(machine)) {
    const Parameter& parameter = parameters()[k];
    Machine changed = machine;
    const double value = parameter.low + 0.37 * (std::min(parameter.high, 300.0) - parameter.low);
    parameter.set(changed, value);
    const MachineLoad load = parse_machine(machine_to_toml(changed), "mine.toml");
    ASSERT_TRUE(load.ok()) << parameter.key;
    EXPECT_EQ(parameter.get(load.machine()), value) << parameter.key;
    const std::string name = parameter.key.substr(parameter.key.find('.') + 1);
    EXPECT_NE(machine_to_toml(changed).find("\n" + name + " = "), std::string::npos) << name;
  }
}

TEST(Parameters, BothEndsOfTheirRangesAreMachinesThatLoad) {
  const Machine machine = load_machine("switcher-4").machine();
  for (const std::size_t k : applicable(machine))
    for (const double value : {parameters()[k].low, parameters()[k].high}) {
      Machine changed = machine;
      parameters()[k].set(changed, value);
      EXPECT_TRUE(parse_machine(machine_to_toml(changed), "mine.toml").ok())
          << parameters()[k].key << " = " << value;
    }
}

bool applies(const char* key, const Machine& machine) {
  return parameter_named(key).applies(machine);
}

TEST(Parameters, OfAnEnclosureApplyWhereThereIsOneAndByItsDoor) {
  Machine machine = load_machine("switcher-4").machine();
  EXPECT_TRUE(applies("enclosure.heat_capacity_j_k", machine));
  EXPECT_TRUE(applies("enclosure.loss_closed_w_k", machine));
  EXPECT_FALSE(applies("enclosure.loss_open_w_k", machine));
  machine.enclosure.door_open = true;
  EXPECT_FALSE(applies("enclosure.loss_closed_w_k", machine));
  EXPECT_TRUE(applies("enclosure.loss_open_w_k", machine));
  machine.enclosure.present = false;
  for (const char* key :
       {"enclosure.heat_capacity_j_k", "enclosure.loss_closed_w_k", "enclosure.loss_open_w_k"})
    EXPECT_FALSE(applies(key, machine)) << key;
}

TEST(Parameters, OfWhatTheMachineLacksDoNotApply) {
  Machine machine = load_machine("changer-5").machine();
  EXPECT_TRUE(applies("bed.surface_heat_share", machine));
  machine.bed.depth_nodes = 1;
  EXPECT_FALSE(applies("bed.surface_heat_share", machine));
  EXPECT_FALSE(applies("bed.depth_conductance_w_m2k", machine));
  machine.supply.auxiliary_fans_w = 0.0;
  EXPECT_FALSE(applies("supply.auxiliary_fans_w", machine));
  machine.supply.auxiliary_fans_w = 0.4;
  EXPECT_TRUE(applies("supply.auxiliary_fans_w", machine));
}

TEST(Parameters, ThoseThatApplyAreInTheirOrder) {
  const Machine machine = load_machine("changer-5").machine();
  const std::vector<std::size_t> those = applicable(machine);
  EXPECT_TRUE(std::ranges::is_sorted(those));
  for (std::size_t k = 0; k < parameters().size(); ++k)
    EXPECT_EQ(std::ranges::count(those, k), parameters()[k].applies(machine) ? 1 : 0)
        << parameters()[k].key;
}

std::vector<PrintEntry> all_print_entries(const Machine& machine) {
  std::vector<PrintEntry> all = time_entries(machine, {true, true, true});
  for (auto& more : {energy_entries(machine, nullptr), weight_entries()})
    all.insert(all.end(), more.begin(), more.end());
  return all;
}

TEST(PrintEntries, GoFromValueToCoordinateAndBack) {
  for (const std::string& name : kMachines)
    for (const PrintEntry& entry : all_print_entries(load_machine(name).machine())) {
      for (const double share : {0.0, 0.01, 0.3, 1.0}) {
        const double value = entry.low + share * (entry.high - entry.low);
        EXPECT_NEAR(entry.value(entry.coordinate(value)), value, 1e-12 * entry.high)
            << entry.keys.front();
      }
      // The fit stays inside.
      EXPECT_NEAR(entry.value(entry.coordinate(2.0 * entry.high + 1.0)), entry.high,
                  1e-12 * entry.high);
      EXPECT_NEAR(entry.value(entry.coordinate(entry.low - 1.0)), entry.low, 1e-12 * entry.high);
    }
}

TEST(PrintEntries, AMachineWhereItStandsKeepsEveryDigit) {
  for (const std::string& name : kMachines) {
    const Machine machine = load_machine(name).machine();
    const std::vector<PrintEntry> entries = all_print_entries(machine);
    Eigen::VectorXd x(static_cast<Eigen::Index>(entries.size()));
    for (std::size_t k = 0; k < entries.size(); ++k)
      x[static_cast<Eigen::Index>(k)] = entries[k].coordinate(entries[k].get(machine));
    EXPECT_EQ(machine_at(machine, entries, x), machine) << name;
  }
}

TEST(PrintEntries, EachMovesItsOwnValue) {
  const Machine machine = load_machine("switcher-4").machine();
  const std::vector<PrintEntry> entries = all_print_entries(machine);
  Eigen::VectorXd start(static_cast<Eigen::Index>(entries.size()));
  for (std::size_t k = 0; k < entries.size(); ++k)
    start[static_cast<Eigen::Index>(k)] = entries[k].coordinate(entries[k].get(machine));
  for (std::size_t k = 0; k < entries.size(); ++k) {
    Eigen::VectorXd x = start;
    x[static_cast<Eigen::Index>(k)] += entries[k].by_logarithm ? 0.1 : 0.05;
    const Machine changed = machine_at(machine, entries, x);
    EXPECT_NEAR(entries[k].get(changed), entries[k].value(x[static_cast<Eigen::Index>(k)]), 1e-9)
        << entries[k].keys.front();
    for (std::size_t other = 0; other < entries.size(); ++other)
      if (other != k) {
        EXPECT_NEAR(entries[other].get(changed), entries[other].get(machine), 1e-12)
            << entries[k].keys.front() << ' ' << entries[other].keys.front();
      }
  }
}

TEST(PrintEntries, AxesAllowTheAccelerationsOfMoves) {
  Machine machine = load_machine("changer-5").machine();
  const std::vector<PrintEntry> entries = time_entries(machine, {});
  Eigen::VectorXd x(static_cast<Eigen::Index>(entries.size()));
  for (std::size_t k = 0; k < entries.size(); ++k) {
    x[static_cast<Eigen::Index>(k)] = entries[k].coordinate(entries[k].get(machine));
    if (entries[k].keys.front() == "motion.print_acceleration_mm_s2" ||
        entries[k].keys.front() == "motion.retract_acceleration_mm_s2")
      x[static_cast<Eigen::Index>(k)] = std::log(15000.0);
  }
  const MotionLimits motion = machine_at(machine, entries, x).motion;
  EXPECT_NEAR(motion.acceleration_mm_s2[0], 15000.0, 1e-6);
  EXPECT_NEAR(motion.acceleration_mm_s2[1], 15000.0, 1e-6);
  EXPECT_EQ(motion.acceleration_mm_s2[2], machine.motion.acceleration_mm_s2[2]);
  EXPECT_NEAR(motion.acceleration_mm_s2[3], 15000.0, 1e-6);
}

bool has_key(const std::vector<PrintEntry>& entries, const std::string& key) {
  return std::ranges::any_of(entries, [&](const PrintEntry& entry) {
    return std::ranges::find(entry.keys, key) != entry.keys.end();
  });
}

TEST(PrintEntries, OfTimeAreThoseOfTheCornerModelAndOfWhatThePrintsHold) {
  Machine machine = load_machine("changer-5").machine();
  machine.motion.corner_model = CornerModel::junction_deviation;
  EXPECT_TRUE(has_key(time_entries(machine, {}), "motion.junction_deviation_mm"));
  EXPECT_FALSE(has_key(time_entries(machine, {}), "motion.corner_speed_mm_s"));
  machine.motion.corner_model = CornerModel::speed_step;
  EXPECT_TRUE(has_key(time_entries(machine, {}), "motion.y_corner_step_mm_s"));
  EXPECT_TRUE(has_key(time_entries(machine, {}), "motion.e_corner_step_mm_s"));
  machine.motion.corner_model = CornerModel::corner_speed;
  EXPECT_TRUE(has_key(time_entries(machine, {}), "motion.least_cruise_share"));
  for (const char* key : {"swap.head_change_s", "swap.filament_change_s", "procedures.start_s"})
    EXPECT_FALSE(has_key(time_entries(machine, {}), key)) << key;
  EXPECT_TRUE(has_key(time_entries(machine, {true, false, false}), "swap.head_change_s"));
  EXPECT_TRUE(has_key(time_entries(machine, {false, true, false}), "swap.filament_change_s"));
  EXPECT_TRUE(has_key(time_entries(machine, {false, false, true}), "procedures.start_s"));
  EXPECT_TRUE(has_key(time_entries(machine, {}), "procedures.end_s"));
}

TEST(PrintEntries, AControllerWithACornerSpeedHasOneAccelerationIfItsFileHas) {
  Machine machine = load_machine("switcher-4").machine();
  ASSERT_EQ(machine.motion.corner_model, CornerModel::corner_speed);
  ASSERT_EQ(machine.motion.print_acceleration_mm_s2, machine.motion.travel_acceleration_mm_s2);
  const std::vector<PrintEntry> one = time_entries(machine, {});
  EXPECT_FALSE(has_key(one, "motion.x_acceleration_mm_s2"));
  const auto both = std::ranges::find_if(one, [](const PrintEntry& entry) {
    return entry.keys.front() == "motion.print_acceleration_mm_s2";
  });
  ASSERT_NE(both, one.end());
  EXPECT_EQ(both->keys.size(), 2U);
  Machine changed = machine;
  both->set(changed, 1234.0);
  EXPECT_EQ(changed.motion.travel_acceleration_mm_s2, 1234.0);
  machine.motion.travel_acceleration_mm_s2 += 1.0;
  EXPECT_TRUE(has_key(time_entries(machine, {}), "motion.x_acceleration_mm_s2"));
}

TEST(PrintEntries, WhatIsAlikeIsCorrelatedAlongItsChain) {
  const Machine machine = load_machine("changer-5").machine();
  const std::vector<PrintEntry> entries = time_entries(machine, {});
  const FitProblem problem = problem_of(machine, entries);
  const auto place = [&](const char* key) {
    const auto found = std::ranges::find_if(
        entries, [&](const PrintEntry& entry) { return entry.keys.front() == key; });
    return static_cast<Eigen::Index>(found - entries.begin());
  };
  const Eigen::Index axis = place("motion.x_acceleration_mm_s2");
  const Eigen::Index print = place("motion.print_acceleration_mm_s2");
  const Eigen::Index travel = place("motion.travel_acceleration_mm_s2");
  EXPECT_DOUBLE_EQ(problem.correlation(axis, print), 0.6);
  EXPECT_DOUBLE_EQ(problem.correlation(print, travel), 0.8);
  EXPECT_DOUBLE_EQ(problem.correlation(axis, travel), 0.48);
  EXPECT_EQ(problem.correlation(axis, place("motion.z_speed_mm_s")), 0.0);
  EXPECT_EQ(problem.correlation, problem.correlation.transpose());
  EXPECT_EQ(problem.correlation.diagonal(), Eigen::VectorXd::Ones(problem.correlation.rows()));
  EXPECT_GT(problem.correlation.ldlt().vectorD().minCoeff(), 0.0) << "or it is no correlation";
  for (std::size_t k = 0; k < entries.size(); ++k) {
    const FitEntry& entry = problem.entries[k];
    EXPECT_EQ(entry.start, entries[k].coordinate(entries[k].get(machine)));
    EXPECT_LE(entry.low, entry.start);
    EXPECT_GE(entry.high, entry.start);
    EXPECT_EQ(entry.width, entries[k].width);
  }
}

TEST(PrintEntries, WhatLogsToldIsKnownAsWellAsTheySay) {
  const Machine machine = load_machine("switcher-4").machine();
  CalibrationReport logs;
  FittedParameter idle;
  idle.key = "supply.idle_w";
  idle.low = 10.0;
  idle.high = 12.0;
  FittedParameter vague = idle;
  vague.key = "supply.motors_moving_w";
  vague.low = 0.1;
  vague.high = 1000.0;
  FittedParameter odd = idle;
  odd.key = "heads.fan_w";
  odd.low = 0.0;
  logs.fitted = {idle, vague, odd};
  const std::vector<PrintEntry> before = energy_entries(machine, nullptr);
  const std::vector<PrintEntry> after = energy_entries(machine, &logs);
  ASSERT_EQ(before.size(), after.size());
  for (std::size_t k = 0; k < before.size(); ++k) {
    if (before[k].keys.front() == "supply.idle_w") {
      // 95 of 100 lie between: 2 times 1.96 deviations of the logarithm.
      EXPECT_NEAR(after[k].width, std::log(1.2) / 3.92, 1e-12);
    } else {
      EXPECT_EQ(after[k].width, before[k].width) << before[k].keys.front();
    }
  }
}

TEST(PrintEntries, OfEnergyAreThoseThatTheMachineHas) {
  Machine machine = load_machine("switcher-4").machine();
  EXPECT_TRUE(has_key(energy_entries(machine, nullptr), "enclosure.loss_closed_w_k"));
  EXPECT_TRUE(has_key(energy_entries(machine, nullptr), "supply.auxiliary_fans_w"));
  machine.enclosure.door_open = true;
  EXPECT_TRUE(has_key(energy_entries(machine, nullptr), "enclosure.loss_open_w_k"));
  machine.enclosure.present = false;
  machine.supply.auxiliary_fans_w = 0.0;
  EXPECT_FALSE(has_key(energy_entries(machine, nullptr), "enclosure.loss_open_w_k"));
  EXPECT_FALSE(has_key(energy_entries(machine, nullptr), "enclosure.heat_capacity_j_k"));
  EXPECT_FALSE(has_key(energy_entries(machine, nullptr), "supply.auxiliary_fans_w"));
}

TEST(PrintEntries, SecondsOfAChangeKeepTheShapeOfTheirBand) {
  Machine machine = load_machine("switcher-4").machine();
  machine.swap.filament_change_s = {30.0, 40.0, 60.0};
  const std::vector<PrintEntry> entries = time_entries(machine, {false, true, true});
  const auto entry_of = [&](const char* key) {
    return *std::ranges::find_if(
        entries, [&](const PrintEntry& entry) { return entry.keys.front() == key; });
  };
  entry_of("swap.filament_change_s").set(machine, 80.0);
  EXPECT_EQ(machine.swap.filament_change_s, (Range{60.0, 80.0, 120.0}));
  ASSERT_EQ(machine.procedures.start_s.expected, 0.0);
  entry_of("procedures.start_s").set(machine, 25.0);
  EXPECT_EQ(machine.procedures.start_s, (Range{25.0, 25.0, 25.0})) << "there was no shape to keep";
}

TEST(PrintEntries, AnotherCornerModelBeginsWithWhatIsUsualForIt) {
  const Machine machine = load_machine("single-1").machine();
  ASSERT_EQ(machine.motion.corner_model, CornerModel::speed_step);
  EXPECT_EQ(with_corner_model(machine, CornerModel::speed_step), machine);
  const MotionLimits speed = with_corner_model(machine, CornerModel::corner_speed).motion;
  EXPECT_EQ(speed.corner_model, CornerModel::corner_speed);
  EXPECT_EQ(speed.corner_speed_mm_s, 5.0);  // common practice, no source, as the next
  EXPECT_EQ(speed.least_cruise_share, 0.5);
  EXPECT_EQ(speed.look_ahead_moves, 0);
  Machine junction = with_corner_model(machine, CornerModel::junction_deviation);
  EXPECT_EQ(junction.motion.corner_model, CornerModel::junction_deviation);
  junction.motion.corner_model = machine.motion.corner_model;
  EXPECT_EQ(junction, machine) << "nothing else changes";
}

}  // namespace
}  // namespace platetally::calibrate
