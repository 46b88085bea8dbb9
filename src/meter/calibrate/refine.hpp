// One fit of chosen parameters, from where it stands.
#pragma once

#include <vector>

#include "meter/calibrate/windows.hpp"

namespace platetally::calibrate {

inline constexpr double kFirstNoise_w = 4.0;  ///< of a plug, before anything was fitted; assumed

/// Where the fit stands.
struct Fit {
  Standing standing;
  std::vector<std::size_t> chosen;
  std::vector<double> noise_w;  ///< by stream
  bool converged = false;
};

/// Rows of the chosen parameters' priors below a Jacobian of theirs and of offsets.
Eigen::MatrixXd with_priors(const Eigen::MatrixXd& weighed, const std::vector<std::size_t>& chosen);
/// The same of residuals: how far each is from where it was given, in deviations of its prior.
Eigen::VectorXd with_priors(const Eigen::VectorXd& weighed, const Windows& windows,
                            const Standing& standing, const std::vector<std::size_t>& chosen);

/// Fits the chosen parameters and the offsets from where it stands.
void refine(const Windows& windows, const Groups& groups, bool rough, Fit& fit);

}  // namespace platetally::calibrate
