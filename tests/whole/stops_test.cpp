// When a print waits for a person: pauses and manual changes, worked out by hand.
#include <fmt/format.h>

#include "platetally/account.hpp"
#include "platetally/clock.hpp"
#include "platetally/plate.hpp"
#include "platetally/prices.hpp"
#include "support.hpp"

namespace platetally {
namespace {

Machine one_head() {
  Machine machine = test::embedded("single-1");
  machine.procedures.homing_s = {10.0, 15.0, 25.0};
  machine.procedures.pause_s = {60.0, 120.0, 600.0};
  return machine;
}

/// Dwells are exact, so all that is left is less than a second of motion.
constexpr const char* kThreePauses =
    "G28\nM83\nG1 X10 Y10 Z0.2 F6000\nG1 X11 E0.05 F6000\nG4 S100\nM0\nG4 S200\nM600\n"
    "G1 Z0.4 F600\nG1 X10 E0.05 F6000\nG4 S300\nM1\nM0 S5\nG1 X11 E0.05\n";

// Homing 15 s and what was stood still before; each pause itself takes 120 s.
TEST(Stops, PausesComeAfterWhatTheFileTakesBeforeThem) {
  const Account account = analyze_bytes(kThreePauses, one_head());
  ASSERT_EQ(account.stops.size(), 3U);
  EXPECT_EQ(account.totals.pauses, 3U);
  EXPECT_EQ(account.totals.manual_changes, 0U);
  const double travel_s = account.stops[0].after.expected - 115.0;
  EXPECT_GT(travel_s, 0.0);
  EXPECT_LT(travel_s, 1.0);
  EXPECT_NEAR(account.stops[1].after.expected - account.stops[0].after.expected, 120.0 + 200.0,
              1e-9);
  EXPECT_NEAR(account.stops[2].after.expected - account.stops[1].after.expected, 120.0 + 300.0,
              1.0);
  EXPECT_EQ(account.stops[0].line, 6U);
  EXPECT_EQ(account.stops[1].line, 8U);
  EXPECT_EQ(account.stops[2].line, 12U);
  for (const Stop& stop : account.stops) {
    EXPECT_EQ(stop.what, "pause");
    EXPECT_EQ(stop.layer, 2U);  // what stands between two layers leads to the second
  }
}

// Homing may take 5 s less and 10 s more, the pause before 60 s less and 480 s more; moving may
// take three seconds more, and 1.2 % of less than a second either way.
TEST(Stops, HaveTheBandOfAllThatComesBefore) {
  const Account account = analyze_bytes(kThreePauses, one_head());
  const auto below_s = [&](std::size_t i) {
    return account.stops[i].after.expected - account.stops[i].after.low;
  };
  const auto above_s = [&](std::size_t i) {
    return account.stops[i].after.high - account.stops[i].after.expected;
  };
  EXPECT_NEAR(below_s(0), 5.0 + 1.2, 0.02);
  EXPECT_NEAR(above_s(0), 10.0 + 1.2 + 3.0, 0.02);
  EXPECT_NEAR(below_s(1), 65.0 + 3.6, 0.02);
  EXPECT_NEAR(above_s(1), 490.0 + 3.6 + 3.0, 0.02);
}

// The bed is waited for before the first stop; behind the second one only a later nozzle is.
TEST(Stops, WaitForWhatIsHeatedBeforeThem) {
  const std::string plate =
      "M140 S60\nM104 S200\nM190 S60\n" + std::string(kThreePauses) + "M109 S240\nG1 X20 E0.5\n";
  const Account cold = analyze_bytes(kThreePauses, one_head());
  const Account hot = analyze_bytes(plate, one_head());
  ASSERT_EQ(hot.stops.size(), 3U);
  const double waited_s = hot.stops[0].after.expected - cold.stops[0].after.expected;
  EXPECT_GT(waited_s, 30.0);
  EXPECT_NEAR(hot.stops[2].after.expected - cold.stops[2].after.expected, waited_s, 1e-6);
  EXPECT_GT(hot.totals.time_by.heat_wait_s, waited_s + 1.0);
}

TEST(Stops, AreListedUpToABoundThatIsSaid) {
  std::string plate = "G28\nM83\nG1 X10 Y10 Z0.2 F6000\nG1 X11 E0.05 F6000\n";
  for (int i = 0; i < 10'000; ++i)
    plate += "M600\n";
  const Account account = analyze_bytes(plate + "G1 X12 E0.05\n", one_head());
  EXPECT_EQ(account.totals.pauses, 10'000U);
  EXPECT_EQ(account.stops.size(), kMostStops);
  EXPECT_EQ(account.stops.back().line, 4U + kMostStops);
  const Diagnostic* said = test::find_diagnostic(account, "stops-not-listed");
  ASSERT_NE(said, nullptr);
  EXPECT_NE(said->message.find("10000 times"), std::string::npos) << said->message;
}

constexpr const char* kTwoColours =
    "M104 S200\nG28\nM83\nT0\nG1 X10 Y10 Z0.2 F6000\nG1 X60 E2 F1200\nT1\nG1 X10 E2 F1200\nT0\n"
    "G1 Z0.4 F600\nG1 X60 E2 F1200\n";

// Of a machine that is fed by hand, another number is another filament on its one head.
TEST(Stops, EveryChangeOfFilamentByHandIsOne) {
  const Account account = analyze_bytes(kTwoColours, one_head());
  ASSERT_EQ(account.stops.size(), 2U);
  EXPECT_EQ(account.totals.manual_changes, 2U);
  EXPECT_EQ(account.totals.swaps, 2U);
  EXPECT_EQ(account.tools.size(), 2U);
  EXPECT_TRUE(account.missing_tools.empty());
  EXPECT_EQ(account.stops[0].what, "manual-change");
  EXPECT_EQ(account.stops[0].tool, 1);
  EXPECT_EQ(account.stops[1].tool, 0);
  EXPECT_NEAR(account.stops[1].after.expected - account.stops[0].after.expected, 240.0 + 2.5, 0.5);
  EXPECT_EQ(account.verdict.grade, Grade::look);
  EXPECT_EQ(account.verdict.reasons.front().code, "manual-changes");
}

TEST(Stops, AMachineThatChangesItselfHasNone) {
  Machine machine = one_head();
  machine.tools.push_back(machine.tools.front());
  machine.swap.filament_change_by_hand = false;
  const Account account = analyze_bytes(kTwoColours, machine);
  EXPECT_EQ(account.totals.swaps, 2U);
  EXPECT_TRUE(account.stops.empty());
  machine.tools.pop_back();
  EXPECT_EQ(analyze_bytes(kTwoColours, machine).missing_tools.size(), 1U);
}

// Twice the parts on the plate take the swaps no oftener, and the second comes later.
TEST(Stops, MoveWithTheirLayerInAVariant) {
  AnalyzeOptions options;
  const Account once = analyze_bytes(kTwoColours, one_head(), options);
  options.variant.repeat = 2;
  const Account twice = analyze_bytes(kTwoColours, one_head(), options);
  ASSERT_EQ(twice.stops.size(), 2U);
  EXPECT_GT(twice.stops[1].after.expected, once.stops[1].after.expected);
  EXPECT_LT(twice.stops[1].after.expected, twice.totals.time.expected);
  options.variant = {};
  options.variant.merge = {{1, 0}};
  const Account merged = analyze_bytes(kTwoColours, one_head(), options);
  EXPECT_EQ(merged.totals.swaps, 0U);
  EXPECT_TRUE(merged.stops.empty());
}

}  // namespace
}  // namespace platetally
