// Which entries are told, where that can be seen by hand.
#include "meter/calibrate/identify.hpp"

#include <gtest/gtest.h>

#include <cmath>

namespace platetally::calibrate {
namespace {

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
