// Entries of a machine fitted to a few numbers of which each is a whole print's, with what is known
// beforehand, and each print predicted from the others.
#pragma once

#include <Eigen/Dense>
#include <functional>
#include <vector>

namespace platetally::calibrate {

/// What is known of an entry beforehand, in the coordinate that is fitted (a logarithm, or plain).
struct FitEntry {
  double start = 0.0;  ///< most likely
  double width = 1.0;  ///< standard deviation about it
  double low = 0.0;    ///< the fit stays inside
  double high = 0.0;
  double step = 0.04;  ///< of the chords that slopes are taken from
};

/// One number of one print.
struct Measured {
  double log_value = 0.0;
  double own_deviation = 0.0;  ///< of the logarithm, known beforehand: steps of a clock or a meter
  std::size_t plate = 0;       ///< prints of the same plate are left out together
};

struct FitProblem {
  std::vector<FitEntry> entries;
  Eigen::MatrixXd correlation;  ///< of what is known beforehand; empty: none
  std::vector<Measured> measured;
  double usual_spread = 0.005;  ///< share by which prints differ from the model, beforehand
  double least_spread = 0.005;  ///< the same, at the least
  /// Logarithms of what is predicted, in the order of `measured`.
  std::function<Eigen::VectorXd(const Eigen::VectorXd& x)> log_predicted;
};

struct RobustFit {
  Eigen::VectorXd x;
  Eigen::VectorXd half_95;     ///< of each entry's interval; of one that stays: beforehand
  Eigen::MatrixXd covariance;  ///< of all entries, those that stay too
  double freedom = 1.0;        ///< plates, and what is usual, beyond what was fitted
  std::vector<bool> is_told;   ///< false: nearly nothing is said of it, it stays
  std::vector<bool> at_bound;
  double spread = 0.0;        ///< share by which prints differ from the model
  Eigen::VectorXd before;     ///< log predicted at the start
  Eigen::VectorXd after;      ///< with x
  Eigen::VectorXd left_out;   ///< each plate by a fit to the others
  Eigen::VectorXd weight;     ///< 0 .. 1: how much a print counts
  double log_evidence = 0.0;  ///< to choose between models; of the same prints only
  bool converged = false;
};

/// Plates that what is usual of the spread counts as; assumed.
inline constexpr double kUsualWorth = 3.0;

/// Throws nothing; at least one measured number and one entry.
RobustFit fit_robustly(const FitProblem& problem);

}  // namespace platetally::calibrate
