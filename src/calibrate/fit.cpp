// Residuals: mean measured less mean predicted power over windows, each experiment shifted by its
// own offset, which is fitted too. Parameters are fitted by their logarithms inside bounds.
//
// Which parameters: the Jacobian J of all of them by log value. The weakest one is dropped until
// every one left would be known to within kVague (its standard deviation as a share, from
// (J'J)^-1 with the noise of the residuals) and the condition of the scaled J is below
// kWorstCondition.
//
// Every residual is divided by what is expected of it: the noise of the plug, and at the edges of
// heaters what the plug misses between two samples (jump times interval over window, over the root
// of 12, as a sample holds until the next one).
//
// Robust: r becomes d sqrt(2 (sqrt(1 + (r/d)^2) - 1)) (pseudo-Huber), which Ceres then squares. The
// scale d is 2.5 times the median absolute residual (as a standard deviation) of a first fit.
//
// Intervals: H = J'J with weights, meat = sum over windows of psi^2 j j', covariance
// H^-1 meat H^-1 n / (n - p) (the sandwich, White 1980), or H^-1 where that is larger (few windows
// see an edge), 1.96 standard deviations by log value.
#include "calibrate/fit.hpp"

#include <ceres/ceres.h>
#include <fmt/format.h>

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <numeric>
#include <stdexcept>

#include "calibrate/parameters.hpp"

namespace platetally::calibrate {

namespace {

constexpr double kVague = 0.15;
constexpr double kWorstCondition = 300.0;
// Of a logarithm, for central differences: wide enough that a fan which goes off at a temperature,
// and so at the end of some step of the model, is met by both or none.
constexpr double kStep = 1.5e-2;
constexpr double kScale = 2.5;  // of the pseudo-Huber loss, in standard deviations
constexpr double kOffsetStep_s = 0.5;
constexpr double kMostShift_s = 40.0;  // of an experiment's beginning, about what alignment found
constexpr double kFirstNoise_w = 4.0;
constexpr double kLeastNoise_w = 0.05;  // plugs show whole tenths at best
constexpr int kMostIterations = 40;
constexpr double kSettled = 1e-4;  // of a logarithm, or ten times that in seconds
constexpr double kNormal95 = 1.959964;

struct Window {
  std::size_t experiment = 0;
  double from_s = 0.0;  ///< of the log
  double to_s = 0.0;
  double measured_w = 0.0;
};

class Problem {
 public:
  Problem(const Machine& machine, const std::vector<Material>& materials,
          const std::vector<Experiment>& experiments, const CalibrationOptions& options)
      : machine_(machine), materials_(materials), experiments_(experiments) {
    for (const Parameter& parameter : parameters())
      logs_.push_back(std::log(std::clamp(parameter.get(machine), parameter.low, parameter.high)));
    for (std::size_t i = 0; i < experiments.size(); ++i)
      add_windows(i, options.window_s);
    if (windows_.size() < 4)
      throw std::invalid_argument(
          "the logs have too little in common with their experiments: "
          "fewer than four windows");
  }

  std::size_t count() const { return windows_.size(); }
  const std::vector<Window>& windows() const { return windows_; }
  const std::vector<double>& logs() const { return logs_; }
  const std::vector<double>& offsets_s() const { return offsets_s_; }
  const std::vector<std::vector<std::string>>& doubts() const { return doubts_; }

  Machine machine_at(const std::vector<double>& logs) const {
    Machine changed = machine_;
    for (std::size_t i = 0; i < logs.size(); ++i)
      if (logs[i] != logs_[i])
        parameters()[i].set(changed, std::exp(logs[i]));
    return changed;
  }

  std::vector<meter::PowerSeries> series_at(const std::vector<double>& logs) const {
    const Machine machine = machine_at(logs);
    std::vector<meter::PowerSeries> all;
    for (const Experiment& experiment : experiments_)
      all.push_back(predict(machine, materials_, experiment));
    return all;
  }

  Eigen::VectorXd windowed_w(const std::vector<meter::PowerSeries>& series, double idle_w,
                             const std::vector<double>& offsets_s) const {
    Eigen::VectorXd all(static_cast<Eigen::Index>(windows_.size()));
    for (std::size_t i = 0; i < windows_.size(); ++i) {
      const Window& window = windows_[i];
      const double from_s = window.from_s - offsets_s[window.experiment];
      const double to_s = window.to_s - offsets_s[window.experiment];
      // Before the experiment the machine idles.
      const double before_s = std::clamp(-from_s, 0.0, to_s - from_s);
      const double inside_s = to_s - from_s - before_s;
      all[static_cast<Eigen::Index>(i)] =
          (before_s * idle_w +
           (inside_s > 0.0 ? inside_s * series[window.experiment].mean_w(from_s + before_s, to_s)
                           : 0.0)) /
          (to_s - from_s);
    }
    return all;
  }

  Eigen::VectorXd predicted_w(const std::vector<double>& logs,
                              const std::vector<double>& offsets_s) const {
    return windowed_w(series_at(logs), machine_at(logs).supply.idle_w, offsets_s);
  }

  Eigen::VectorXd residuals_w(const std::vector<double>& logs,
                              const std::vector<double>& offsets_s) const {
    Eigen::VectorXd r = predicted_w(logs, offsets_s);
    for (std::size_t i = 0; i < windows_.size(); ++i)
      r[static_cast<Eigen::Index>(i)] -= windows_[i].measured_w;
    return r;
  }

  /// What a residual may well be: noise of the plug, and edges that it misses.
  Eigen::VectorXd expected_w(const std::vector<double>& logs, const std::vector<double>& offsets_s,
                             double noise_w) const {
    const std::vector<meter::PowerSeries> series = series_at(logs);
    Eigen::VectorXd all(static_cast<Eigen::Index>(windows_.size()));
    for (std::size_t i = 0; i < windows_.size(); ++i) {
      const Window& window = windows_[i];
      const double interval_s = experiments_[window.experiment].log->interval_s;
      const double share = interval_s / (window.to_s - window.from_s) / std::sqrt(12.0);
      const double from_s = window.from_s - offsets_s[window.experiment];
      const double to_s = window.to_s - offsets_s[window.experiment];
      all[static_cast<Eigen::Index>(i)] = std::sqrt(
          noise_w * noise_w + std::pow(share * span_w(series[window.experiment],
                                                      from_s - interval_s, to_s + interval_s),
                                       2));
    }
    return all;
  }

  /// Columns: the chosen parameters by log value, then the offsets of experiments with edges.
  Eigen::MatrixXd jacobian(const std::vector<double>& logs, const std::vector<double>& offsets_s,
                           const std::vector<std::size_t>& chosen) const {
    Eigen::MatrixXd j(static_cast<Eigen::Index>(windows_.size()),
                      static_cast<Eigen::Index>(chosen.size() + experiments_.size()));
    const std::vector<meter::PowerSeries> series = series_at(logs);
    const double idle_w = machine_at(logs).supply.idle_w;
    for (std::size_t k = 0; k < chosen.size(); ++k) {
      std::vector<double> up = logs;
      std::vector<double> down = logs;
      up[chosen[k]] += kStep;
      down[chosen[k]] -= kStep;
      j.col(static_cast<Eigen::Index>(k)) =
          (predicted_w(up, offsets_s) - predicted_w(down, offsets_s)) / (2.0 * kStep);
    }
    for (std::size_t e = 0; e < experiments_.size(); ++e) {
      std::vector<double> up = offsets_s;
      std::vector<double> down = offsets_s;
      up[e] += kOffsetStep_s;
      down[e] -= kOffsetStep_s;
      j.col(static_cast<Eigen::Index>(chosen.size() + e)) =
          experiments_[e].is_idle
              ? Eigen::VectorXd::Zero(j.rows()).eval()
              : ((windowed_w(series, idle_w, up) - windowed_w(series, idle_w, down)) /
                 (2.0 * kOffsetStep_s))
                    .eval();
    }
    return j;
  }

 private:
  /// Highest less lowest power in a span: the size of an edge in it.
  double span_w(const meter::PowerSeries& series, double from_s, double to_s) const {
    double low = from_s < 0.0 ? machine_.supply.idle_w : 1e300;
    double high = from_s < 0.0 ? machine_.supply.idle_w : 0.0;
    auto at = std::upper_bound(series.start_s.begin(), series.start_s.end(), from_s);
    std::size_t i = at == series.start_s.begin()
                        ? 0
                        : static_cast<std::size_t>(at - series.start_s.begin()) - 1;
    for (; i < series.w.size() && series.start_s[i] < to_s; ++i) {
      low = std::min(low, series.w[i]);
      high = std::max(high, series.w[i]);
    }
    return std::max(0.0, high - low);
  }

  void add_windows(std::size_t e, double window_s) {
    const Experiment& experiment = experiments_[e];
    const MeterLog& log = *experiment.log;
    doubts_.emplace_back();
    const meter::PowerSeries series = predict(machine_, materials_, experiment);
    double offset_s = 0.0;
    if (!experiment.is_idle) {
      const meter::Alignment alignment = meter::align(series, log, 0.0);
      offset_s = alignment.offset_s;
      if (alignment.correlation < 0.6)
        doubts_.back().push_back(
            fmt::format("what was predicted and what was measured hardly go together (correlation "
                        "{:.2f}): is it "
                        "the right experiment?",
                        alignment.correlation));
    }
    offsets_s_.push_back(offset_s);
    const double step_s = std::max(window_s, 2.0 * log.interval_s);
    const double begin_s = std::max(0.0, offset_s - 4.0 * step_s);
    const double end_s = std::min(log.duration_s(), offset_s + series.end_s);
    if (!experiment.is_idle && end_s - std::max(offset_s, 0.0) < 0.5 * series.end_s)
      doubts_.back().push_back(fmt::format("the log covers {:.0f} of {:.0f} s",
                                           std::max(0.0, end_s - std::max(offset_s, 0.0)),
                                           series.end_s));
    for (double from_s = begin_s; from_s + step_s <= end_s + 1e-9; from_s += step_s)
      if (const auto w = mean_w(log, from_s, from_s + step_s))
        windows_.push_back({e, from_s, from_s + step_s, *w});
  }

  const Machine& machine_;
  const std::vector<Material>& materials_;
  const std::vector<Experiment>& experiments_;
  std::vector<double> logs_;
  std::vector<double> offsets_s_;
  std::vector<Window> windows_;
  std::vector<std::vector<std::string>> doubts_;
};

/// Free values: chosen parameters, then offsets. Differences are taken by hand, as shifting an
/// experiment needs no new run of the model.
class Cost : public ceres::CostFunction {
 public:
  Cost(const Problem& problem, std::vector<std::size_t> chosen, Eigen::VectorXd expected_w)
      : problem_(problem), chosen_(std::move(chosen)), expected_w_(std::move(expected_w)) {
    mutable_parameter_block_sizes()->push_back(
        static_cast<int>(chosen_.size() + problem.offsets_s().size()));
    set_num_residuals(static_cast<int>(problem.count()));
  }

  std::pair<std::vector<double>, std::vector<double>> taken_apart(const double* x) const {
    std::vector<double> logs = problem_.logs();
    std::vector<double> offsets_s = problem_.offsets_s();
    for (std::size_t k = 0; k < chosen_.size(); ++k)
      logs[chosen_[k]] = x[k];
    for (std::size_t e = 0; e < offsets_s.size(); ++e)
      offsets_s[e] = x[chosen_.size() + e];
    return {logs, offsets_s};
  }

  bool Evaluate(double const* const* x, double* residuals, double** jacobians) const override {
    const auto [logs, offsets_s] = taken_apart(x[0]);
    const Eigen::VectorXd r = problem_.residuals_w(logs, offsets_s).cwiseQuotient(expected_w_);
    Eigen::VectorXd slope(r.size());
    for (Eigen::Index i = 0; i < r.size(); ++i) {
      const double share = r[i] / kScale;
      const double root = std::sqrt(1.0 + share * share);
      const double size = kScale * std::sqrt(2.0 * (root - 1.0));
      residuals[i] = share < 0.0 ? -size : size;
      slope[i] = size > 1e-9 ? std::abs(r[i]) / (root * size) : 1.0;
    }
    if (jacobians == nullptr || jacobians[0] == nullptr)
      return true;
    const Eigen::MatrixXd j = problem_.jacobian(logs, offsets_s, chosen_);
    Eigen::Map<Eigen::Matrix<double, Eigen::Dynamic, Eigen::Dynamic, Eigen::RowMajor>>(
        jacobians[0], j.rows(), j.cols()) = slope.cwiseQuotient(expected_w_).asDiagonal() * j;
    return true;
  }

 private:
  const Problem& problem_;
  std::vector<std::size_t> chosen_;
  Eigen::VectorXd expected_w_;
};

struct Solution {
  std::vector<double> logs;
  std::vector<double> offsets_s;
  bool converged = false;
};

Solution solve(const Problem& problem, const std::vector<std::size_t>& chosen,
               const std::vector<Experiment>& experiments, std::vector<double> x,
               const Eigen::VectorXd& expected_w, bool rough) {
  auto* cost = new Cost(problem, chosen, expected_w);  // ceres::Problem owns it
  ceres::Problem ceres_problem;
  ceres_problem.AddResidualBlock(cost, nullptr, x.data());
  for (std::size_t k = 0; k < chosen.size(); ++k) {
    const Parameter& parameter = parameters()[chosen[k]];
    ceres_problem.SetParameterLowerBound(x.data(), static_cast<int>(k), std::log(parameter.low));
    ceres_problem.SetParameterUpperBound(x.data(), static_cast<int>(k), std::log(parameter.high));
  }
  std::vector<int> fixed;
  for (std::size_t e = 0; e < experiments.size(); ++e) {
    const auto at = static_cast<int>(chosen.size() + e);
    if (experiments[e].is_idle) {
      fixed.push_back(at);
      continue;
    }
    ceres_problem.SetParameterLowerBound(x.data(), at, problem.offsets_s()[e] - kMostShift_s);
    ceres_problem.SetParameterUpperBound(x.data(), at, problem.offsets_s()[e] + kMostShift_s);
  }
  if (!fixed.empty() && fixed.size() < x.size())
    ceres_problem.SetManifold(x.data(),
                              new ceres::SubsetManifold(static_cast<int>(x.size()), fixed));
  ceres::Solver::Options options;
  options.linear_solver_type = ceres::DENSE_QR;
  options.max_num_iterations = rough ? 8 : kMostIterations;
  options.function_tolerance = rough ? 1e-4 : 1e-7;
  options.logging_type = ceres::SILENT;
  ceres::Solver::Summary summary;
  ceres::Solve(options, &ceres_problem, &summary);
  const auto [logs, offsets_s] = cost->taken_apart(x.data());
  return {logs, offsets_s, summary.termination_type == ceres::CONVERGENCE};
}

struct Shape {
  std::size_t rank = 0;
  double condition = 0.0;
  Eigen::VectorXd deviation;  ///< of log values, for residuals of noise 1
};

Shape shape_of(const Eigen::MatrixXd& j) {
  Eigen::VectorXd norms = j.colwise().norm();
  Eigen::MatrixXd scaled = j;
  for (Eigen::Index k = 0; k < j.cols(); ++k)
    scaled.col(k) /= std::max(norms[k], 1e-12);
  const Eigen::JacobiSVD<Eigen::MatrixXd> svd(scaled, Eigen::ComputeThinV);
  const Eigen::VectorXd& s = svd.singularValues();
  Shape shape;
  for (Eigen::Index k = 0; k < s.size(); ++k)
    shape.rank += s[k] > s[0] * 1e-4;
  shape.condition = s[s.size() - 1] > 0.0 ? s[0] / s[s.size() - 1] : 1e300;
  shape.deviation = Eigen::VectorXd(j.cols());
  for (Eigen::Index k = 0; k < j.cols(); ++k) {
    double sum = 0.0;
    for (Eigen::Index m = 0; m < s.size(); ++m)
      sum += std::pow(svd.matrixV()(k, m) / std::max(s[m], 1e-12), 2);
    shape.deviation[k] = std::sqrt(sum) / std::max(norms[k], 1e-12);
  }
  return shape;
}

double noise_of(Eigen::VectorXd r) {
  r = r.cwiseAbs();
  std::sort(r.data(), r.data() + r.size());
  return std::max(kLeastNoise_w, 1.4826 * r[r.size() / 2]);
}

/// Drops the weakest until all that are left are told by the logs.
std::vector<std::size_t> identifiable(const Problem& problem, const std::vector<double>& logs,
                                      const std::vector<double>& offsets_s,
                                      const Eigen::VectorXd& expected_w,
                                      CalibrationReport& report) {
  std::vector<std::size_t> chosen(parameters().size());
  std::iota(chosen.begin(), chosen.end(), std::size_t{0});
  Eigen::MatrixXd all = problem.jacobian(logs, offsets_s, chosen);
  std::vector<Eigen::Index> columns;
  // What moves nothing by a tenth of a watt when it doubles is not looked at further.
  for (std::size_t k = 0; k < chosen.size(); ++k)
    if (all.col(static_cast<Eigen::Index>(k)).cwiseAbs().maxCoeff() > 0.1)
      columns.push_back(static_cast<Eigen::Index>(k));
  std::vector<Eigen::Index> offsets;
  for (Eigen::Index k = static_cast<Eigen::Index>(chosen.size()); k < all.cols(); ++k)
    if (all.col(k).norm() > 1e-6)
      offsets.push_back(k);
  all = expected_w.cwiseInverse().asDiagonal() * all;
  bool first = true;
  while (!columns.empty()) {
    Eigen::MatrixXd j(all.rows(), static_cast<Eigen::Index>(columns.size() + offsets.size()));
    for (std::size_t k = 0; k < columns.size(); ++k)
      j.col(static_cast<Eigen::Index>(k)) = all.col(columns[k]);
    for (std::size_t k = 0; k < offsets.size(); ++k)
      j.col(static_cast<Eigen::Index>(columns.size() + k)) = all.col(offsets[k]);
    const Shape shape = shape_of(j);
    if (first)
      report.rank = shape.rank - std::min(shape.rank, offsets.size());
    first = false;
    Eigen::Index weakest = 0;
    const double worst =
        shape.deviation.head(static_cast<Eigen::Index>(columns.size())).maxCoeff(&weakest);
    report.condition = shape.condition;
    if (worst < kVague && shape.condition < kWorstCondition)
      break;
    columns.erase(columns.begin() + weakest);
  }
  std::vector<std::size_t> kept;
  for (const Eigen::Index column : columns)
    kept.push_back(static_cast<std::size_t>(column));
  return kept;
}

/// Standard deviations of the log values. `j` and `r` in standard deviations of the residuals.
Eigen::VectorXd deviations(const Eigen::MatrixXd& unscaled, const Eigen::VectorXd& r) {
  // Watts by the second and watts by the logarithm differ by orders: only scaled columns invert
  // well.
  const Eigen::VectorXd norms = unscaled.colwise().norm().cwiseMax(1e-12);
  const Eigen::MatrixXd j = unscaled * norms.cwiseInverse().asDiagonal();
  Eigen::MatrixXd bread = Eigen::MatrixXd::Zero(j.cols(), j.cols());
  Eigen::MatrixXd meat = bread;
  for (Eigen::Index i = 0; i < j.rows(); ++i) {
    const double share = r[i] / kScale;
    const double root = std::sqrt(1.0 + share * share);
    const double psi = r[i] / root;  // of the pseudo-Huber loss
    bread += j.row(i).transpose() * j.row(i) / (root * root * root);
    meat += psi * psi * j.row(i).transpose() * j.row(i);
  }
  const Eigen::MatrixXd inverse = bread.completeOrthogonalDecomposition().pseudoInverse();
  const double n = static_cast<double>(j.rows());
  const double p = static_cast<double>(j.cols());
  const Eigen::VectorXd sandwich =
      (inverse * meat * inverse * (n / std::max(n - p, 1.0))).diagonal();
  return sandwich.cwiseMax(inverse.diagonal()).cwiseSqrt().cwiseQuotient(norms);
}

double rms(const Eigen::VectorXd& r) {
  return std::sqrt(r.squaredNorm() / static_cast<double>(r.size()));
}

void write_experiments(const Problem& problem, const std::vector<Experiment>& experiments,
                       const std::vector<double>& offsets_s, const Eigen::VectorXd& before,
                       const Eigen::VectorXd& after, CalibrationReport& report) {
  for (std::size_t e = 0; e < experiments.size(); ++e) {
    CalibratedExperiment one;
    one.experiment = experiments[e].name;
    one.log_path = experiments[e].log->path;
    one.log_hash = experiments[e].log->hash;
    one.offset_s = offsets_s[e];
    one.doubts = experiments[e].log->doubts;
    one.doubts.insert(one.doubts.end(), problem.doubts()[e].begin(), problem.doubts()[e].end());
    report.experiments.push_back(std::move(one));
  }
  for (std::size_t i = 0; i < problem.count(); ++i) {
    const Window& window = problem.windows()[i];
    const auto at = static_cast<Eigen::Index>(i);
    report.experiments[window.experiment].windows.push_back(
        {window.from_s - offsets_s[window.experiment], window.to_s - offsets_s[window.experiment],
         window.measured_w, before[at], after[at]});
  }
}

}  // namespace

CalibrationReport fit(const Machine& machine, const std::vector<Material>& materials,
                      const std::vector<Experiment>& experiments,
                      const CalibrationOptions& options) {
  CalibrationReport report;
  const Problem problem(machine, materials, experiments, options);
  const Eigen::VectorXd before = problem.predicted_w(problem.logs(), problem.offsets_s());
  // What is identifiable depends on where one stands, so: choose, fit roughly, choose again, fit.
  std::vector<double> logs = problem.logs();
  std::vector<double> offsets_s = problem.offsets_s();
  double noise_w = kFirstNoise_w;
  std::vector<std::size_t> chosen;
  // Where the edges lie decides what is expected of the windows beside them, so fit and
  // expectation are taken in turn until nothing moves.
  constexpr int kMostRounds = 8;
  for (int round = 0; round < kMostRounds; ++round) {
    const Eigen::VectorXd expected_w = problem.expected_w(logs, offsets_s, noise_w);
    if (round < 3)
      chosen = identifiable(problem, logs, offsets_s, expected_w, report);
    if (chosen.empty())
      throw std::invalid_argument(
          "the logs tell none of the machine file's entries: expected an experiment with heat, or "
          "a "
          "longer log");
    std::vector<double> x;
    for (const std::size_t k : chosen)
      x.push_back(logs[k]);
    x.insert(x.end(), offsets_s.begin(), offsets_s.end());
    Solution solution = solve(problem, chosen, experiments, x, expected_w, round < 2);
    double moved = 0.0;
    for (std::size_t k = 0; k < logs.size(); ++k)
      moved = std::max(moved, std::abs(solution.logs[k] - logs[k]));
    for (std::size_t e = 0; e < offsets_s.size(); ++e)
      moved = std::max(moved, std::abs(solution.offsets_s[e] - offsets_s[e]) / 10.0);
    logs = std::move(solution.logs);
    offsets_s = std::move(solution.offsets_s);
    report.converged = solution.converged;
    noise_w = noise_of(problem.residuals_w(logs, offsets_s));
    if (round >= 3 && moved < kSettled)
      break;
  }
  Eigen::VectorXd r;
  Eigen::VectorXd deviation;
  // What turns out to be known too vaguely after all goes back to what it was.
  while (true) {
    r = problem.residuals_w(logs, offsets_s);
    const Eigen::VectorXd expected_w = problem.expected_w(logs, offsets_s, noise_w);
    deviation = deviations(
        expected_w.cwiseInverse().asDiagonal() * problem.jacobian(logs, offsets_s, chosen),
        r.cwiseQuotient(expected_w));
    Eigen::Index weakest = 0;
    if (chosen.size() < 2 ||
        deviation.head(static_cast<Eigen::Index>(chosen.size())).maxCoeff(&weakest) < kVague)
      break;
    const std::size_t dropped = chosen[static_cast<std::size_t>(weakest)];
    logs[dropped] = problem.logs()[dropped];
    chosen.erase(chosen.begin() + weakest);
    std::vector<double> x;
    for (const std::size_t k : chosen)
      x.push_back(logs[k]);
    x.insert(x.end(), offsets_s.begin(), offsets_s.end());
    Solution solution = solve(problem, chosen, experiments, x, expected_w, false);
    logs = std::move(solution.logs);
    offsets_s = std::move(solution.offsets_s);
    report.converged = solution.converged;
    noise_w = noise_of(problem.residuals_w(logs, offsets_s));
  }
  for (std::size_t k = 0; k < chosen.size(); ++k) {
    const Parameter& parameter = parameters()[chosen[k]];
    const double log_value = logs[chosen[k]];
    const double wide = kNormal95 * deviation[static_cast<Eigen::Index>(k)];
    const bool at_bound =
        log_value - std::log(parameter.low) < 1e-6 || std::log(parameter.high) - log_value < 1e-6;
    report.fitted.push_back({parameter.key, parameter.unit, parameter.get(machine),
                             std::exp(log_value), std::exp(log_value - wide),
                             std::exp(log_value + wide), at_bound});
  }
  for (std::size_t k = 0; k < parameters().size(); ++k)
    if (std::find(chosen.begin(), chosen.end(), k) == chosen.end())
      report.not_identifiable.push_back(
          {parameters()[k].key, parameters()[k].get(machine), parameters()[k].settled_by});
  report.machine = problem.machine_at(logs);
  report.rms_before_w = rms(problem.residuals_w(problem.logs(), problem.offsets_s()));
  report.rms_after_w = rms(r);
  write_experiments(problem, experiments, offsets_s, before, problem.predicted_w(logs, offsets_s),
                    report);
  if (!report.converged)
    report.notes.emplace_back("the fit did not settle; take its values with doubt");
  return report;
}

std::pair<std::size_t, double> promise_of(const Machine& machine,
                                          const std::vector<Material>& materials,
                                          const Experiment& experiment) {
  const std::vector<Experiment> experiments{experiment};
  const Problem problem(machine, materials, experiments, {});
  const Eigen::VectorXd expected_w = problem.expected_w(problem.logs(), problem.offsets_s(), 1.0);
  CalibrationReport report;
  const std::vector<std::size_t> chosen =
      identifiable(problem, problem.logs(), problem.offsets_s(), expected_w, report);
  const Eigen::MatrixXd j = expected_w.cwiseInverse().asDiagonal() *
                            problem.jacobian(problem.logs(), problem.offsets_s(), chosen);
  const Shape shape = shape_of(j);
  return {chosen.size(),
          chosen.empty()
              ? 0.0
              : shape.deviation.head(static_cast<Eigen::Index>(chosen.size())).maxCoeff()};
}

OneByOne explain_by_one(const Machine& machine, const std::vector<Material>& materials,
                        const Experiment& experiment, const meter::Alignment& alignment,
                        double window_s) {
  OneByOne result;
  const MeterLog& log = *experiment.log;
  const auto sum_at = [&](const Machine& candidate) {
    const meter::PowerSeries series = predict(candidate, materials, experiment);
    double sum = 0.0;
    for (double from_s = 0.0; from_s + window_s <= series.end_s; from_s += window_s) {
      const auto y = mean_w(log, alignment.offset_s + (1.0 + alignment.drift) * from_s,
                            alignment.offset_s + (1.0 + alignment.drift) * (from_s + window_s));
      if (y)
        sum += std::pow(*y - series.mean_w(from_s, from_s + window_s), 2);
    }
    return sum;
  };
  result.as_is = sum_at(machine);
  for (const Parameter& parameter : parameters()) {
    const double now = std::clamp(parameter.get(machine), parameter.low, parameter.high);
    double best_value = now;
    double best_sum = result.as_is;
    // A parabola would do near the best; a few factors and a refinement are surer.
    double factor = 1.6;
    for (int round = 0; round < 4; ++round) {
      const double centre = best_value;
      for (const double candidate : {centre / factor, centre * factor}) {
        const double value = std::clamp(candidate, parameter.low, parameter.high);
        Machine changed = machine;
        parameter.set(changed, value);
        if (const double sum = sum_at(changed); sum < best_sum) {
          best_sum = sum;
          best_value = value;
        }
      }
      factor = std::sqrt(factor);
    }
    result.best_value.push_back(best_value);
    result.best_sum.push_back(best_sum);
  }
  return result;
}

}  // namespace platetally::calibrate
