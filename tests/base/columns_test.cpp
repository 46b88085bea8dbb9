#include "base/columns.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <numeric>
#include <random>
#include <vector>

namespace platetally::base {
namespace {

TEST(Columns, ExtentAndSumAreThoseOfOneNumberAfterTheOther) {
  std::mt19937_64 random(4);
  std::uniform_real_distribution<double> any(-1e3, 1e3);
  for (std::size_t count = 1; count <= 70; ++count) {
    std::vector<double> column(count);
    for (double& value : column)
      value = any(random);
    const Extent extent = extent_of(column.data(), count);
    EXPECT_EQ(extent.least, *std::min_element(column.begin(), column.end())) << count;
    EXPECT_EQ(extent.most, *std::max_element(column.begin(), column.end())) << count;
    EXPECT_NEAR(sum_of(column.data(), count), std::accumulate(column.begin(), column.end(), 0.0),
                1e-9)
        << count;
  }
  EXPECT_EQ(sum_of(nullptr, 0), 0.0);
}

TEST(Columns, SumsAreOfEveryFourthNumber) {
  // 1 is lost beside 1e17, unless it is in another sum.
  const double column[] = {1e17, 1.0, 0.0, 0.0, -1e17, 1.0, 0.0, 0.0, 0.5};
  EXPECT_EQ(sum_of(column, 9), 2.5);
}

}  // namespace
}  // namespace platetally::base
