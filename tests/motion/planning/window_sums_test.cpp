// Sums over a sliding window against adding up each window.
#include "motion/planning/window_sums.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>
#include <random>
#include <vector>

namespace platetally::motion {
namespace {

/// What is left of bounds that are never, sometimes or always above the sums.
void expect_sums(std::size_t width, std::size_t count, double bound, std::uint64_t seed) {
  SCOPED_TRACE(testing::Message() << "width " << width << " count " << count << " bound " << bound);
  std::mt19937_64 random(seed);
  std::uniform_real_distribution<double> exponent(-3.0, 3.0);
  std::vector<double> numbers(count + width - 1);
  for (double& number : numbers)
    number = std::pow(10.0, exponent(random));
  std::vector<double> bounds(count);
  for (double& of : bounds)
    of = bound * std::pow(10.0, exponent(random));
  const std::vector<double> given = bounds;
  WindowSums sums(width);
  sums.bound(bounds, numbers.data());
  for (std::size_t i = 0; i < count; ++i) {
    const auto first = numbers.begin() + static_cast<std::ptrdiff_t>(i);
    const double sum = std::accumulate(first, first + static_cast<std::ptrdiff_t>(width), 0.0);
    const double expected = std::min(given[i], sum);
    // Positive terms in another order: as many roundings as terms, at worst.
    ASSERT_NEAR(bounds[i], expected, 1.2e-16 * static_cast<double>(2 * width) * expected) << i;
    if (given[i] < 0.999 * sum) {
      ASSERT_EQ(bounds[i], given[i]) << i;
    }
  }
}

TEST(WindowSums, AreWhatAddingUpEachWindowGives) {
  constexpr double kNone = std::numeric_limits<double>::infinity();
  for (const std::size_t width :
       {1U, 2U, 3U, 4U, 5U, 15U, 16U, 47U, 63U, 64U, 65U, 99U, 300U, 999U})
    for (const std::size_t count : {1U, 7U, 255U, 256U, 257U, 1000U})
      for (const double bound : {1e-6, 100.0, kNone})
        expect_sums(width, count, bound, width + count);
}

TEST(WindowSums, OneBoundThatIsTooHighIsFoundAmongMany) {
  std::vector<double> numbers(5000 + 199, 1.0);
  std::vector<double> bounds(5000, 64.0);
  bounds[4000] = 300.0;  // only its block is looked at closely
  WindowSums(200).bound(bounds, numbers.data());
  for (std::size_t i = 0; i < bounds.size(); ++i)
    ASSERT_EQ(bounds[i], i == 4000 ? 200.0 : 64.0) << i;
}

TEST(WindowSums, OfNothingAreNothing) {
  std::vector<double> bounds{3.0, 0.0, 1.0};
  WindowSums(0).bound(bounds, nullptr);
  EXPECT_EQ(bounds, (std::vector<double>{0.0, 0.0, 0.0}));
}

}  // namespace
}  // namespace platetally::motion
