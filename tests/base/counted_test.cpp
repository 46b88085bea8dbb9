#include "base/counted.hpp"

#include <gtest/gtest.h>

namespace platetally::base {
namespace {

TEST(Counted, OneIsSingular) {
  EXPECT_EQ(counted(1, "layer"), "1 layer");
  EXPECT_EQ(counted(0, "layer"), "0 layers");
  EXPECT_EQ(counted(71, "layer"), "71 layers");
}

TEST(Counted, SeveralMayHaveAWordOfTheirOwn) {
  EXPECT_EQ(counted(1, "entry", "entries"), "1 entry");
  EXPECT_EQ(counted(0, "entry", "entries"), "0 entries");
  EXPECT_EQ(counted(2, "swap is", "swaps are"), "2 swaps are");
}

}  // namespace
}  // namespace platetally::base
