// Which parameters the logs tell, and how well.
#pragma once

#include <Eigen/Dense>
#include <vector>

namespace platetally::calibrate {

/// A parameter that would be known no better than this (a standard deviation, as a share) is not
/// told by the logs. Assumed.
inline constexpr double kVague = 0.15;

/// Of the pseudo-Huber loss, in standard deviations. Assumed.
inline constexpr double kLossScale = 2.5;

struct Identified {
  std::vector<std::size_t> chosen;
  std::size_t rank = 0;          ///< over all parameters
  double condition = 0.0;        ///< of what was chosen, columns scaled to one
  double worst_deviation = 0.0;  ///< of the chosen, as a share
};

/// `weighed`: the Jacobian of all `parameters` by log value and behind them of the offsets, each
/// row over what is expected of its residual; `largest_w`: the largest watts in each column before
/// that. Drops the weakest parameter until every one left would be known better than kVague (from
/// (J'J)^-1) and the condition of the scaled J is below a bound.
Identified identify(const Eigen::MatrixXd& weighed, const Eigen::VectorXd& largest_w,
                    std::size_t parameters);

}  // namespace platetally::calibrate
