// What is expected of a residual depends on where the edges of heaters lie, and so on where one
// stands: expectation and fit (refine.hpp) are taken in turn. Then windows are laid once more,
// where what was found has its edges, and the fit goes on.
#include "meter/calibrate/fit.hpp"

#include <fmt/format.h>

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <numeric>
#include <stdexcept>

#include "base/units.hpp"
#include "meter/calibrate/energy_band.hpp"
#include "meter/calibrate/identify.hpp"
#include "meter/calibrate/parameters.hpp"
#include "meter/calibrate/profile.hpp"
#include "meter/calibrate/refine.hpp"
#include "meter/calibrate/spread.hpp"
#include "meter/calibrate/statistics.hpp"
#include "meter/calibrate/windows.hpp"

namespace platetally::calibrate {

namespace {

// Assumed, all of them.
constexpr int kRoughRounds = 2;
constexpr int kMostRounds = 6;
constexpr double kLeaps[] = {0.05, 0.12, 0.25};  // of a logarithm
constexpr int kMostLeaps = 4;
constexpr double kWorthLeaping = 1e-3;  // of the loss
constexpr double kSettled = 1e-3;       // of a logarithm, or ten times that in seconds
constexpr double kMoves_w = 0.1;       // what moves no window by that when it doubles is left alone
constexpr double kOffByMuch = 0.03;    // of a log's energy, after the fit
constexpr double kNothingSaid = 0.98;  // of a prior's deviation that is left

Eigen::VectorXd priors_of(const std::vector<std::size_t>& chosen) {
  Eigen::VectorXd priors(static_cast<Eigen::Index>(chosen.size()));
  for (std::size_t k = 0; k < chosen.size(); ++k)
    priors[static_cast<Eigen::Index>(k)] = parameters()[chosen[k]].prior;
  return priors;
}

std::vector<double> first_noise(const Windows& windows) {
  std::vector<double> noise_w;
  for (const Stream& stream : windows.streams())
    noise_w.push_back(
        stream.is_power()
            ? kFirstNoise_w
            : 0.02 * stream.watts_each /
                  (kShown[stream.shown] == kBedDuty || kShown[stream.shown] == kNozzleDuty ? 1.0
                                                                                           : 0.02));
  return noise_w;
}

/// Those that the machine has and that move some window.
std::vector<std::size_t> movable(const Windows& windows, const Machine& machine) {
  const std::vector<std::size_t> all = applicable(machine);
  const Eigen::MatrixXd j = windows.jacobian(windows.start(), all);
  std::vector<std::size_t> those;
  for (std::size_t k = 0; k < all.size(); ++k)
    if (j.col(static_cast<Eigen::Index>(k)).cwiseAbs().maxCoeff() > kMoves_w)
      those.push_back(all[k]);
  return those;
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

/// From where it stands until nothing moves.
void settle(const Windows& windows, bool from_afar, Fit& fit) {
  for (int round = 0; round < kMostRounds; ++round) {
    const Groups groups = windows.groups(fit.standing, fit.noise_w);
    const Standing before = fit.standing;
    const bool leapt = from_afar && (round == kRoughRounds - 1 || round == kRoughRounds) &&
                       leap(windows, groups, fit);
    refine(windows, groups, from_afar && round < kRoughRounds, fit);
    if (!leapt && round >= (from_afar ? kRoughRounds : 0) &&
        distance(before, fit.standing) < kSettled)
      break;
  }
}

double rms(const Eigen::VectorXd& r) {
  return std::sqrt(r.squaredNorm() / static_cast<double>(r.size()));
}

/// Rows of the Jacobian by log.
std::vector<Eigen::MatrixXd> rows_by_log(const Windows& windows, const Groups& groups,
                                         const Eigen::MatrixXd& weighed,
                                         const Eigen::VectorXd& residuals) {
  std::vector<std::vector<Eigen::Index>> rows(windows.experiments().size());
  for (std::size_t g = 0; g < groups.count(); ++g)
    rows[windows.streams()[groups.stream[g]].experiment].push_back(static_cast<Eigen::Index>(g));
  std::vector<Eigen::MatrixXd> by_log;
  for (const std::vector<Eigen::Index>& those : rows) {
    Eigen::MatrixXd part = weighed(those, Eigen::all);
    // Far residuals count for less, as in the fit.
    for (std::size_t i = 0; i < those.size(); ++i) {
      const double share = residuals[those[i]] / kLossScale;
      if (!groups.is_total[static_cast<std::size_t>(those[i])])
        part.row(static_cast<Eigen::Index>(i)) *= std::pow(1.0 + share * share, -0.75);
    }
    by_log.push_back(std::move(part));
  }
  return by_log;
}

/// What is known of the chosen entries.
struct Knowledge {
  Shape shape;
  Profile profile;    ///< of days like those of the logs
  Profile over_days;  ///< what is given as interval
  Eigen::VectorXd priors;

  /// The share of what was uncertain that the logs leave.
  double left(Eigen::Index row) const {
    return std::max(shape.deviation[row], 0.5 * (profile.down[row] + profile.up[row]) / kHalf95) /
           priors[row];
  }
};

Profile profile_at(const Windows& windows, const Fit& fit, const Groups& groups,
                   const Eigen::MatrixXd& weighed, const Eigen::VectorXd& residuals,
                   const Eigen::VectorXd& priors) {
  Eigen::VectorXd slopes(residuals.size()), curvatures(residuals.size());
  for (Eigen::Index i = 0; i < residuals.size(); ++i) {
    const double share = residuals[i] / kLossScale;
    slopes[i] = groups.is_exact(i) ? residuals[i] : slope_of_loss(residuals[i]);
    curvatures[i] = groups.is_exact(i) ? 1.0 : std::pow(1.0 + share * share, -1.5);
  }
  FitEnd end{weighed.transpose() * curvatures.asDiagonal() * weighed, weighed.transpose() * slopes,
             priors, Eigen::VectorXd(priors.size())};
  for (Eigen::Index k = 0; k < priors.size(); ++k) {
    const std::size_t chosen = fit.chosen[static_cast<std::size_t>(k)];
    end.moved[k] = fit.standing.logs[chosen] - windows.start().logs[chosen];
  }
  return profile_of(end);
}

/// The wider of what was played and of the profile, and what days add.
Profile over_days(const Profile& profile, const Spread& spread, const Eigen::VectorXd& priors,
                  const Eigen::VectorXd& days) {
  Profile wide = profile;
  for (Eigen::VectorXd* side : {&wide.down, &wide.up})
    for (Eigen::Index k = 0; k < priors.size(); ++k)
      (*side)[k] = std::min(kHalf95 * priors[k],
                            std::hypot(std::max((*side)[k], spread.half_95[k]), kHalf95 * days[k]));
  return wide;
}

void write_values(const Machine& machine, const Windows& windows, const Knowledge& known, Fit& fit,
                  CalibrationReport& report) {
  constexpr double kAtBound = 1e-6;  // of a logarithm
  for (std::size_t k = 0; k < parameters().size(); ++k) {
    const Parameter& parameter = parameters()[k];
    if (!parameter.applies(machine))
      continue;
    const auto found = std::find(fit.chosen.begin(), fit.chosen.end(), k);
    const auto row = found - fit.chosen.begin();
    const bool is_moved =
        found != fit.chosen.end() && known.shape.deviation[row] <= kNothingSaid * parameter.prior;
    if (!is_moved)
      fit.standing.logs[k] = windows.start().logs[k];
    const double value = fit.standing.logs[k];
    const double down = is_moved ? known.over_days.down[row] : kHalf95 * parameter.prior;
    const double up = is_moved ? known.over_days.up[row] : kHalf95 * parameter.prior;
    if (!is_moved || known.left(row) >= kTold) {
      report.not_identifiable.push_back({parameter.key, std::exp(value), parameter.settled_by,
                                         parameter.unit, parameter.get(machine),
                                         std::exp(value - down), std::exp(value + up)});
      continue;
    }
    const bool at_bound =
        value - std::log(parameter.low) < kAtBound || std::log(parameter.high) - value < kAtBound;
    report.fitted.push_back({parameter.key, parameter.unit, parameter.get(machine), std::exp(value),
                             std::exp(value - down), std::exp(value + up), at_bound});
  }
}

/// Energy of each log, and what is said of it.
void write_totals(const Window& window, double before_w, double after_w,
                  CalibratedExperiment& experiment) {
  const double hours = (window.to_s - window.from_s) / base::kSecondsPerHour;
  experiment.measured_wh = window.measured_w * hours;
  experiment.before_wh = before_w * hours;
  experiment.after_wh = after_w * hours;
  const double off = after_w / window.measured_w - 1.0;
  if (std::abs(off) > kOffByMuch)
    experiment.doubts.push_back(fmt::format(
        "after the fit its energy is still {:+.1f} % off: something in it is not in the "
        "model, or not in the experiment",
        100.0 * off));
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
    const Stream& stream = windows.streams()[window.stream];
    CalibratedExperiment& experiment = report.experiments[stream.experiment];
    const double offset_s = standing.offsets_s[stream.experiment];
    if (window.is_total)
      write_totals(window, before_w[row], after_w[row], experiment);
    else if (stream.is_power() || (stream.shown < kShown.size() && experiment.measured_wh <= 0.0 &&
                                   kShown[stream.shown] == kBedDuty))
      experiment.windows.push_back({window.from_s - offset_s, window.to_s - offset_s,
                                    window.measured_w, before_w[row], after_w[row]});
  }
}

}  // namespace

CalibrationReport fit(const Machine& machine, const std::vector<Material>& materials,
                      const std::vector<Experiment>& experiments,
                      const CalibrationOptions& options) {
  CalibrationReport report;
  Fit fit;
  {
    const Windows first(machine, materials, experiments, options);
    fit.standing = first.start();
    fit.chosen = movable(first, machine);
    fit.noise_w = first_noise(first);
    if (fit.chosen.empty())
      throw std::invalid_argument(
          "the logs tell none of the machine file's entries: expected an experiment with heat, or "
          "a "
          "longer log");
    settle(first, true, fit);
  }
  const Windows windows(machine, materials, experiments, options, &fit.standing);
  fit.standing = windows.stand_at(fit.standing.logs, windows.start().offsets_s);
  settle(windows, false, fit);

  const Groups groups = windows.groups(fit.standing, fit.noise_w);
  const Eigen::MatrixXd weighed = groups.weighed(windows.jacobian(fit.standing, fit.chosen));
  const Eigen::VectorXd residuals = groups.weighed(windows.residuals_w(fit.standing));
  const Eigen::VectorXd priors = priors_of(fit.chosen);
  const std::vector<Eigen::MatrixXd> by_log = rows_by_log(windows, groups, weighed, residuals);
  Knowledge known;
  known.priors = priors;
  known.shape = shape_of(weighed, priors);
  known.profile = profile_at(windows, fit, groups, weighed, residuals, priors);
  report.rank = known.shape.rank;
  report.condition = known.shape.condition;
  const Eigen::MatrixXd of_days = covariance_over_days(by_log, priors, options.day_spread);
  const Eigen::MatrixXd of_one_day = covariance_over_days(by_log, priors, 0.0);
  const Eigen::VectorXd days = (of_days - of_one_day).diagonal().cwiseMax(0.0).cwiseSqrt();
  known.over_days = over_days(known.profile, spread_of(windows, fit), priors, days);
  write_values(machine, windows, known, fit, report);
  fit.standing = windows.stand_at(fit.standing.logs, fit.standing.offsets_s);
  report.converged = fit.converged;
  report.machine = windows.machine_at(fit.standing.logs);
  report.rms_before_w = rms(windows.residuals_w(windows.start()));
  report.rms_after_w = rms(windows.residuals_w(fit.standing));
  write_experiments(windows, fit.standing, report);
  double off = 0.0;
  for (const CalibratedExperiment& one : report.experiments)
    if (one.measured_wh > 0.0)
      off = std::max(off, std::abs(one.after_wh / one.measured_wh - 1.0));
  report.machine.supply.energy_spread =
      band_of_logs(report.machine, materials, fit.chosen, of_days, options.day_spread, off);
  if (!report.converged)
    report.notes.emplace_back("the fit did not settle; take its values with doubt");
  return report;
}

double promise_of(const Machine& machine, const std::vector<Material>& materials,
                  const Experiment& experiment, const std::vector<std::string>& keys) {
  const std::vector<Experiment> experiments{experiment};
  const Windows windows(machine, materials, experiments, {});
  const std::vector<std::size_t> chosen = movable(windows, machine);
  const Groups groups =
      windows.groups(windows.start(), std::vector<double>(windows.streams().size(), 1.0));
  const Shape shape =
      shape_of(groups.weighed(windows.jacobian(windows.start(), chosen)), priors_of(chosen));
  double worst = 0.0;
  for (const std::string& key : keys) {
    const auto found = std::find_if(chosen.begin(), chosen.end(),
                                    [&](std::size_t k) { return parameters()[k].key == key; });
    worst = std::max(worst, found == chosen.end() ? 1.0 : shape.deviation[found - chosen.begin()]);
  }
  return worst;
}

}  // namespace platetally::calibrate
