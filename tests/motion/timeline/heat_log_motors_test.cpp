// Which standing seconds turn the motors: they draw more then.
#include <gtest/gtest.h>

#include "motion/timeline/heat_log_builder.hpp"
#include "support/records.hpp"

namespace platetally::timeline {
namespace {

using test::RecordKind;

/// Seconds, and how many of them turn the motors.
std::pair<double, double> seconds_of(const interpreter::Record& timed) {
  Machine machine;
  machine.procedures.homing_s = Range::exactly(15.0);
  machine.procedures.probing_s = Range::exactly(60.0);
  machine.procedures.pause_s = Range::exactly(30.0);
  Durations durations(machine);
  HeatLogBuilder builder(machine);
  builder.take(timed, durations.of(timed), 0.0);
  double all_s = 0.0;
  double moving_s = 0.0;
  for (const HeatEvent& event : builder.finish().events) {
    all_s += event.duration_s;
    moving_s += event.moving_s;
  }
  return {all_s, moving_s};
}

TEST(HeatLogMotors, HomingAndProbingTurnThemAPauseDoesNot) {
  EXPECT_EQ(seconds_of(test::event(RecordKind::home, 0.0)), std::pair(15.0, 15.0));
  EXPECT_EQ(seconds_of(test::event(RecordKind::probe, 0.0)), std::pair(60.0, 60.0));
  EXPECT_EQ(seconds_of(test::event(RecordKind::pause, 0.0)), std::pair(30.0, 0.0));
}

TEST(HeatLogMotors, MovesTurnThemWaitsOfTheFileDoNot) {
  EXPECT_EQ(seconds_of(test::move({0, 0, 0.2}, {5, 0, 0.2}, 0.5, 2.0)), std::pair(2.0, 2.0));
  interpreter::Record dwell = test::event(RecordKind::dwell, 4.0);
  dwell.motion_s = 4.0;
  EXPECT_EQ(seconds_of(dwell), std::pair(4.0, 0.0));
}

}  // namespace
}  // namespace platetally::timeline
