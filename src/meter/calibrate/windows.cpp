#include "meter/calibrate/windows.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <atomic>
#include <cmath>
#include <exception>
#include <mutex>
#include <stdexcept>
#include <thread>
#include <utility>

#include "meter/calibrate/parameters.hpp"

namespace platetally::calibrate {

namespace {

constexpr double kOffsetStep_s = 0.5;
// Assumed, as are the shares below.
constexpr std::size_t kFewestWindows = 4;
constexpr double kDoubtfulCorrelation = 0.6;
constexpr double kLeastCover = 0.5;
constexpr double kIntervalsOfEdge = 3.0;  // within which a plug shows an edge
constexpr double kWindowsBefore = 4.0;    // of idling, so that the first edge is seen

Eigen::Index at(std::size_t i) {
  return static_cast<Eigen::Index>(i);
}

}  // namespace

Windows::Windows(const Machine& machine, const std::vector<Material>& materials,
                 const std::vector<Experiment>& experiments, const CalibrationOptions& options)
    : machine_(machine), materials_(materials), experiments_(experiments) {
  for (const Parameter& parameter : parameters())
    start_.logs.push_back(
        std::log(std::clamp(parameter.get(machine), parameter.low, parameter.high)));
  for (std::size_t i = 0; i < experiments.size(); ++i)
    add(i, options.window_s);
  if (windows_.size() < kFewestWindows)
    throw std::invalid_argument(
        "the logs have too little in common with their experiments: fewer than four windows");
}

void Windows::add(std::size_t e, double window_s) {
  const Experiment& experiment = experiments_[e];
  const MeterLog& log = *experiment.log;
  doubts_.emplace_back();
  start_.series.push_back(predict(machine_, materials_, experiment));
  const meter::PowerSeries& series = start_.series.back();
  double offset_s = 0.0;
  if (!experiment.is_idle) {
    const meter::Alignment alignment = meter::align(series, log, 0.0);
    offset_s = alignment.offset_s;
    if (alignment.correlation < kDoubtfulCorrelation)
      doubts_.back().push_back(
          fmt::format("what was predicted and what was measured hardly go together (correlation "
                      "{:.2f}): is it the right experiment?",
                      alignment.correlation));
  }
  start_.offsets_s.push_back(offset_s);
  // Windows are whole samples, so that none of their noise is in two windows.
  const double samples = std::max(1.0, std::round(window_s / std::max(log.interval_s, 1e-9)));
  const double step_s = log.interval_s > 0.0 ? samples * log.interval_s : window_s;
  const double begin_s = std::max(0.0, offset_s - kWindowsBefore * step_s);
  const double end_s = std::min(log.duration_s(), offset_s + series.end_s);
  const double covered_s = end_s - std::max(offset_s, 0.0);
  if (!experiment.is_idle && covered_s < kLeastCover * series.end_s)
    doubts_.back().push_back(
        fmt::format("the log covers {:.0f} of {:.0f} s", std::max(0.0, covered_s), series.end_s));
  const auto sample_at = [&log](double t_s) {
    return std::lower_bound(
        log.samples.begin(), log.samples.end(), t_s,
        [](const MeterSample& sample, double least_s) { return sample.t_s < least_s; });
  };
  for (auto sample = sample_at(begin_s); sample != log.samples.end();) {
    const double from_s = sample->t_s;
    double to_s = from_s + step_s;
    sample = sample_at(to_s - 0.5 * log.interval_s);
    if (sample != log.samples.end() && sample->t_s < to_s + 0.5 * log.interval_s)
      to_s = sample->t_s;
    if (to_s > end_s)
      break;
    if (const auto w = mean_w(log, from_s, to_s))
      windows_.push_back({e, from_s, to_s, *w});
  }
}

Windows Windows::with_measured(const Eigen::VectorXd& measured_w) const {
  Windows other = *this;
  for (std::size_t i = 0; i < windows_.size(); ++i)
    other.windows_[i].measured_w = measured_w[at(i)];
  return other;
}

Machine Windows::machine_at(const std::vector<double>& logs) const {
  Machine changed = machine_;
  for (std::size_t i = 0; i < logs.size(); ++i)
    if (logs[i] != start_.logs[i])
      parameters()[i].set(changed, std::exp(logs[i]));
  return changed;
}

Standing Windows::stand_at(std::vector<double> logs, std::vector<double> offsets_s) const {
  const Machine machine = machine_at(logs);
  Standing standing{std::move(logs), std::move(offsets_s), {}};
  for (const Experiment& experiment : experiments_)
    standing.series.push_back(predict(machine, materials_, experiment));
  return standing;
}

std::vector<Standing> Windows::stand_at_each(std::vector<std::vector<double>> logs,
                                             const std::vector<double>& offsets_s) const {
  std::vector<Standing> standings(logs.size());
  std::atomic<std::size_t> next{0};
  std::mutex guard;
  std::exception_ptr failure;
  const auto work = [&] {
    for (std::size_t i = next++; i < logs.size(); i = next++) {
      try {
        standings[i] = stand_at(std::move(logs[i]), offsets_s);
      } catch (...) {
        const std::lock_guard lock(guard);
        failure = std::current_exception();
        next = logs.size();
      }
    }
  };
  const std::size_t helpers =
      std::min<std::size_t>(logs.size(), std::clamp(std::thread::hardware_concurrency(), 1U, 16U));
  {
    std::vector<std::jthread> threads;  // joined at the end of the block, whatever happens
    for (std::size_t i = 1; i < helpers; ++i)
      threads.emplace_back(work);
    work();
  }
  if (failure)
    std::rethrow_exception(failure);
  return standings;
}

Eigen::VectorXd Windows::predicted_w(const Standing& standing,
                                     const std::vector<double>& later_s) const {
  Eigen::VectorXd predicted(at(windows_.size()));
  for (std::size_t i = 0; i < windows_.size(); ++i) {
    const Window& window = windows_[i];
    const meter::PowerSeries& series = standing.series[window.experiment];
    const double offset_s = standing.offsets_s[window.experiment] + later_s[window.experiment];
    const double from_s = window.from_s - offset_s;
    const double to_s = window.to_s - offset_s;
    // Before the experiment the machine idles.
    const double before_s = std::clamp(-from_s, 0.0, to_s - from_s);
    const double inside_s = to_s - from_s - before_s;
    const double inside_j =
        inside_s > 0.0 ? inside_s * series.mean_w(from_s + before_s, to_s) : 0.0;
    predicted[at(i)] = (before_s * series.idle_w + inside_j) / (to_s - from_s);
  }
  return predicted;
}

Eigen::VectorXd Windows::predicted_w(const Standing& standing) const {
  return predicted_w(standing, intervals_s(0.0));
}

Eigen::VectorXd Windows::sampled_w(const Standing& standing,
                                   const std::vector<double>& later_s) const {
  std::vector<MeterLog> shown;
  for (std::size_t e = 0; e < experiments_.size(); ++e) {
    shown.emplace_back();
    shown.back().samples = experiments_[e].log->samples;
    const double offset_s = standing.offsets_s[e] + later_s[e];
    std::size_t piece = 0;
    const meter::PowerSeries& series = standing.series[e];
    for (MeterSample& sample : shown.back().samples) {
      const double t_s = sample.t_s - offset_s;
      while (piece + 1 < series.w.size() && series.start_s[piece + 1] <= t_s)
        ++piece;
      const bool is_outside = t_s < 0.0 || t_s >= series.end_s;
      sample.w = is_outside || series.w.empty() ? series.idle_w : series.w[piece];
    }
  }
  Eigen::VectorXd seen(at(windows_.size()));
  for (std::size_t i = 0; i < windows_.size(); ++i) {
    const Window& window = windows_[i];
    // Known where the measured one was, as the samples stand for the same spans.
    seen[at(i)] =
        mean_w(shown[window.experiment], window.from_s, window.to_s).value_or(window.measured_w);
  }
  return seen;
}

std::vector<double> Windows::intervals_s(double factor) const {
  std::vector<double> intervals;
  for (const Experiment& experiment : experiments_)
    intervals.push_back(experiment.is_idle ? 0.0 : factor * experiment.log->interval_s);
  return intervals;
}

Eigen::VectorXd Windows::residuals_w(const Standing& standing) const {
  Eigen::VectorXd r = predicted_w(standing);
  for (std::size_t i = 0; i < windows_.size(); ++i)
    r[at(i)] -= windows_[i].measured_w;
  return r;
}

/// Highest less lowest power in a span.
double Windows::edge_w(const meter::PowerSeries& series, double from_s, double to_s) const {
  double low = from_s < 0.0 ? machine_.supply.idle_w : 1e300;
  double high = from_s < 0.0 ? machine_.supply.idle_w : 0.0;
  const auto first = std::upper_bound(series.start_s.begin(), series.start_s.end(), from_s);
  std::size_t i = first == series.start_s.begin()
                      ? 0
                      : static_cast<std::size_t>(first - series.start_s.begin()) - 1;
  for (; i < series.w.size() && series.start_s[i] < to_s; ++i) {
    low = std::min(low, series.w[i]);
    high = std::max(high, series.w[i]);
  }
  return std::max(0.0, high - low);
}

Groups Windows::groups(const Standing& standing, double noise_w) const {
  // A sample holds until the next one, so an edge is off by an even chance within the interval,
  // whose standard deviation is its length over the root of 12.
  const auto missed_w = [&](const Window& from, const Window& to) {
    const double interval_s = experiments_[from.experiment].log->interval_s;
    const double offset_s = standing.offsets_s[from.experiment];
    const double share = interval_s / (to.to_s - from.from_s) / std::sqrt(12.0);
    return share * edge_w(standing.series[from.experiment],
                          from.from_s - offset_s - 0.5 * interval_s,
                          to.to_s - offset_s + 0.5 * interval_s);
  };
  Groups groups;
  std::vector<double> expected_w;
  for (std::size_t i = 0; i < windows_.size();) {
    const Window& begin = windows_[i];
    const auto is_edge = [&](const Window& window) {
      return window.experiment == begin.experiment && missed_w(window, window) > noise_w;
    };
    const double reach_s = kIntervalsOfEdge * experiments_[begin.experiment].log->interval_s;
    std::size_t end = i + 1;
    if (is_edge(begin))
      while (end < windows_.size() && windows_[end].to_s - begin.from_s <= reach_s &&
             is_edge(windows_[end]))
        ++end;
    groups.first.push_back(i);
    groups.is_edge.push_back(is_edge(begin));
    expected_w.push_back(std::hypot(noise_w / std::sqrt(static_cast<double>(end - i)),
                                    missed_w(begin, windows_[end - 1])));
    i = end;
  }
  groups.first.push_back(windows_.size());
  groups.expected_w = Eigen::Map<Eigen::VectorXd>(expected_w.data(), at(expected_w.size()));
  return groups;
}

Eigen::MatrixXd Groups::weighed(const Eigen::MatrixXd& by_window) const {
  Eigen::MatrixXd means(at(count()), by_window.cols());
  for (std::size_t g = 0; g < count(); ++g)
    means.row(at(g)) =
        by_window.middleRows(at(first[g]), at(first[g + 1] - first[g])).colwise().mean() /
        expected_w[at(g)];
  return means;
}

Eigen::MatrixXd Windows::jacobian(const Standing& standing, const std::vector<std::size_t>& chosen,
                                  const Eigen::VectorXd& steps) const {
  Eigen::MatrixXd j(at(windows_.size()), at(chosen.size() + experiments_.size()));
  std::vector<std::vector<double>> beside;  // up and down of each entry
  for (std::size_t k = 0; k < chosen.size(); ++k)
    for (const double sign : {1.0, -1.0}) {
      beside.push_back(standing.logs);
      beside.back()[chosen[k]] += sign * steps[at(k)];
    }
  const std::vector<Standing> there = stand_at_each(std::move(beside), standing.offsets_s);
  for (std::size_t k = 0; k < chosen.size(); ++k)
    j.col(at(k)) =
        (predicted_w(there[2 * k]) - predicted_w(there[2 * k + 1])) / (2.0 * steps[at(k)]);
  for (std::size_t e = 0; e < experiments_.size(); ++e) {
    const Eigen::Index column = at(chosen.size() + e);
    if (experiments_[e].is_idle) {
      j.col(column).setZero();
      continue;
    }
    std::vector<double> later_s(experiments_.size(), 0.0);
    later_s[e] = kOffsetStep_s;
    const Eigen::VectorXd later_w = predicted_w(standing, later_s);
    later_s[e] = -kOffsetStep_s;
    j.col(column) = (later_w - predicted_w(standing, later_s)) / (2.0 * kOffsetStep_s);
  }
  return j;
}

}  // namespace platetally::calibrate
