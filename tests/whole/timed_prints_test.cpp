// Finished prints that were timed, where they are at hand: their files, the seconds from the first
// extrusion to the end, and their machines' limits as the owners configured them. Nothing is
// fitted.
#include "support.hpp"
#include "support/test_names.hpp"

namespace platetally {
namespace {

std::string timed(const std::string& name) {
  const std::string path = std::string(PLATETALLY_SHARED) + "/timed/" + name;
  return std::filesystem::exists(path) ? path : std::string();
}

Machine machine_of(const nlohmann::json& limits) {
  const auto number = [&](const char* key) { return limits.at(key).get<double>(); };
  Machine machine;
  MotionLimits& motion = machine.motion;
  motion.speed_mm_s = {number("speed_mm_s"), number("speed_mm_s"), number("z_speed_mm_s"),
                       number("e_only_speed_mm_s")};
  motion.acceleration_mm_s2 = {1e6, 1e6, number("z_acceleration_mm_s2"), 1e6};
  motion.print_acceleration_mm_s2 = number("acceleration_mm_s2");
  motion.travel_acceleration_mm_s2 = number("acceleration_mm_s2");
  motion.retract_acceleration_mm_s2 = number("e_only_acceleration_mm_s2");
  motion.corner_model = CornerModel::corner_speed;
  motion.corner_speed_mm_s = number("corner_speed_at_90_degrees_mm_s");
  motion.corner_step_mm_s[3] = number("e_corner_step_mm_s");
  motion.least_cruise_share = number("least_cruise_share");
  motion.arc_chord_mm = number("arc_chord_mm");
  return machine;
}

struct Print {
  const char* machine;
  const char* plate;
  double measured_s;
};

class TimedPrint : public testing::TestWithParam<Print> {};

TEST_P(TimedPrint, IsToldToOnePercent) {
  const Print& print = GetParam();
  const std::string path = timed(std::string("plates/") + print.plate + ".gcode.gz");
  if (path.empty())
    GTEST_SKIP() << print.plate << " is not at hand";
  const Machine machine =
      machine_of(nlohmann::json::parse(test::read_text(timed("machines.json"))).at(print.machine));
  const Account account = analyze_file(path, machine);
  EXPECT_NEAR(account.totals.time_of_print.expected, print.measured_s, 0.01 * print.measured_s);
}

// Small plates, so that the test stays quick: limits by M204 alone, limits and corner speeds in
// KEY=VALUE, retraction at every end of a stroke, arcs in chords.
INSTANTIATE_TEST_SUITE_P(
    Plates, TimedPrint,
    testing::Values(Print{"A-B", "a70871a0", 386.8}, Print{"A-B", "245c0a2f", 838.3},
                    Print{"B", "90b26003", 730.9}, Print{"C", "9fa7507c", 955.6},
                    Print{"D", "669bac69", 2593.5}, Print{"F", "cc0a69ad", 1926.9}),
    [](const auto& row) { return test::readable(row.param.plate); });

}  // namespace
}  // namespace platetally
