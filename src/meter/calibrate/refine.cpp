// Residuals: mean predicted less mean measured power over windows, each experiment shifted by its
// own offset, which is fitted too. Parameters are fitted by their logarithms inside bounds.
//
// Every residual is divided by what is expected of it: the noise of the plug, which is the median
// absolute residual (as a standard deviation) of the fit before, and beside the edges of heaters
// what the plug misses between two samples.
//
// Every parameter has a prior, a residual of its own: how far its logarithm is from that of the
// machine file, over the deviation that such figures have. So what the logs do not tell stays.
//
// Robust: r becomes d sqrt(2 (sqrt(1 + (r/d)^2) - 1)) (pseudo-Huber, d = kLossScale), which Ceres
// then squares.
#include "meter/calibrate/refine.hpp"

#include <ceres/ceres.h>

#include <algorithm>
#include <cmath>

#include "meter/calibrate/identify.hpp"
#include "meter/calibrate/parameters.hpp"
#include "meter/calibrate/statistics.hpp"

namespace platetally::calibrate {

namespace {

// Assumed, all of them.
constexpr double kMostShift_s = 40.0;   // of an experiment's beginning, about what alignment found
constexpr double kLeastNoise_w = 0.05;  // plugs show whole tenths at best
constexpr double kLeastNoise = 0.003;   // of a stream's mean: no model is better than that

/// Free values: chosen parameters, then offsets. Differences are taken by hand, as shifting an
/// experiment needs no new run of the model.
class Cost : public ceres::CostFunction {
 public:
  Cost(const Windows& windows, std::vector<std::size_t> chosen, const Groups& groups)
      : windows_(windows), chosen_(std::move(chosen)), groups_(groups) {
    mutable_parameter_block_sizes()->push_back(
        static_cast<int>(chosen_.size() + windows.experiments().size()));
    set_num_residuals(static_cast<int>(groups.count() + chosen_.size()));
  }

  Standing stand_at(const double* x) const {
    std::vector<double> logs = windows_.start().logs;
    std::vector<double> offsets_s = windows_.start().offsets_s;
    for (std::size_t k = 0; k < chosen_.size(); ++k)
      logs[chosen_[k]] = x[k];
    for (std::size_t e = 0; e < offsets_s.size(); ++e)
      offsets_s[e] = x[chosen_.size() + e];
    return windows_.stand_at(std::move(logs), std::move(offsets_s));
  }

  bool Evaluate(double const* const* x, double* residuals, double** jacobians) const override {
    const Standing standing = stand_at(x[0]);
    const Eigen::VectorXd r =
        with_priors(Eigen::VectorXd(groups_.weighed(windows_.residuals_w(standing))), windows_,
                    standing, chosen_);
    Eigen::VectorXd slope = Eigen::VectorXd::Ones(r.size());
    for (Eigen::Index i = 0; i < r.size(); ++i) {
      residuals[i] = r[i];
      if (groups_.is_exact(i))
        continue;
      const double share = r[i] / kLossScale;
      const double root = std::sqrt(1.0 + share * share);
      const double size = kLossScale * std::sqrt(2.0 * (root - 1.0));
      residuals[i] = share < 0.0 ? -size : size;
      slope[i] = size > 1e-9 ? std::abs(r[i]) / (root * size) : 1.0;
    }
    if (jacobians == nullptr || jacobians[0] == nullptr)
      return true;
    const Eigen::MatrixXd j =
        with_priors(groups_.weighed(windows_.jacobian(standing, chosen_)), chosen_);
    Eigen::Map<Eigen::Matrix<double, Eigen::Dynamic, Eigen::Dynamic, Eigen::RowMajor>>(
        jacobians[0], j.rows(), j.cols()) = slope.asDiagonal() * j;
    return true;
  }

 private:
  const Windows& windows_;
  std::vector<std::size_t> chosen_;
  const Groups& groups_;
};

/// Of each stream, from its windows that are no totals.
std::vector<double> noise_of(const Windows& windows, const Eigen::VectorXd& r) {
  std::vector<std::vector<double>> sizes(windows.streams().size());
  std::vector<double> sums_w(windows.streams().size(), 0.0);
  for (std::size_t i = 0; i < windows.count(); ++i) {
    const Window& window = windows.all()[i];
    if (window.is_total || window.cycle_w > 0.0)
      continue;
    sizes[window.stream].push_back(std::abs(r[static_cast<Eigen::Index>(i)]));
    sums_w[window.stream] += window.measured_w;
  }
  std::vector<double> noise_w;
  for (std::size_t k = 0; k < sizes.size(); ++k) {
    std::vector<double>& size = sizes[k];
    double noise = kFirstNoise_w;
    if (!size.empty()) {
      const auto middle = size.begin() + static_cast<std::ptrdiff_t>(size.size() / 2);
      std::nth_element(size.begin(), middle, size.end());
      noise = std::max({kLeastNoise_w, kDeviationsOfMedian * *middle,
                        kLeastNoise * sums_w[k] / static_cast<double>(size.size())});
    }
    noise_w.push_back(noise);
  }
  return noise_w;
}

void set_bounds(ceres::Problem& problem, const Windows& windows, const Fit& fit,
                std::vector<double>& x) {
  for (std::size_t k = 0; k < fit.chosen.size(); ++k) {
    const Parameter& parameter = parameters()[fit.chosen[k]];
    problem.SetParameterLowerBound(x.data(), static_cast<int>(k), std::log(parameter.low));
    problem.SetParameterUpperBound(x.data(), static_cast<int>(k), std::log(parameter.high));
  }
  std::vector<int> fixed;
  for (std::size_t e = 0; e < windows.experiments().size(); ++e) {
    const auto place = static_cast<int>(fit.chosen.size() + e);
    const double offset_s = windows.start().offsets_s[e];
    if (!windows.has_offset(e)) {
      fixed.push_back(place);
      continue;
    }
    problem.SetParameterLowerBound(x.data(), place, offset_s - kMostShift_s);
    problem.SetParameterUpperBound(x.data(), place, offset_s + kMostShift_s);
  }
  if (!fixed.empty())
    problem.SetManifold(x.data(), new ceres::SubsetManifold(static_cast<int>(x.size()), fixed));
}

}  // namespace

Eigen::MatrixXd with_priors(const Eigen::MatrixXd& weighed,
                            const std::vector<std::size_t>& chosen) {
  const auto count = static_cast<Eigen::Index>(chosen.size());
  Eigen::MatrixXd all = Eigen::MatrixXd::Zero(weighed.rows() + count, weighed.cols());
  all.topRows(weighed.rows()) = weighed;
  for (Eigen::Index k = 0; k < count; ++k)
    all(weighed.rows() + k, k) = 1.0 / parameters()[chosen[static_cast<std::size_t>(k)]].prior;
  return all;
}

Eigen::VectorXd with_priors(const Eigen::VectorXd& weighed, const Windows& windows,
                            const Standing& standing, const std::vector<std::size_t>& chosen) {
  Eigen::VectorXd all(weighed.size() + static_cast<Eigen::Index>(chosen.size()));
  all.head(weighed.size()) = weighed;
  for (std::size_t k = 0; k < chosen.size(); ++k)
    all[weighed.size() + static_cast<Eigen::Index>(k)] =
        (standing.logs[chosen[k]] - windows.start().logs[chosen[k]]) /
        parameters()[chosen[k]].prior;
  return all;
}

void refine(const Windows& windows, const Groups& groups, bool rough, Fit& fit) {
  std::vector<double> x;
  for (const std::size_t k : fit.chosen)
    x.push_back(fit.standing.logs[k]);
  x.insert(x.end(), fit.standing.offsets_s.begin(), fit.standing.offsets_s.end());
  auto* cost = new Cost(windows, fit.chosen, groups);  // ceres::Problem owns it
  ceres::Problem problem;
  problem.AddResidualBlock(cost, nullptr, x.data());
  set_bounds(problem, windows, fit, x);
  ceres::Solver::Options options;
  options.linear_solver_type = ceres::DENSE_QR;
  options.max_num_iterations = rough ? 8 : 40;
  options.function_tolerance = rough ? 1e-4 : 1e-7;
  options.logging_type = ceres::SILENT;
  // Bounds are kept by projection alone: a search along each step takes slopes, and so the model,
  // many times more.
  options.max_num_line_search_step_size_iterations = 0;
  ceres::Solver::Summary summary;
  ceres::Solve(options, &problem, &summary);
  fit.standing = cost->stand_at(x.data());
  fit.converged = summary.termination_type == ceres::CONVERGENCE;
  fit.noise_w = noise_of(windows, windows.residuals_w(fit.standing));
}

}  // namespace platetally::calibrate
