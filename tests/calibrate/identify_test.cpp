// How well fitted values are known, where that can be told by hand.
#include "calibrate/identify.hpp"

#include <gtest/gtest.h>

#include <cmath>

namespace platetally::calibrate {
namespace {

/// One row sees entry and offset together, n rows see the offset alone; all are off by one.
Eigen::MatrixXd one_entry_and_an_offset(Eigen::Index n) {
  Eigen::MatrixXd j = Eigen::MatrixXd::Zero(n + 1, 2);
  j(0, 0) = 1.0;
  j.col(1).setOnes();
  return j;
}

TEST(Deviations, OfAnOffsetThatAveragesOut) {
  const Eigen::VectorXd deviation =
      deviations(one_entry_and_an_offset(25), Eigen::VectorXd::Zero(26), Eigen::VectorXd::Zero(1));
  // H = [1 1; 1 26], so the entry's variance is 26/25 and the offset's 1/25.
  EXPECT_NEAR(deviation[0], std::sqrt(26.0 / 25.0), 1e-12);
  EXPECT_NEAR(deviation[1], 0.2, 1e-12);
}

TEST(Deviations, AnOffsetIsKnownNoBetterThanWhatAllItsEdgesMiss) {
  const Eigen::VectorXd deviation = deviations(
      one_entry_and_an_offset(25), Eigen::VectorXd::Zero(26), Eigen::VectorXd::Constant(1, 2.0));
  // Held at a wrong offset, the entry moves by as much the other way.
  EXPECT_NEAR(deviation[0], std::sqrt(1.0 + 2.0 * 2.0), 1e-12);
}

TEST(Deviations, WhatIsMissedLessThanWhatIsKnownAnywayAddsNothing) {
  const Eigen::MatrixXd j = one_entry_and_an_offset(25);
  const Eigen::VectorXd zero = Eigen::VectorXd::Zero(26);
  EXPECT_EQ(deviations(j, zero, Eigen::VectorXd::Constant(1, 0.1)),
            deviations(j, zero, Eigen::VectorXd::Zero(1)));
}

TEST(Identify, DropsOneOfTwoThatLookAlike) {
  Eigen::MatrixXd j(40, 3);
  for (Eigen::Index i = 0; i < j.rows(); ++i) {
    const double t = static_cast<double>(i);
    j.row(i) << 100.0, 50.0 + 1e-6 * t, t;
  }
  const Eigen::VectorXd largest = j.cwiseAbs().colwise().maxCoeff();
  const Identified identified = identify(j, largest, 3);
  EXPECT_EQ(identified.rank, 2U);
  EXPECT_EQ(identified.chosen.size(), 2U);
  EXPECT_EQ(identified.chosen.back(), 2U);
}

}  // namespace
}  // namespace platetally::calibrate
