#include "meter/calibrate/identify.hpp"

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

}  // namespace platetally::calibrate
