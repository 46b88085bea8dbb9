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

TEST(Corner, StraightOnIsUnlimitedInBothModels) {
  const Direction u = heading(31.0);
  EXPECT_TRUE(std::isinf(deviation_square({u, u}, 0.02, 1000.0)));
  EXPECT_TRUE(std::isinf(step_square({u, u}, {0.0, 0.0, 0.0, 0.0})));
}

}  // namespace
}  // namespace platetally::motion
