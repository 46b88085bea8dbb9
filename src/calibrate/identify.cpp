// Deviations: H = J'J with the weights of the loss, meat = sum over windows of psi^2 j j',
// covariance H^-1 meat H^-1 n / (n - p) (the sandwich; White, Econometrica 48, 1980, from memory),
// or H^-1 where that is larger, as few windows see an edge. Edges on command and samples both come
// at even times, so what the samples miss of them is the same for all and does not average out: an
// offset is taken to be known no better than that, and what the others do when it is off is added.
#include "calibrate/identify.hpp"

#include <algorithm>
#include <cmath>

namespace platetally::calibrate {

namespace {

constexpr double kWorstCondition = 300.0;  // assumed
constexpr double kMoves_w = 0.1;           // assumed: what moves nothing by this when it doubles
                                           // is not looked at further
constexpr double kRankTolerance = 1e-4;    // assumed; of the largest singular value
constexpr double kNothing = 1e-12;

struct Shape {
  std::size_t rank = 0;
  double condition = 0.0;
  Eigen::VectorXd deviation;  ///< of log values
};

Shape shape_of(const Eigen::MatrixXd& j) {
  const Eigen::VectorXd norms = j.colwise().norm().cwiseMax(kNothing);
  const Eigen::JacobiSVD<Eigen::MatrixXd> svd(j * norms.cwiseInverse().asDiagonal(),
                                              Eigen::ComputeThinV);
  const Eigen::VectorXd& s = svd.singularValues();
  Shape shape;
  for (Eigen::Index k = 0; k < s.size(); ++k)
    shape.rank += s[k] > s[0] * kRankTolerance;
  shape.condition = s[s.size() - 1] > 0.0 ? s[0] / s[s.size() - 1] : 1e300;
  shape.deviation = (svd.matrixV() * s.cwiseMax(kNothing).cwiseInverse().asDiagonal())
                        .rowwise()
                        .norm()
                        .cwiseQuotient(norms);
  return shape;
}

}  // namespace

Identified identify(const Eigen::MatrixXd& weighed, const Eigen::VectorXd& largest_w,
                    std::size_t parameters) {
  Identified result;
  std::vector<Eigen::Index> offsets;
  for (Eigen::Index k = 0; k < weighed.cols(); ++k) {
    if (k >= static_cast<Eigen::Index>(parameters)) {
      if (largest_w[k] > 0.0)
        offsets.push_back(k);
    } else if (largest_w[k] > kMoves_w) {
      result.chosen.push_back(static_cast<std::size_t>(k));
    }
  }
  for (bool first = true; !result.chosen.empty(); first = false) {
    std::vector<Eigen::Index> columns(result.chosen.begin(), result.chosen.end());
    columns.insert(columns.end(), offsets.begin(), offsets.end());
    const Shape shape = shape_of(weighed(Eigen::all, columns));
    if (first)
      result.rank = shape.rank - std::min(shape.rank, offsets.size());
    Eigen::Index weakest = 0;
    result.worst_deviation =
        shape.deviation.head(static_cast<Eigen::Index>(result.chosen.size())).maxCoeff(&weakest);
    result.condition = shape.condition;
    if (result.worst_deviation < kVague && shape.condition < kWorstCondition)
      break;
    result.chosen.erase(result.chosen.begin() + weakest);
  }
  return result;
}

Eigen::VectorXd deviations(const Eigen::MatrixXd& weighed, const Eigen::VectorXd& residuals,
                           const Eigen::VectorXd& common_s) {
  // Watts by the second and watts by the logarithm differ by orders: only scaled columns invert
  // well.
  const Eigen::VectorXd norms = weighed.colwise().norm().cwiseMax(kNothing);
  const Eigen::MatrixXd j = weighed * norms.cwiseInverse().asDiagonal();
  Eigen::MatrixXd bread = Eigen::MatrixXd::Zero(j.cols(), j.cols());
  Eigen::MatrixXd meat = bread;
  for (Eigen::Index i = 0; i < j.rows(); ++i) {
    const double share = residuals[i] / kLossScale;
    const double root = std::sqrt(1.0 + share * share);
    const double psi = residuals[i] / root;  // of the pseudo-Huber loss
    bread += j.row(i).transpose() * j.row(i) / (root * root * root);
    meat += psi * psi * j.row(i).transpose() * j.row(i);
  }
  const Eigen::MatrixXd inverse = bread.completeOrthogonalDecomposition().pseudoInverse();
  const auto n = static_cast<double>(j.rows());
  const auto p = static_cast<double>(j.cols());
  const Eigen::VectorXd sandwich =
      (inverse * meat * inverse * (n / std::max(n - p, 1.0))).diagonal();
  const Eigen::VectorXd known = sandwich.cwiseMax(inverse.diagonal());
  Eigen::VectorXd variance = known;
  // What the others do when an offset is off by d: -H_oo^-1 h d, with the offset's row and column
  // left out of H. Setting them to the unit's does that.
  const Eigen::Index first = j.cols() - common_s.size();
  for (Eigen::Index e = 0; e < common_s.size(); ++e) {
    const Eigen::Index o = first + e;
    const double lacks = std::pow(common_s[e] * norms[o], 2) - known[o];
    if (lacks <= 0.0)
      continue;
    Eigen::MatrixXd others = bread;
    Eigen::VectorXd pull = bread.col(o);
    others.row(o).setZero();
    others.col(o).setZero();
    others(o, o) = 1.0;
    pull[o] = 0.0;
    variance += lacks * others.completeOrthogonalDecomposition().solve(pull).cwiseAbs2();
  }
  return variance.cwiseSqrt().cwiseQuotient(norms);
}

}  // namespace platetally::calibrate
