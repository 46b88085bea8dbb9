#include "base/columns.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <random>
#include <vector>

namespace platetally::base {
namespace {

TEST(Columns, ExtentIsThatOfOneNumberAfterTheOther) {
  std::mt19937_64 random(4);
  std::uniform_real_distribution<double> any(-1e3, 1e3);
  for (std::size_t count = 1; count <= 70; ++count) {
    std::vector<double> column(count);
    for (double& value : column)
      value = any(random);
    const Extent extent = extent_of(column.data(), count);
    EXPECT_EQ(extent.least, *std::min_element(column.begin(), column.end())) << count;
    EXPECT_EQ(extent.most, *std::max_element(column.begin(), column.end())) << count;
  }
}

}  // namespace
}  // namespace platetally::base
