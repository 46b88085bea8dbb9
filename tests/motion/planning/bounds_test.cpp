// Which limit holds where several could, and how much a cut settles.
#include <gtest/gtest.h>

#include "motion/planning/support.hpp"

namespace platetally::motion {
namespace {

// Without E the lift of a firmware retraction is a travel: the softer of its acceleration and the
// axis's.
TEST(Planner, TheLiftOfAFirmwareRetractionIsATravel) {
  Machine machine;
  machine.motion.print_acceleration_mm_s2 = 1000.0;
  machine.motion.travel_acceleration_mm_s2 = 200.0;
  machine.motion.speed_mm_s[2] = 10.0;
  machine.motion.acceleration_mm_s2[2] = 500.0;
  machine.procedures.retract_mm = 0.0;
  machine.procedures.retract_lift_mm = 2.0;
  const double lift_s = 2.0 / 10.0 + 10.0 / 200.0;
  const test::Planned planned =
      test::plan(machine, {test::event(test::RecordKind::firmware_retract),
                           test::event(test::RecordKind::firmware_return)});
  EXPECT_NEAR(planned.motion_s(0), lift_s, 1e-12);
  EXPECT_NEAR(planned.motion_s(1), lift_s, 1e-12);
}

// The first move could reach a speed from which only what is not known yet could brake: nothing
// settles by itself.
TEST(LookAhead, ACutSettlesHalfOfWhatIsPending) {
  for (const std::size_t count : {1U, 2U, 7U, 1000U}) {
    LookAhead look_ahead(0);
    test::push(look_ahead, 1e12, 1e9);
    for (std::size_t i = 1; i < count; ++i)
      test::push(look_ahead, 1e12, 1.0);
    const auto nobody = [](std::size_t, std::size_t) {};
    EXPECT_EQ(look_ahead.settle(LookAhead::End::open, nobody), 0U);
    EXPECT_EQ(look_ahead.settle(LookAhead::End::cut, nobody), (count + 1) / 2) << count;
    EXPECT_EQ(look_ahead.cuts(), 1U);
  }
}

}  // namespace
}  // namespace platetally::motion
