// The span that print logs measure, on plates written by hand.
#include "support.hpp"

namespace platetally {
namespace {

Machine plain_machine() {
  Machine machine;
  machine.motion.print_acceleration_mm_s2 = 1000.0;
  machine.dialect.initial_extrusion = ExtrusionMode::relative;
  machine.procedures.start_s = Range::exactly(40.0);
  machine.procedures.end_s = Range::exactly(4.0);
  return machine;
}

constexpr const char* kBefore =
    "G28\nM140 S60\nM190 S60\nM104 S200\nM109 S200\nG29\nG1 X100 F6000\nG4 S30\n";
// From rest to rest: 100 mm at 100 mm/s and 1000 mm/s2 take 1.1 s.
constexpr const char* kStroke = "G1 X200 E4 F6000\n";

TEST(TimeOfPrint, RunsFromTheFirstExtrusionToTheEnd) {
  const Account account = analyze_bytes(std::string(kBefore) + kStroke, plain_machine());
  EXPECT_NEAR(account.totals.time_of_print.expected, 1.1 + 4.0, 1e-9);
  EXPECT_GT(account.totals.time.expected, 40.0 + 30.0 + 1.1 + 4.0);
}

TEST(TimeOfPrint, LeavesOutWaitsPausesHomingAndProbingWhereverTheyLie) {
  Machine machine = plain_machine();
  machine.procedures.pause_s = Range::exactly(500.0);
  const Account account = analyze_bytes(
      std::string(kBefore) + kStroke + "M0\nG28 X\nG29\nM109 S240\nM190 S80\nG4 P2500\n", machine);
  EXPECT_NEAR(account.totals.time_of_print.expected, 1.1 + 2.5 + 4.0, 1e-9);
}

TEST(TimeOfPrint, IsNothingWhereNothingIsExtruded) {
  const Account account = analyze_bytes("G1 X100 F6000\nG4 S10\n", plain_machine());
  EXPECT_EQ(account.totals.time_of_print.expected, 0.0);
}

TEST(LimitsByKey, SlowThePlateDownAndAreReported) {
  const std::string slow = "SET_PACE VELOCITY=20\n";
  const Account account = analyze_bytes(std::string(kBefore) + slow + kStroke, plain_machine());
  EXPECT_NEAR(account.totals.time_of_print.expected, 100.0 / 20.0 + 0.02 + 4.0, 1e-9);
  EXPECT_TRUE(account.unaccounted.empty());
  ASSERT_EQ(account.limits_read.size(), 1U);
  EXPECT_EQ(account.limits_read[0].word, "SET_PACE");
  EXPECT_EQ(account.limits_read[0].count, 1U);
  EXPECT_EQ(account.limits_read[0].first_line, 9U);
  // Upward too, and over what the axes themselves would give.
  const Account quick = analyze_bytes(
      std::string(kBefore) + "SET_PACE VELOCITY=500 ACCEL=100000\nG1 X200 E4 F30000\n",
      plain_machine());
  EXPECT_NEAR(quick.totals.time_of_print.expected, 100.0 / 500.0 + 500.0 / 1e5 + 4.0, 1e-9);
}

}  // namespace
}  // namespace platetally
