// How far an entry may go, where that can be told by hand.
#include "meter/calibrate/profile.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "meter/calibrate/statistics.hpp"

namespace platetally::calibrate {
namespace {

/// Entries that draw these watts, of which the logs tell the sum to `noise_w`; a second row tells
/// an offset alone.
FitEnd sum_of(const Eigen::VectorXd& watts, const Eigen::VectorXd& priors,
              const Eigen::VectorXd& moved, double noise_w) {
  Eigen::MatrixXd j = Eigen::MatrixXd::Zero(2, watts.size() + 1);
  j.row(0).head(watts.size()) = watts.transpose() / noise_w;
  j(1, watts.size()) = 1.0;
  // Where the fit ended, the logs pull as the priors do.
  Eigen::VectorXd gradient = Eigen::VectorXd::Zero(watts.size() + 1);
  gradient.head(watts.size()) = -moved.cwiseQuotient(priors.cwiseAbs2());
  return {j.transpose() * j, gradient, priors, moved};
}

TEST(Profile, OfOneEntryThatIsToldWellIsTheUsualInterval) {
  const Profile profile =
      profile_of(sum_of(Eigen::VectorXd::Constant(1, 10.0), Eigen::VectorXd::Constant(1, 0.5),
                        Eigen::VectorXd::Zero(1), 0.1));
  // 1 % of noise: exp(d) - 1 is d within 1 %, the prior takes 0.02 % and steps of a tenth of it,
  // between which the rise is taken to be straight, 4 %.
  EXPECT_NEAR(profile.down[0], kHalf95 * 0.01, 0.05 * kHalf95 * 0.01);
  EXPECT_NEAR(profile.up[0], kHalf95 * 0.01, 0.05 * kHalf95 * 0.01);
}

TEST(Profile, OfAnEntryThatNothingTellsIsThePriors) {
  const Profile profile = profile_of(
      sum_of(Eigen::Vector2d(10.0, 0.0), Eigen::Vector2d(0.5, 0.3), Eigen::Vector2d::Zero(), 0.1));
  EXPECT_NEAR(profile.down[1], kHalf95 * 0.3, 1e-6);
  EXPECT_NEAR(profile.up[1], kHalf95 * 0.3, 1e-6);
}

// 20 W of one entry and 2 W of another, known in sum: by slopes at the end the first is known to
// 2 W * 1 / 20 W, a deviation of a tenth. But the second may well be six times as large.
TEST(Profile, ReachesAsFarAsOthersCanMakeUpForIt) {
  const Eigen::Vector2d watts(20.0, 2.0), priors(0.5, 1.0);
  const Profile profile = profile_of(sum_of(watts, priors, Eigen::Vector2d::Zero(), 0.05));
  EXPECT_GT(profile.down[0], 2.0 * kHalf95 * 0.1);
  // There, what is missing of the first is made up for by the second, and twice the loss of the
  // priors is what 95 % allow.
  const double missing_w = watts[0] * (1.0 - std::exp(-profile.down[0]));
  const double second = std::log1p(missing_w / watts[1]);
  EXPECT_NEAR(std::pow(profile.down[0] / priors[0], 2) + second * second, kHalf95 * kHalf95, 0.1);
  // Upwards the second can give 2 W at the most.
  EXPECT_LT(profile.up[0], std::log(1.1) + 0.01);
}

}  // namespace
}  // namespace platetally::calibrate
