#include "motion/planning/corner.hpp"

#include <numbers>
#include <sstream>

#include "motion/planning/support.hpp"

namespace platetally::motion {
namespace {

Direction heading(double degrees) {
  const double angle = degrees * std::numbers::pi / 180.0;
  return {std::cos(angle), std::sin(angle), 0.0, 0.0};
}

TEST(Corner, AgreesWithTheTableOfSpeeds) {
  std::ifstream file(std::string(PLATETALLY_TESTDATA) + "/checks/junction_speed.csv");
  std::string row;
  std::getline(file, row);
  int rows = 0;
  while (std::getline(file, row)) {
    SCOPED_TRACE(row);
    ++rows;
    std::istringstream cells(row);
    std::string cell;
    std::vector<double> value;
    while (std::getline(cells, cell, ','))
      value.push_back(std::stod(cell));
    const Direction before = heading(17.0);
    Direction after = heading(17.0 + value[2]);
    if (value[2] == 180.0)  // cos and sin do not return to the opposite exactly
      after = {-before[0], -before[1], 0.0, 0.0};
    const double v = std::sqrt(deviation_square({before, after}, value[1], value[0]));
    // The table has 12 digits; the turn of 179 degrees loses 1e-16 / 0.0087 in its cosine.
    if (std::isinf(value[5]))
      EXPECT_TRUE(std::isinf(v));
    else
      EXPECT_NEAR(v, value[5], 1e-9 * value[5]);
  }
  EXPECT_EQ(rows, 45);
}

TEST(Corner, StepIsTheLargestSpeedWithinEveryAxisStep) {
  std::mt19937_64 random(3);
  std::uniform_real_distribution<double> uniform(-1.0, 1.0);
  const std::array<double, 4> step{8.0, 6.0, 0.4, 2.5};
  for (int i = 0; i < 500; ++i) {
    std::array<Direction, 2> u{};
    for (Direction& direction : u) {
      const double x = uniform(random), y = uniform(random), z = uniform(random);
      const double length = std::sqrt(x * x + y * y + z * z);
      direction = {x / length, y / length, z / length, 0.1 * uniform(random)};
    }
    const double v = std::sqrt(step_square({u[0], u[1]}, step));
    double fullest = 0.0;
    for (std::size_t k = 0; k < 4; ++k)
      fullest = std::max(fullest, v * std::abs(u[1][k] - u[0][k]) / step[k]);
    EXPECT_NEAR(fullest, 1.0, 1e-14 * 10);  // one axis is at its step, none beyond
  }
}

TEST(Corner, BetweenPathAndFilamentAloneTheCircleStopsAndTheStepsDecide) {
  const Direction path{1.0, 0.0, 0.0, 0.05};
  const Direction back{0.0, 0.0, 0.0, -1.0};
  EXPECT_EQ(deviation_square({path, back, false, true}, 0.02, 1000.0), 0.0);
  EXPECT_EQ(deviation_square({back, path, true, false}, 0.02, 1000.0), 0.0);
  EXPECT_TRUE(std::isinf(deviation_square({back, back, true, true}, 0.02, 1000.0)));
  const Direction forth{0.0, 0.0, 0.0, 1.0};
  EXPECT_EQ(deviation_square({back, forth, true, true}, 0.02, 1000.0), 0.0);
  const double by_filament = 2.5 / 1.05;  // less than the 8 of X
  EXPECT_DOUBLE_EQ(step_square({path, back, false, true}, {8.0, 8.0, 0.4, 2.5}),
                   by_filament * by_filament);
}

/// Legs of 100 mm and more, so that their middles do not matter.
CornerLegs long_legs(double corner_speed_mm_s) {
  return {right_angle_square(corner_speed_mm_s), 1e9};
}

TEST(Corner, ASpeedAtARightAngleIsThatSpeedWhateverTheAcceleration) {
  const Corner right{heading(20.0), heading(110.0)};
  EXPECT_NEAR(std::sqrt(corner_speed_square(right, long_legs(5.0), 1.0)), 5.0, 1e-12);
  // Half the angle: with d = v^2 (sqrt 2 - 1) / a, cos(22.5) / (1 - cos(22.5)) in place of
  // cos(45) / (1 - cos(45)) = sqrt 2 + 1.
  const double cosine = std::cos(std::numbers::pi / 8.0);
  const double wider = 5.0 * std::sqrt((std::sqrt(2.0) - 1.0) * cosine / (1.0 - cosine));
  EXPECT_NEAR(std::sqrt(corner_speed_square({heading(20.0), heading(65.0)}, long_legs(5.0), 1.0)),
              wider, 1e-12);
  EXPECT_NEAR(std::sqrt(corner_speed_square({heading(0.0), heading(180.0)}, long_legs(5.0), 1.0)),
              0.0, 1e-6);
}

TEST(Corner, TheCircleEndsAtTheMiddleOfTheShorterLeg) {
  // At a right angle a circle of radius L / 2 touches both legs of length L at their middles:
  // v^2 = a L / 2 = reach / 4.
  const double reach = 2.0 * 3000.0 * 0.002;
  EXPECT_NEAR(
      corner_speed_square({heading(0.0), heading(90.0)}, {right_angle_square(50.0), reach}, 1.0),
      reach / 4.0, 1e-12);
  // Where the path turns by 10 degrees only, the circle is larger: tan(85) L / 2.
  EXPECT_NEAR(
      corner_speed_square({heading(0.0), heading(10.0)}, {right_angle_square(50.0), reach}, 1.0),
      reach / 4.0 * std::tan(85.0 * std::numbers::pi / 180.0), 1e-9);
}

TEST(Corner, TheFilamentsSpeedJumpsByItsStepAtMost) {
  const Direction lays{1.0, 0.0, 0.0, 0.04};
  const Direction travels{1.0, 0.0, 0.0, 0.0};
  EXPECT_NEAR(std::sqrt(corner_speed_square({lays, travels}, long_legs(5.0), 1.0)), 1.0 / 0.04,
              1e-12);
  EXPECT_EQ(corner_speed_square({lays, travels}, long_legs(5.0), 0.0), 0.0);
  EXPECT_TRUE(std::isinf(corner_speed_square({lays, lays}, long_legs(5.0), 0.0)));
}

TEST(Corner, ByTheCornerSpeedFilamentAloneAlwaysStops) {
  const Direction path{1.0, 0.0, 0.0, 0.05};
  const Direction back{0.0, 0.0, 0.0, -1.0};
  EXPECT_EQ(corner_speed_square({path, back, false, true}, long_legs(5.0), 1.0), 0.0);
  EXPECT_EQ(corner_speed_square({back, path, true, false}, long_legs(5.0), 1.0), 0.0);
  EXPECT_EQ(corner_speed_square({back, back, true, true}, long_legs(5.0), 1.0), 0.0);
}

TEST(Corner, StraightOnIsUnlimitedInBothModels) {
  const Direction u = heading(31.0);
  EXPECT_TRUE(std::isinf(deviation_square({u, u}, 0.02, 1000.0)));
  EXPECT_TRUE(std::isinf(step_square({u, u}, {0.0, 0.0, 0.0, 0.0})));
}

}  // namespace
}  // namespace platetally::motion
