// Residuals: mean predicted less mean measured power over windows, each experiment shifted by its
// own offset, which is fitted too. Parameters are fitted by their logarithms inside bounds.
//
// Every residual is divided by what is expected of it: the noise of the plug, which is the median
// absolute residual (as a standard deviation) of the fit before, and beside the edges of heaters
// what the plug misses between two samples.
//
// Robust: r becomes d sqrt(2 (sqrt(1 + (r/d)^2) - 1)) (pseudo-Huber, d = kLossScale), which Ceres
// then squares.
#include "meter/calibrate/refine.hpp"

#include <ceres/ceres.h>

#include <algorithm>
#include <cmath>

#include "meter/calibrate/identify.hpp"
#include "meter/calibrate/parameters.hpp"

namespace platetally::calibrate {

namespace {

// Assumed, all of them.
constexpr double kMostShift_s = 40.0;   // of an experiment's beginning, about what alignment found
constexpr double kLeastNoise_w = 0.05;  // plugs show whole tenths at best

constexpr double kDeviationsOfMedian = 1.4826;  // of the normal distribution, over median |x|

/// Free values: chosen parameters, then offsets. Differences are taken by hand, as shifting an
/// experiment needs no new run of the model.
class Cost : public ceres::CostFunction {
 public:
  Cost(const Windows& windows, std::vector<std::size_t> chosen, const Groups& groups)
      : windows_(windows), chosen_(std::move(chosen)), groups_(groups) {
    mutable_parameter_block_sizes()->push_back(
        static_cast<int>(chosen_.size() + windows.experiments().size()));
    set_num_residuals(static_cast<int>(groups.count()));
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
    const Eigen::VectorXd r = groups_.weighed(windows_.residuals_w(standing));
    Eigen::VectorXd slope(r.size());
    for (Eigen::Index i = 0; i < r.size(); ++i) {
      const double share = r[i] / kLossScale;
      const double root = std::sqrt(1.0 + share * share);
      const double size = kLossScale * std::sqrt(2.0 * (root - 1.0));
      residuals[i] = share < 0.0 ? -size : size;
      slope[i] = size > 1e-9 ? std::abs(r[i]) / (root * size) : 1.0;
    }
    if (jacobians == nullptr || jacobians[0] == nullptr)
      return true;
    const Eigen::MatrixXd j = groups_.weighed(windows_.jacobian(standing, chosen_));
    Eigen::Map<Eigen::Matrix<double, Eigen::Dynamic, Eigen::Dynamic, Eigen::RowMajor>>(
        jacobians[0], j.rows(), j.cols()) = slope.asDiagonal() * j;
    return true;
  }

 private:
  const Windows& windows_;
  std::vector<std::size_t> chosen_;
  const Groups& groups_;
};

double noise_of(Eigen::VectorXd r) {
  r = r.cwiseAbs();
  std::sort(r.data(), r.data() + r.size());
  return std::max(kLeastNoise_w, kDeviationsOfMedian * r[r.size() / 2]);
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
    if (windows.experiments()[e].is_idle) {
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
  fit.noise_w = noise_of(windows.residuals_w(fit.standing));
}

}  // namespace platetally::calibrate
