// The windows of all experiments: what was measured in each, what is predicted, and how the
// prediction moves with the parameters.
#pragma once

#include <Eigen/Dense>
#include <string>
#include <vector>

#include "meter/calibrate/cycles.hpp"
#include "meter/calibrate/experiment.hpp"

namespace platetally::calibrate {

/// What a log shows: watts, or one of kShown. Everything is compared in watts: a duty times the
/// heater's power as the machine was given, a kelvin as a share of it.
struct Stream {
  std::size_t experiment = 0;
  std::size_t shown = kShown.size();  ///< index into kShown; its size: the plug's watts
  double watts_each = 1.0;            ///< of the unit that is shown

  bool is_power() const { return shown == kShown.size(); }
};

struct Window {
  std::size_t stream = 0;
  double from_s = 0.0;  ///< of the log
  double to_s = 0.0;
  double measured_w = 0.0;
  double cycle_w = 0.0;   ///< what a thermostat adds to its noise, where it is shorter than cycles
  bool is_total = false;  ///< all of the log against all of the experiment
};

/// Windows as they are compared: each for itself, but those beside the edge of a heater as one, as
/// what a plug misses of an edge in one window it shows in the next.
struct Groups {
  std::vector<std::size_t> first;  ///< window of each group, in order; at the end one behind all
  std::vector<bool> is_edge;
  std::vector<std::size_t> stream;
  std::vector<bool> is_total;
  Eigen::VectorXd expected_w;  ///< what the mean residual of a group may well be

  std::size_t count() const { return is_edge.size(); }
  /// Of a row of groups with priors behind them: totals and priors are no samples of a plug, so
  /// they count in full however far off, and their noise is what is expected of them.
  bool is_exact(Eigen::Index row) const {
    const auto i = static_cast<std::size_t>(row);
    return i >= count() || is_total[i];
  }
  /// Means over each group over what is expected of it; columns of something by window.
  Eigen::MatrixXd weighed(const Eigen::MatrixXd& by_window) const;
};

/// Values of all parameters and offsets, and what the model predicts with them.
struct Standing {
  std::vector<double> logs;       ///< by parameters()
  std::vector<double> offsets_s;  ///< where in its log each experiment begins
  std::vector<Course> courses;
};

class Windows {
 public:
  /// `shape`: what is predicted, for where windows are short and where long, and where experiments
  /// lie in their logs; null: what the machine as it was given predicts. Throws
  /// std::invalid_argument for logs that have too little in common with their experiments.
  Windows(const Machine& machine, const std::vector<Material>& materials,
          const std::vector<Experiment>& experiments, const CalibrationOptions& options,
          const Standing* shape = nullptr);

  /// The same windows with other watts measured.
  Windows with_measured(const Eigen::VectorXd& measured_w) const;

  std::size_t count() const { return windows_.size(); }
  const std::vector<Window>& all() const { return windows_; }
  const std::vector<Stream>& streams() const { return streams_; }
  const Experiment& experiment_of(const Window& window) const {
    return experiments_[streams_[window.stream].experiment];
  }
  const std::vector<Experiment>& experiments() const { return experiments_; }
  const std::vector<std::vector<std::string>>& doubts() const { return doubts_; }
  /// Whether its beginning in the log is looked for.
  bool has_offset(std::size_t experiment) const;

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
  /// What is expected: noise of the streams, and edges that a plug misses.
  Groups groups(const Standing& standing, const std::vector<double>& noise_w) const;
  /// Columns: the chosen parameters by log value, then the offsets of experiments with edges.
  /// Slopes are those of chords over `steps` of each logarithm to either side, or narrow ones.
  Eigen::MatrixXd jacobian(const Standing& standing, const std::vector<std::size_t>& chosen,
                           const Eigen::VectorXd& steps) const;
  Eigen::MatrixXd jacobian(const Standing& standing, const std::vector<std::size_t>& chosen) const {
    return jacobian(standing, chosen,
                    Eigen::VectorXd::Constant(static_cast<Eigen::Index>(chosen.size()), kStep));
  }

  /// Wide enough that a fan which goes off at a temperature, and so at the end of some step of the
  /// model, is met by both ends of a chord or none.
  static constexpr double kStep = 1.5e-2;

 private:
  double edge_w(const meter::PowerSeries& series, double from_s, double to_s) const;
  void add(std::size_t experiment, double window_s);
  void find_place(std::size_t experiment);
  void add_power(std::size_t experiment, double window_s);
  void add_total(std::size_t stream, double begin_s, double end_s);
  void add_heaters(std::size_t experiment);
  double course_s(const Course& course, std::size_t experiment, double offset_s, double t_s) const;
  double predicted_w(const Window& window, const Standing& standing, double later_s) const;
  bool is_whole(std::size_t experiment) const { return stretch_[experiment] > 0.0; }

  const Machine& machine_;
  const std::vector<Material>& materials_;
  const std::vector<Experiment>& experiments_;
  Standing start_;
  std::vector<Course> shape_;  ///< by experiment
  std::vector<Stream> streams_;
  std::vector<Window> windows_;
  /// Seconds of the log for each second of laying, where print and log are of one length; else 0.
  std::vector<double> stretch_;
  std::vector<double> ends_s_;  ///< of such prints, in their logs
  std::vector<std::vector<std::string>> doubts_;
};

}  // namespace platetally::calibrate
