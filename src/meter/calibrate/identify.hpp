// Which parameters the logs tell, and how well.
#pragma once

#include <Eigen/Dense>
#include <vector>

namespace platetally::calibrate {

/// Of the pseudo-Huber loss, in standard deviations. Assumed.
inline constexpr double kLossScale = 2.5;

/// An entry is told by the logs if they leave less than this of its prior's deviation. Assumed.
inline constexpr double kTold = 0.5;

struct Shape {
  std::size_t rank = 0;       ///< of the logs alone, offsets left out
  double condition = 0.0;     ///< of what is known with the priors, columns scaled to one
  Eigen::VectorXd deviation;  ///< of each parameter's logarithm, with the priors
};

/// `weighed`: the Jacobian of `parameters` by log value and behind them of the offsets, each row
/// over what is expected of its residual; `priors`: the parameters' deviations before.
Shape shape_of(const Eigen::MatrixXd& weighed, const Eigen::VectorXd& priors);

/// Deviations where every log has seen another day's machine: each of its parameters is off by a
/// deviation of `day_spread` from what it is on the whole. `by_log`: rows of the weighed Jacobian
/// that belong to each log.
Eigen::MatrixXd covariance_over_days(const std::vector<Eigen::MatrixXd>& by_log,
                                     const Eigen::VectorXd& priors, double day_spread);

}  // namespace platetally::calibrate
