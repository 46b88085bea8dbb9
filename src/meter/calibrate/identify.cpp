// A log e whose residuals have the weighed Jacobian J tells of its own day's values with the
// precision H = J'J, offsets taken out. The values of a day are off from those on the whole by a
// deviation s each, so of the latter it tells with (H^-1 + s^2)^-1 = H (1 + s^2 H)^-1. Precisions
// of logs and of the priors add up.
#include "meter/calibrate/identify.hpp"

#include <algorithm>
#include <cmath>

namespace platetally::calibrate {

namespace {

constexpr double kRankTolerance = 1e-4;  // assumed; of the largest singular value
constexpr double kNothing = 1e-12;

/// J'J of the parameters, with what the offsets may take away taken away.
Eigen::MatrixXd precision_of(const Eigen::MatrixXd& weighed, Eigen::Index parameters) {
  const Eigen::MatrixXd of = weighed.leftCols(parameters);
  Eigen::MatrixXd precision = of.transpose() * of;
  for (Eigen::Index k = parameters; k < weighed.cols(); ++k) {
    const double norm2 = weighed.col(k).squaredNorm();
    if (norm2 <= kNothing)
      continue;
    const Eigen::VectorXd shared = of.transpose() * weighed.col(k);
    precision -= shared * shared.transpose() / norm2;  // each log has one offset of its own
  }
  return precision;
}

}  // namespace

Shape shape_of(const Eigen::MatrixXd& weighed, const Eigen::VectorXd& priors) {
  const Eigen::Index count = priors.size();
  Shape shape;
  const Eigen::MatrixXd told = precision_of(weighed, count);
  // In units of the priors, so that parameters can be compared.
  const Eigen::MatrixXd scaled = priors.asDiagonal() * told * priors.asDiagonal();
  const Eigen::SelfAdjointEigenSolver<Eigen::MatrixXd> parts(scaled);
  const double largest = std::max(parts.eigenvalues().maxCoeff(), kNothing);
  for (Eigen::Index k = 0; k < count; ++k)
    shape.rank += parts.eigenvalues()[k] > std::max(1.0, kRankTolerance * kRankTolerance * largest);
  shape.condition =
      std::sqrt((1.0 + largest) / (1.0 + std::max(0.0, parts.eigenvalues().minCoeff())));
  const Eigen::MatrixXd known = scaled + Eigen::MatrixXd::Identity(count, count);
  shape.deviation = known.inverse().diagonal().cwiseMax(0.0).cwiseSqrt().cwiseProduct(priors);
  return shape;
}

Eigen::MatrixXd covariance_over_days(const std::vector<Eigen::MatrixXd>& by_log,
                                     const Eigen::VectorXd& priors, double day_spread) {
  const Eigen::Index count = priors.size();
  Eigen::MatrixXd known = priors.cwiseAbs2().cwiseInverse().asDiagonal();
  for (const Eigen::MatrixXd& weighed : by_log) {
    const Eigen::SelfAdjointEigenSolver<Eigen::MatrixXd> parts(precision_of(weighed, count));
    const Eigen::VectorXd values = parts.eigenvalues().cwiseMax(0.0).unaryExpr(
        [&](double value) { return value / (1.0 + day_spread * day_spread * value); });
    known += parts.eigenvectors() * values.asDiagonal() * parts.eigenvectors().transpose();
  }
  return known.inverse();
}

}  // namespace platetally::calibrate
