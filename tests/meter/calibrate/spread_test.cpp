// How fitted values move with their residuals, where that can be told by hand.
#include "meter/calibrate/spread.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "meter/calibrate/identify.hpp"

namespace platetally::calibrate {
namespace {

/// One row sees entry and offset together, n rows see the offset alone.
Eigen::MatrixXd one_entry_and_an_offset(Eigen::Index n) {
  Eigen::MatrixXd j = Eigen::MatrixXd::Zero(n + 1, 2);
  j(0, 0) = 1.0;
  j.col(1).setOnes();
  return j;
}

TEST(Response, CovarianceIsTheInverseHessian) {
  const Response response(one_entry_and_an_offset(25), Eigen::VectorXd::Zero(26));
  // H = [1 1; 1 26].
  EXPECT_NEAR(response.covariance()(0, 0), 26.0 / 25.0, 1e-12);
  EXPECT_NEAR(response.covariance()(1, 1), 1.0 / 25.0, 1e-12);
  EXPECT_NEAR(response.covariance()(0, 1), -1.0 / 25.0, 1e-12);
}

TEST(Response, MovesAsTheLeastSquaresDo) {
  const Response response(one_entry_and_an_offset(25), Eigen::VectorXd::Zero(26));
  // A residual of 2 in the first row alone is the entry's: it goes back by as much.
  Eigen::VectorXd psi = Eigen::VectorXd::Zero(26);
  psi[0] = 2.0;
  EXPECT_NEAR(response.moved_by(psi)[0], -2.0, 1e-12);
  EXPECT_NEAR(response.moved_by(psi)[1], 0.0, 1e-12);
  // A residual that all share is the offset's.
  psi.setConstant(0.5);
  EXPECT_NEAR(response.moved_by(psi)[0], 0.0, 1e-12);
  EXPECT_NEAR(response.moved_by(psi)[1], -0.5, 1e-12);
}

TEST(Response, LeverageIsWhatARowIsFittedBy) {
  const Response response(one_entry_and_an_offset(25), Eigen::VectorXd::Zero(26));
  EXPECT_NEAR(response.leverage()[0], 1.0, 1e-12);  // the only one that sees the entry
  EXPECT_NEAR(response.leverage()[1], 1.0 / 25.0, 1e-12);
}

TEST(Response, FarResidualsCountForLess) {
  Eigen::VectorXd residuals = Eigen::VectorXd::Zero(2);
  residuals[1] = kLossScale * std::sqrt(3.0);  // its second derivative is an eighth
  const Response response(Eigen::MatrixXd::Ones(2, 1), residuals);
  EXPECT_NEAR(response.covariance()(0, 0), 8.0 / 9.0, 1e-12);
}

TEST(SlopeOfLoss, IsTheResidualNearByAndBoundedFarOff) {
  EXPECT_NEAR(slope_of_loss(0.01), 0.01, 1e-6);
  EXPECT_NEAR(slope_of_loss(-1e9), -kLossScale, 1e-6);
}

}  // namespace
}  // namespace platetally::calibrate
