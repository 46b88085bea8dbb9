// Which layers stay where layers become thicker.
#include "account/whatif/thin_out.hpp"

#include <gtest/gtest.h>

#include <algorithm>

namespace platetally::whatif {
namespace {

double kept_s(const std::vector<double>& layer_s, double share) {
  const std::vector<bool> stays = layers_that_stay(layer_s, share);
  double sum_s = 0.0;
  for (std::size_t i = 1; i < layer_s.size(); ++i)
    sum_s += stays[i] ? layer_s[i] : 0.0;
  return sum_s;
}

TEST(ThinOut, TheFirstLayerStaysAndEverySecondOfTheOthers) {
  const std::vector<bool> stays = layers_that_stay({900, 10, 10, 10, 10}, 0.5);
  EXPECT_TRUE(stays.front());
  EXPECT_EQ(std::ranges::count(stays, true), 3);
  EXPECT_NE(stays[1], stays[2]);
  EXPECT_NE(stays[3], stays[4]);
}

// Seven layers above the first, as a plate of eight has them: counted from the first, three of them
// fall away, the two longest among them, 47 % of the seconds where a third is meant.
TEST(ThinOut, FewUnlikeLayersTakeAboutTheirShare) {
  const std::vector<double> layer_s{1306, 381, 333, 381, 333, 245, 245, 245};
  double all_s = -layer_s.front();
  for (const double seconds : layer_s)
    all_s += seconds;
  EXPECT_NEAR(kept_s(layer_s, 0.2 / 0.3), 0.2 / 0.3 * all_s, 0.05 * all_s);
}

}  // namespace
}  // namespace platetally::whatif
