// What logs tell of which entries, where that can be seen by hand.
#include "meter/calibrate/identify.hpp"

#include <gtest/gtest.h>

#include <cmath>

namespace platetally::calibrate {
namespace {

TEST(Shape, OfTwoThatLookAlikeOnlyTheirSumIsTold) {
  // Both move every window alike; a hundred windows of deviation 1 know the sum to a tenth.
  const Eigen::MatrixXd j = Eigen::MatrixXd::Ones(100, 2);
  const Eigen::VectorXd priors = Eigen::VectorXd::Constant(2, 0.5);
  const Shape shape = shape_of(j, priors);
  EXPECT_EQ(shape.rank, 1U);
  // The difference keeps its prior, the sum is known: each keeps half of its prior's variance, and
  // a quarter of what the sum is off by, (1 / (2 / 0.25 + 400)) with both together.
  EXPECT_NEAR(std::pow(shape.deviation[0], 2), 0.5 * 0.25 + 0.5 / (4.0 + 200.0), 1e-12);
}

TEST(Shape, WhatNoWindowShowsKeepsItsPrior) {
  Eigen::MatrixXd j = Eigen::MatrixXd::Zero(10, 2);
  j.col(0).setConstant(100.0);
  const Shape shape = shape_of(j, Eigen::VectorXd::Constant(2, 0.3));
  EXPECT_NEAR(shape.deviation[1], 0.3, 1e-12);
  EXPECT_LT(shape.deviation[0], 0.01);
}

TEST(Shape, AnOffsetTakesAwayWhatLooksLikeIt) {
  // The entry moves the windows as a later beginning does.
  Eigen::MatrixXd j(4, 2);
  j << 1.0, 2.0, -1.0, -2.0, 2.0, 4.0, 0.5, 1.0;
  EXPECT_NEAR(shape_of(j, Eigen::VectorXd::Constant(1, 0.4)).deviation[0], 0.4, 1e-9);
}

TEST(Days, OneLogKnowsAnEntryNoBetterThanTheDaysDifferAndFourLogsTwiceAsWell) {
  const Eigen::MatrixXd sharp = Eigen::MatrixXd::Constant(50, 1, 1000.0);
  const Eigen::VectorXd priors = Eigen::VectorXd::Constant(1, 10.0);
  const double one = covariance_over_days({sharp}, priors, 0.05)(0, 0);
  EXPECT_NEAR(std::sqrt(one), 0.05, 1e-4);
  const double four = covariance_over_days({sharp, sharp, sharp, sharp}, priors, 0.05)(0, 0);
  EXPECT_NEAR(std::sqrt(four), 0.025, 1e-4);
  EXPECT_LT(std::sqrt(covariance_over_days({sharp}, priors, 0.0)(0, 0)), 1e-3);
}

}  // namespace
}  // namespace platetally::calibrate
