// The colour that too little purge leaves.
#include "material/swaps/left_over.hpp"

#include <gtest/gtest.h>

#include <cmath>

namespace platetally::swaps {
namespace {

constexpr Rgb kBlack{30, 30, 32};
constexpr Rgb kWhite{240, 240, 236};
constexpr Rgb kRed{186, 26, 32};
constexpr Rgb kYellow{245, 200, 20};

TEST(LeftOver, TheNeedWithoutItsMarginLeavesWhatIsAccepted) {
  const NeedModel model;
  for (const auto& [from, to] :
       {std::pair{kBlack, kWhite}, {kWhite, kBlack}, {kRed, kYellow}, {kYellow, kRed}}) {
    const double just_mm3 = need_mm3(from, to, model) / model.margin;
    EXPECT_NEAR(difference_left_de00(from, to, just_mm3, model), model.tolerance_de00, 1e-6);
    EXPECT_GT(difference_left_de00(from, to, 0.9 * just_mm3, model), model.tolerance_de00);
    EXPECT_LT(difference_left_de00(from, to, just_mm3 * model.margin, model), model.tolerance_de00);
  }
}

TEST(LeftOver, AllOfTheOldColourUpToTheDeadVolume) {
  const NeedModel model;
  EXPECT_EQ(share_left(0.0, model), 1.0);
  EXPECT_EQ(share_left(model.dead_mm3, model), 1.0);
  EXPECT_NEAR(share_left(model.dead_mm3 + model.washout_mm3, model), std::exp(-1.0), 1e-15);
  const double all = delta_e00(lab_of(as_filament(kBlack, {})), lab_of(as_filament(kWhite, {})));
  EXPECT_NEAR(difference_left_de00(kBlack, kWhite, 0.0, model), all, 1e-12);
  EXPECT_EQ(share_left(std::nan(""), model), 0.0);
}

}  // namespace
}  // namespace platetally::swaps
