// Middles and spreads.
#include "meter/calibrate/statistics.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <random>
#include <utility>
#include <vector>

namespace platetally::calibrate {
namespace {

TEST(Statistics, TheMedianIsTheMiddleOrTheMeanOfTheTwoInIt) {
  EXPECT_EQ(median({}), 0.0);
  EXPECT_EQ(median({4.0}), 4.0);
  EXPECT_EQ(median({4.0, 1.0}), 2.5);
  EXPECT_EQ(median({9.0, 1.0, 2.0}), 2.0);
  EXPECT_EQ(median({9.0, 1.0, 2.0, 3.0}), 2.5);
}

// Half-widths of 95 % of Student's t: a table of any textbook on statistics, from memory.
TEST(Statistics, StudentsIntervalIsThatOfTheTablesWithinOnePercent) {
  const std::pair<double, double> table[] = {{5, 2.571},  {6, 2.447},  {8, 2.306},
                                             {10, 2.228}, {15, 2.131}, {20, 2.086},
                                             {30, 2.042}, {60, 2.000}, {120, 1.980}};
  for (const auto& [freedom, t] : table)
    EXPECT_NEAR(half_95_of(freedom), t, 0.01 * t) << freedom;
  EXPECT_NEAR(half_95_of(1e9), kHalf95, 1e-6);
}

TEST(Statistics, TheMedianDistanceTellsTheDeviationOfNormalNoise) {
  std::mt19937 random(3);
  std::normal_distribution<double> noise(0.0, 7.0);
  std::vector<double> distances;
  for (int i = 0; i < 100000; ++i)
    distances.push_back(std::abs(noise(random)));
  // The median of so many is off by 0.4 %: 1.25 / sqrt(n) deviations of the distance.
  EXPECT_NEAR(kDeviationsOfMedian * median(distances), 7.0, 0.1);
}

}  // namespace
}  // namespace platetally::calibrate
