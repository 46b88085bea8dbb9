#include "base/give_back.hpp"

#include <gtest/gtest.h>

namespace platetally::base {
namespace {

TEST(GiveBack, LeavesAVectorWithoutMemory) {
  std::vector<int> numbers(1000, 7);
  give_back(numbers);
  EXPECT_TRUE(numbers.empty());
  EXPECT_EQ(numbers.capacity(), 0U);
}

}  // namespace
}  // namespace platetally::base
