// Which entries are fitted depends on where one stands, and what is expected of a residual on where
// the edges of heaters lie: choice, expectation and fit (refine.hpp) are taken in turn.
#include "meter/calibrate/fit.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <numeric>
#include <stdexcept>

#include "meter/calibrate/identify.hpp"
#include "meter/calibrate/parameters.hpp"
#include "meter/calibrate/refine.hpp"
#include "meter/calibrate/spread.hpp"
#include "meter/calibrate/windows.hpp"

namespace platetally::calibrate {

namespace {

// Assumed, all of them.
constexpr int kRoughRounds = 2;
constexpr int kChoosingRounds = 3;
constexpr int kMostRounds = 8;
constexpr double kLeaps[] = {0.03, 0.06, 0.09, 0.12, 0.16, 0.2, 0.25, 0.3};  // of a logarithm
constexpr int kMostLeaps = 4;
constexpr double kWorthLeaping = 1e-3;  // of the loss
constexpr double kSettled = 1e-4;       // of a logarithm, or ten times that in seconds

Identified identified_at(const Windows& windows, const Standing& standing, const Groups& groups) {
  std::vector<std::size_t> all(parameters().size());
  std::iota(all.begin(), all.end(), std::size_t{0});
  const Eigen::MatrixXd j = windows.jacobian(standing, all);
  return identify(groups.weighed(j), j.cwiseAbs().colwise().maxCoeff().transpose(), all.size());
}

double loss_of(const Windows& windows, const Standing& standing, const Groups& groups) {
  const Eigen::VectorXd shares = groups.weighed(windows.residuals_w(standing)) / kLossScale;
  return ((1.0 + shares.array().square()).sqrt() - 1.0).sum();
}

/// Where a far away value of a single entry fits better, it goes there. Slopes do not see that: a
/// fan that is predicted to stop a window too early looks as wrong as one that stops ten too early.
bool leap(const Windows& windows, const Groups& groups, Fit& fit) {
  bool leapt = false;
  for (int round = 0; round < kMostLeaps; ++round) {
    Standing best = fit.standing;
    double least = loss_of(windows, best, groups) * (1.0 - kWorthLeaping);
    const std::vector<double> here = best.logs;
    std::vector<std::vector<double>> places;
    for (const std::size_t k : fit.chosen)
      for (const double way : kLeaps)
        for (const double sign : {-1.0, 1.0}) {
          places.push_back(here);
          places.back()[k] = std::clamp(here[k] + sign * way, std::log(parameters()[k].low),
                                        std::log(parameters()[k].high));
        }
    for (Standing& there : windows.stand_at_each(std::move(places), fit.standing.offsets_s)) {
      const double loss = loss_of(windows, there, groups);
      if (loss >= least)
        continue;
      least = loss;
      best = std::move(there);
    }
    if (best.logs == here)
      break;
    fit.standing = std::move(best);
    leapt = true;
  }
  return leapt;
}

double distance(const Standing& a, const Standing& b) {
  constexpr double kSecondsPerLog = 10.0;
  double farthest = 0.0;
  for (std::size_t k = 0; k < a.logs.size(); ++k)
    farthest = std::max(farthest, std::abs(a.logs[k] - b.logs[k]));
  for (std::size_t e = 0; e < a.offsets_s.size(); ++e)
    farthest = std::max(farthest, std::abs(a.offsets_s[e] - b.offsets_s[e]) / kSecondsPerLog);
  return farthest;
}

/// What is identifiable depends on where one stands, and where the edges lie decides what is
/// expected of the windows beside them: so choice, expectation and fit are taken in turn until
/// nothing moves.
Fit settle(const Windows& windows, CalibrationReport& report) {
  Fit fit;
  fit.standing = windows.start();
  for (int round = 0; round < kMostRounds; ++round) {
    const Groups groups = windows.groups(fit.standing, fit.noise_w);
    if (round < kChoosingRounds) {
      Identified identified = identified_at(windows, fit.standing, groups);
      fit.chosen = std::move(identified.chosen);
      report.rank = identified.rank;
      report.condition = identified.condition;
    }
    if (fit.chosen.empty())
      throw std::invalid_argument(
          "the logs tell none of the machine file's entries: expected an experiment with heat, or "
          "a longer log");
    const Standing before = fit.standing;
    const bool leapt =
        (round == kRoughRounds - 1 || round == kChoosingRounds) && leap(windows, groups, fit);
    refine(windows, groups, round < kRoughRounds, fit);
    if (leapt)
      continue;
    if (round >= kChoosingRounds && distance(before, fit.standing) < kSettled)
      break;
  }
  return fit;
}

/// How far the chosen may be off; what turns out to be known too vaguely after all goes back to
/// what it was.
Spread drop_vague(const Windows& windows, Fit& fit) {
  while (true) {
    Spread spread = spread_of(windows, fit);
    Eigen::Index weakest = 0;
    if (fit.chosen.size() < 2 || spread.deviation.maxCoeff(&weakest) < kVague)
      return spread;
    const std::size_t dropped = fit.chosen[static_cast<std::size_t>(weakest)];
    fit.standing.logs[dropped] = windows.start().logs[dropped];
    fit.chosen.erase(fit.chosen.begin() + weakest);
    refine(windows, windows.groups(fit.standing, fit.noise_w), false, fit);
  }
}

double rms(const Eigen::VectorXd& r) {
  return std::sqrt(r.squaredNorm() / static_cast<double>(r.size()));
}

void write_values(const Machine& machine, const Fit& fit, const Spread& spread,
                  CalibrationReport& report) {
  constexpr double kAtBound = 1e-6;  // of a logarithm
  for (std::size_t k = 0; k < parameters().size(); ++k) {
    const Parameter& parameter = parameters()[k];
    const auto found = std::find(fit.chosen.begin(), fit.chosen.end(), k);
    if (found == fit.chosen.end()) {
      report.not_identifiable.push_back(
          {parameter.key, parameter.get(machine), parameter.settled_by});
      continue;
    }
    const double value = fit.standing.logs[k];
    const double wide = spread.half_95[found - fit.chosen.begin()];
    const bool at_bound =
        value - std::log(parameter.low) < kAtBound || std::log(parameter.high) - value < kAtBound;
    report.fitted.push_back({parameter.key, parameter.unit, parameter.get(machine), std::exp(value),
                             std::exp(value - wide), std::exp(value + wide), at_bound});
  }
}

void write_experiments(const Windows& windows, const Standing& standing,
                       CalibrationReport& report) {
  const Eigen::VectorXd before_w = windows.predicted_w(windows.start());
  const Eigen::VectorXd after_w = windows.predicted_w(standing);
  for (std::size_t e = 0; e < windows.experiments().size(); ++e) {
    const Experiment& experiment = windows.experiments()[e];
    CalibratedExperiment one;
    one.experiment = experiment.name;
    one.log_path = experiment.log->path;
    one.log_hash = experiment.log->hash;
    one.offset_s = standing.offsets_s[e];
    one.doubts = experiment.log->doubts;
    one.doubts.insert(one.doubts.end(), windows.doubts()[e].begin(), windows.doubts()[e].end());
    report.experiments.push_back(std::move(one));
  }
  for (std::size_t i = 0; i < windows.count(); ++i) {
    const Window& window = windows.all()[i];
    const auto row = static_cast<Eigen::Index>(i);
    const double offset_s = standing.offsets_s[window.experiment];
    report.experiments[window.experiment].windows.push_back(
        {window.from_s - offset_s, window.to_s - offset_s, window.measured_w, before_w[row],
         after_w[row]});
  }
}

}  // namespace

CalibrationReport fit(const Machine& machine, const std::vector<Material>& materials,
                      const std::vector<Experiment>& experiments,
                      const CalibrationOptions& options) {
  CalibrationReport report;
  const Windows windows(machine, materials, experiments, options);
  Fit fit = settle(windows, report);
  const Spread spread = drop_vague(windows, fit);
  write_values(machine, fit, spread, report);
  report.converged = fit.converged;
  report.machine = windows.machine_at(fit.standing.logs);
  report.rms_before_w = rms(windows.residuals_w(windows.start()));
  report.rms_after_w = rms(windows.residuals_w(fit.standing));
  write_experiments(windows, fit.standing, report);
  if (!report.converged)
    report.notes.emplace_back("the fit did not settle; take its values with doubt");
  return report;
}

std::pair<std::size_t, double> promise_of(const Machine& machine,
                                          const std::vector<Material>& materials,
                                          const Experiment& experiment) {
  const std::vector<Experiment> experiments{experiment};
  const Windows windows(machine, materials, experiments, {});
  const Identified identified =
      identified_at(windows, windows.start(), windows.groups(windows.start(), 1.0));
  return {identified.chosen.size(), identified.worst_deviation};
}

}  // namespace platetally::calibrate
