// A log often tells a sum: motors and what a hot end loses, say. Slopes say of each part what the
// others leave of it as wide as they are where the fit ended. But watts go with an entry's value,
// not with its logarithm, so another that could be four times as large takes far more from this one
// than its slope says, and the fit that gave the sum to this one is surer of it than the log is.
//
// So each entry is taken away from where the fit ended, step by step, and all others are fitted
// again. It may go as far as twice the loss (with that of the priors) has risen by the square of
// kHalf95: the profile likelihood (any text on likelihood; Venzon and Moolgavkar, Applied
// Statistics 37, 1988, from memory). The model stands in by its slopes in the values themselves:
// entries that changed by exp(d) - 1 move the residuals by that many times their slopes by
// logarithm.
//
// Range: powers and losses, which move watts in proportion; for the others it is as good as slopes.
#include "meter/calibrate/profile.hpp"

#include <algorithm>
#include <cmath>

#include "meter/calibrate/statistics.hpp"

namespace platetally::calibrate {

namespace {

using Eigen::Index;
using Eigen::MatrixXd;
using Eigen::VectorXd;

// Assumed, all of them.
constexpr double kStep = 0.1;      // of a prior's deviation
constexpr double kFarthest = 3.0;  // of a logarithm, that another entry may go
constexpr int kMostIterations = 20;
constexpr double kSettled = 1e-6;   // of the loss
constexpr double kShortest = 1e-3;  // of a step that has to be cut
constexpr double kRidge = 1e-9;     // for offsets that nothing tells

class Landscape {
 public:
  explicit Landscape(const FitEnd& end) : end_(end) {}

  Index entries() const { return end_.prior.size(); }
  Index all() const { return end_.gradient.size(); }

  /// Twice the loss above that of the fit's end.
  double loss(const VectorXd& d) const {
    const VectorXd by = moved_by(d);
    const VectorXd from = (end_.moved + d.head(entries())).cwiseQuotient(end_.prior);
    return 2.0 * end_.gradient.dot(by) + by.dot(end_.hessian * by) + from.squaredNorm() -
           end_.moved.cwiseQuotient(end_.prior).squaredNorm();
  }

  /// Least loss with entry `held` where it is, or all of them free (-1). Moves `d` there.
  double settle(Index held, VectorXd& d) const {
    double here = loss(d);
    for (int i = 0; i < kMostIterations; ++i) {
      const VectorXd way = step_from(held, d);
      double part = 1.0;
      VectorXd there = inside(d + way);
      double next = loss(there);
      while (next > here && part > kShortest) {
        part *= 0.5;
        there = inside(d + part * way);
        next = loss(there);
      }
      if (next >= here - kSettled)
        break;
      here = next;
      d = there;
    }
    return here;
  }

 private:
  VectorXd moved_by(const VectorXd& d) const {
    VectorXd by = d;
    by.head(entries()) = d.head(entries()).array().exp() - 1.0;
    return by;
  }
  VectorXd inside(VectorXd d) const {
    d.head(entries()) = d.head(entries()).cwiseMax(-kFarthest).cwiseMin(kFarthest);
    return d;
  }
  /// Gauss's and Newton's.
  VectorXd step_from(Index held, const VectorXd& d) const {
    VectorXd slope = VectorXd::Ones(all());
    slope.head(entries()) = d.head(entries()).array().exp();
    VectorXd gradient = slope.cwiseProduct(end_.gradient + end_.hessian * moved_by(d));
    MatrixXd hessian = slope.asDiagonal() * end_.hessian * slope.asDiagonal();
    const VectorXd precision = end_.prior.cwiseAbs2().cwiseInverse();
    gradient.head(entries()) += (end_.moved + d.head(entries())).cwiseProduct(precision);
    hessian.diagonal().head(entries()) += precision;
    hessian.diagonal() *= 1.0 + kRidge;
    hessian.diagonal().array() += kRidge;
    if (held >= 0) {
      gradient[held] = 0.0;
      hessian.row(held).setZero();
      hessian.col(held).setZero();
      hessian(held, held) = 1.0;
    }
    return -hessian.ldlt().solve(gradient);
  }

  const FitEnd& end_;
};

/// How far entry k may go that way.
double reach(const Landscape& landscape, const FitEnd& end, Index k, double sign,
             const VectorXd& least_at, double least) {
  constexpr double kMostRise = kHalf95 * kHalf95;
  const double step = kStep * end.prior[k];
  const double farthest = kHalf95 * end.prior[k];
  VectorXd d = least_at;
  const double from = least_at[k];
  double before = least;
  for (double way = step; way < farthest; way += step) {
    d[k] = from + sign * way;
    const double here = landscape.settle(k, d);
    // Roots of the rise are nearly straight.
    const double root_before = std::sqrt(std::max(0.0, before - least));
    const double root = std::sqrt(std::max(0.0, here - least));
    if (here - least > kMostRise)
      return way - step * (root - kHalf95) / std::max(root - root_before, root - kHalf95);
    before = here;
  }
  return farthest;
}

}  // namespace

Profile profile_of(const FitEnd& end) {
  const Landscape landscape(end);
  VectorXd least_at = VectorXd::Zero(landscape.all());
  const double least = landscape.settle(-1, least_at);
  Profile profile{VectorXd(landscape.entries()), VectorXd(landscape.entries())};
  for (Index k = 0; k < landscape.entries(); ++k) {
    profile.down[k] = reach(landscape, end, k, -1.0, least_at, least);
    profile.up[k] = reach(landscape, end, k, 1.0, least_at, least);
  }
  return profile;
}

}  // namespace platetally::calibrate
