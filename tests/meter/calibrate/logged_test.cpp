// Logs that hold set points: which sessions are worth playing, where they begin, and how.
#include "meter/calibrate/logged.hpp"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <cmath>
#include <limits>

namespace platetally::calibrate {
namespace {

using timeline::HeatEvent;
using timeline::HeatEventKind;

constexpr double kNotKnown = std::numeric_limits<double>::quiet_NaN();

/// A line every ten seconds, all alike until somebody changes them.
MeterLog session(int lines, double bed_target_c, double bed_c, double nozzle_target_c,
                 double nozzle_c) {
  MeterLog log;
  for (int i = 0; i < lines; ++i) {
    HeaterReading reading;
    reading.t_s = 10.0 * i;
    reading.lasts_s = 10.0;
    reading.values.fill(kNotKnown);
    reading.values[kBedTarget] = bed_target_c;
    reading.values[kBedC] = bed_c;
    reading.values[kNozzleTarget] = nozzle_target_c;
    reading.values[kNozzleC] = nozzle_c;
    log.heaters.push_back(reading);
  }
  return log;
}

Machine bench() {
  return load_machine("single-1").machine();
}

std::vector<HeatEvent> set_points(const Experiment& experiment, interpreter::Heater heater) {
  std::vector<HeatEvent> found;
  for (const HeatEvent& event : experiment.heat_log.events)
    if (event.kind == HeatEventKind::set_heater && event.heater == heater)
      found.push_back(event);
  return found;
}

double played_s(const Experiment& experiment) {
  double seconds = 0.0;
  for (const HeatEvent& event : experiment.heat_log.events)
    seconds += event.kind == HeatEventKind::span ? event.duration_s : 0.0;
  return seconds;
}

TEST(Logged, SessionsThatHeatForLessThanThreeMinutesAreNotWorthIt) {
  const std::vector<MeterLog> sessions = {
      session(40, 0.0, 21.0, 0.0, 21.0), session(17, 60.0, 21.0, 0.0, 21.0),
      session(18, 60.0, 21.0, 0.0, 21.0), session(18, 0.0, 21.0, 210.0, 21.0), MeterLog{}};
  const std::vector<Experiment> experiments = logged_experiments(sessions, bench());
  ASSERT_EQ(experiments.size(), 2U);
  EXPECT_EQ(experiments[0].log, &sessions[2]);
  EXPECT_EQ(experiments[1].log, &sessions[3]);
  for (const Experiment& one : experiments) {
    EXPECT_TRUE(one.is_logged);
    EXPECT_FALSE(one.is_plate);
  }
  EXPECT_TRUE(logged_experiments({}, bench()).empty());
}

TEST(Logged, EachBeginsAtItsFirstTemperaturesAndLastsAsLong) {
  std::vector<MeterLog> sessions = {session(60, 60.0, 31.0, 0.0, 28.5)};
  sessions[0].heaters[0].values[kBedC] = kNotKnown;
  sessions[0].heaters[1].values[kBedC] = 33.0;
  const Experiment experiment = logged_experiments(sessions, bench()).at(0);
  EXPECT_EQ(experiment.start_bed_c, 33.0) << "the first that is known";
  EXPECT_EQ(experiment.start_head_c, 28.5);
  EXPECT_NEAR(played_s(experiment), 600.0, 1e-9);
}

TEST(Logged, ARoomIsWhatWasColdAndOffAtTheBeginning) {
  const std::vector<MeterLog> sessions = {session(60, 60.0, 20.5, 0.0, 19.0)};
  EXPECT_EQ(logged_experiments(sessions, bench()).at(0).room_c, 19.0) << "the lower of the two";
}

TEST(Logged, WhereABeginningIsWarmTheRoomIsTheMeanOfTheOthers) {
  const std::vector<MeterLog> sessions = {session(60, 60.0, 18.0, 0.0, 18.0),
                                          session(60, 60.0, 55.0, 210.0, 180.0),
                                          session(60, 60.0, 24.0, 0.0, 24.0)};
  const std::vector<Experiment> experiments = logged_experiments(sessions, bench());
  EXPECT_EQ(experiments.at(0).room_c, 18.0);
  EXPECT_EQ(experiments.at(1).room_c, 21.0);
  EXPECT_EQ(experiments.at(1).start_bed_c, 55.0);
  EXPECT_EQ(experiments.at(2).room_c, 24.0);
}

TEST(Logged, WhereNothingTellsTheRoomItIsTheMachines) {
  const std::vector<MeterLog> sessions = {session(60, 60.0, 55.0, 210.0, 180.0)};
  const Experiment experiment = logged_experiments(sessions, bench()).at(0);
  EXPECT_FALSE(experiment.room_c);
  // Bed and nozzle must agree, and lie below 35 degC.
  EXPECT_FALSE(logged_experiments({session(60, 60.0, 20.0, 0.0, 24.5)}, bench()).at(0).room_c);
  const std::vector<MeterLog> warm = {session(60, 60.0, 35.5, 0.0, 35.5)};
  EXPECT_FALSE(logged_experiments(warm, bench()).at(0).room_c);
}

TEST(Logged, SetPointsArePlayedWhereTheyChange) {
  std::vector<MeterLog> sessions = {session(90, 60.0, 20.0, 0.0, 20.0)};
  for (std::size_t i = 30; i < 90; ++i)
    sessions[0].heaters[i].values[kNozzleTarget] = 210.0;
  for (std::size_t i = 60; i < 90; ++i)
    sessions[0].heaters[i].values[kBedTarget] = i == 70 ? kNotKnown : 0.0;
  const Experiment experiment = logged_experiments(sessions, bench()).at(0);
  const auto bed = set_points(experiment, interpreter::Heater::bed);
  ASSERT_EQ(bed.size(), 2U) << "a gap changes nothing";
  EXPECT_EQ(bed[0].value, 60.0);
  EXPECT_EQ(bed[1].value, 0.0);
  const auto nozzle = set_points(experiment, interpreter::Heater::head);
  ASSERT_EQ(nozzle.size(), 1U);
  EXPECT_EQ(nozzle[0].value, 210.0);
  EXPECT_EQ(nozzle[0].tool, 0);
  EXPECT_NEAR(played_s(experiment), 900.0, 1e-9);
  // Tool, bed at once, 300 s, nozzle, 300 s, bed off, 300 s.
  std::string course;
  for (const HeatEvent& event : experiment.heat_log.events)
    course += event.kind == HeatEventKind::span        ? fmt::format("{:.0f} ", event.duration_s)
              : event.kind == HeatEventKind::take_tool ? "T "
                                                       : "set ";
  EXPECT_EQ(course, "T set 300 set 300 set 300 ");
}

TEST(Logged, LinesThatComeAtOddTimesKeepTheirOwn) {
  std::vector<MeterLog> sessions = {session(40, 60.0, 20.0, 0.0, 20.0)};
  // A silence of half an hour, in which the set point held.
  for (std::size_t i = 20; i < 40; ++i)
    sessions[0].heaters[i].t_s += 1800.0;
  EXPECT_NEAR(played_s(logged_experiments(sessions, bench()).at(0)), 400.0 + 1800.0, 1e-9);
}

/// A nozzle that holds 210 degC for `minutes`, with these duties.
MeterLog holding(const std::vector<double>& duty_by_minute) {
  MeterLog log = session(static_cast<int>(6 * duty_by_minute.size()), 0.0, 21.0, 210.0, 210.0);
  for (std::size_t i = 0; i < log.heaters.size(); ++i)
    log.heaters[i].values[kNozzleDuty] = duty_by_minute[i / 6];
  return log;
}

std::vector<double> fans(const Experiment& experiment) {
  std::vector<double> found;
  for (const HeatEvent& event : experiment.heat_log.events)
    if (event.kind == HeatEventKind::set_fan)
      found.push_back(event.value);
  return found;
}

/// What a nozzle of the machine takes to hold 210 degC above 23 degC, as a share of its power.
double holding_duty(const Machine& machine, double more_w_k = 0.0) {
  const Head& head = machine.heads.front();
  constexpr double kStefanBoltzmann_w_m2k4 = 5.670374419e-8;  // CODATA 2018
  const auto fourth = [](double c) { return std::pow(c + 273.15, 4); };
  const double rays_w = kStefanBoltzmann_w_m2k4 * head.emissivity * head.radiating_area_cm2 * 1e-4 *
                        (fourth(210.0) - fourth(23.0));
  return ((head.still_loss_w_k + head.fan_loss_w_k + more_w_k) * 187.0 + rays_w) / head.power_w;
}

TEST(Logged, ThePartFanFollowsFromTheNozzlesOwnDuty) {
  const Machine machine = bench();
  const Head& head = machine.heads.front();
  const double still = holding_duty(machine);
  const double blown = holding_duty(machine, head.fan_loss_w_k * head.part_fan_factor);
  std::vector<double> minutes(30, still);
  std::fill(minutes.begin() + 15, minutes.end(), blown);
  std::vector<MeterLog> sessions = {holding(minutes)};
  const std::vector<double> found = fans(logged_experiments(sessions, machine).at(0));
  ASSERT_EQ(found.size(), 1U);
  EXPECT_NEAR(found[0], 1.0, 0.02);
  // Half-way between standing still and all that blows.
  std::fill(minutes.begin() + 10, minutes.begin() + 20, 0.5 * (still + blown));
  sessions = {holding(minutes)};
  const std::vector<double> steps = fans(logged_experiments(sessions, machine).at(0));
  ASSERT_EQ(steps.size(), 2U);
  EXPECT_NEAR(steps[0], 0.5, 0.03);
  EXPECT_NEAR(steps[1], 1.0, 0.03);
}

TEST(Logged, ANozzleThatDoesNotHoldSaysNothingOfTheFan) {
  const Machine machine = bench();
  const Head& head = machine.heads.front();
  const double blown = holding_duty(machine, head.fan_loss_w_k * head.part_fan_factor);
  std::vector<MeterLog> sessions = {holding(std::vector<double>(10, blown))};
  EXPECT_EQ(fans(logged_experiments(sessions, machine).at(0)).size(), 1U);
  for (HeaterReading& reading : sessions[0].heaters)
    reading.values[kNozzleC] = 200.0;  // ten kelvin off its target
  EXPECT_TRUE(fans(logged_experiments(sessions, machine).at(0)).empty());
}

TEST(Logged, WithTheNozzleOffTheFanStops) {
  const Machine machine = bench();
  const Head& head = machine.heads.front();
  const double blown = holding_duty(machine, head.fan_loss_w_k * head.part_fan_factor);
  std::vector<MeterLog> sessions = {holding(std::vector<double>(20, blown))};
  for (std::size_t i = 60; i < 120; ++i) {
    sessions[0].heaters[i].values[kNozzleTarget] = 0.0;
    sessions[0].heaters[i].values[kNozzleDuty] = 0.0;
    sessions[0].heaters[i].values[kNozzleC] = 60.0;
  }
  const std::vector<double> found = fans(logged_experiments(sessions, machine).at(0));
  ASSERT_EQ(found.size(), 2U);
  EXPECT_GT(found[0], 0.9);
  EXPECT_EQ(found[1], 0.0);
}

}  // namespace
}  // namespace platetally::calibrate
