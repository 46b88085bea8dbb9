// How far fitted values may be off.
#pragma once

#include <Eigen/Dense>
#include <vector>

#include "meter/calibrate/refine.hpp"

namespace platetally::calibrate {

/// What the fit does when its residuals move: to first order, with the weights of the loss.
/// `weighed` and `residuals` in what is expected of them.
class Response {
 public:
  Response(const Eigen::MatrixXd& weighed, const Eigen::VectorXd& residuals);

  /// By how much all free values move if the residuals' slopes of the loss (psi) were these.
  Eigen::VectorXd moved_by(const Eigen::VectorXd& psi) const;
  /// The inverse Hessian.
  Eigen::MatrixXd covariance() const;
  /// Of each row: how much of its residual the fit takes away.
  Eigen::VectorXd leverage() const;

 private:
  Eigen::VectorXd norms_;
  Eigen::MatrixXd scaled_;
  Eigen::MatrixXd inverse_;  ///< of the scaled Hessian
};

/// d loss / d residual of the pseudo-Huber loss.
double slope_of_loss(double residual);

struct Spread {
  Eigen::VectorXd deviation;  ///< standard deviation of each chosen value, of its logarithm
  Eigen::VectorXd half_95;    ///< within this of the value lie 95 of 100 truths
};

Spread spread_of(const Windows& windows, const Fit& fit);

}  // namespace platetally::calibrate
