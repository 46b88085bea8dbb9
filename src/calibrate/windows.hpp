// The windows of all experiments: what was measured in each, what is predicted, and how the
// prediction moves with the parameters.
#pragma once

#include <Eigen/Dense>
#include <string>
#include <vector>

#include "calibrate/experiment.hpp"

namespace platetally::calibrate {

struct Window {
  std::size_t experiment = 0;
  double from_s = 0.0;  ///< of the log
  double to_s = 0.0;
  double measured_w = 0.0;
};

/// Values of all parameters and offsets, and what the model predicts with them.
struct Standing {
  std::vector<double> logs;       ///< by parameters()
  std::vector<double> offsets_s;  ///< where in its log each experiment begins
  std::vector<meter::PowerSeries> series;
};

class Windows {
 public:
  /// Throws std::invalid_argument for logs that have too little in common with their experiments.
  Windows(const Machine& machine, const std::vector<Material>& materials,
          const std::vector<Experiment>& experiments, const CalibrationOptions& options);

  std::size_t count() const { return windows_.size(); }
  const std::vector<Window>& all() const { return windows_; }
  const std::vector<Experiment>& experiments() const { return experiments_; }
  const std::vector<std::vector<std::string>>& doubts() const { return doubts_; }

  /// The machine as it was given, and the offsets of an alignment.
  const Standing& start() const { return start_; }
  Machine machine_at(const std::vector<double>& logs) const;
  Standing stand_at(std::vector<double> logs, std::vector<double> offsets_s) const;
  /// The same at each of several places, on all cores; in the order given.
  std::vector<Standing> stand_at_each(std::vector<std::vector<double>> logs,
                                      const std::vector<double>& offsets_s) const;

  Eigen::VectorXd predicted_w(const Standing& standing) const;
  /// The same with each experiment beginning by so much later.
  Eigen::VectorXd predicted_w(const Standing& standing, const std::vector<double>& later_s) const;
  /// What a plug would show of it that looks when the logs' plugs did, each experiment beginning
  /// by so much later.
  Eigen::VectorXd sampled_w(const Standing& standing, const std::vector<double>& later_s) const;
  /// The interval of each log's samples times `factor`.
  std::vector<double> intervals_s(double factor) const;
  /// Predicted less measured.
  Eigen::VectorXd residuals_w(const Standing& standing) const;
  /// What a residual may well be: noise of the plug, and edges that it misses.
  Eigen::VectorXd expected_w(const Standing& standing, double noise_w) const;
  /// Columns: the chosen parameters by log value, then the offsets of experiments with edges.
  Eigen::MatrixXd jacobian(const Standing& standing, const std::vector<std::size_t>& chosen) const;

 private:
  double edge_w(const meter::PowerSeries& series, double from_s, double to_s) const;
  void add(std::size_t experiment, double window_s);

  const Machine& machine_;
  const std::vector<Material>& materials_;
  const std::vector<Experiment>& experiments_;
  Standing start_;
  std::vector<Window> windows_;
  std::vector<std::vector<std::string>> doubts_;
};

}  // namespace platetally::calibrate
