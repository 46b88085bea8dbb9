// Windows of watts are as short as the caller wants where the prediction has an edge, and as long
// as several cycles of a thermostat where it holds: the model holds with the mean, and a window
// that is shorter than a cycle shows on or off. One more window holds all of a log against all of
// its experiment. A print that lasts a few percent longer or shorter than it is predicted to is
// laid on its log whole, so that what it took in all is compared: seconds that are missing are then
// taken for watts.
#include "meter/calibrate/windows.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <stdexcept>
#include <utility>

#include "base/run_each.hpp"
#include "base/units.hpp"
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
constexpr double kCycles = 5.0;           // in a window
constexpr double kLongestWindow_s = 900.0;
constexpr double kEven = 0.25;         // of a thermostat's swing: the prediction holds
constexpr double kTotalShare = 0.005;  // of a log, that its total is held to
constexpr double kMostStretch = 0.07;  // of the time of laying
constexpr double kHeaterWindow_s = 60.0;
constexpr double kKelvin = 0.02;  // a kelvin counts as so much of a heater's power

Eigen::Index at(std::size_t i) {
  return static_cast<Eigen::Index>(i);
}

}  // namespace

Windows::Windows(const Machine& machine, const std::vector<Material>& materials,
                 const std::vector<Experiment>& experiments, const CalibrationOptions& options,
                 const Standing* shape)
    : machine_(machine), materials_(materials), experiments_(experiments) {
  for (const Parameter& parameter : parameters()) {
    const double value = parameter.applies(machine) ? parameter.get(machine) : parameter.low;
    start_.logs.push_back(std::log(std::clamp(value, parameter.low, parameter.high)));
  }
  for (const Experiment& experiment : experiments)
    start_.courses.push_back(predict(machine_, materials_, experiment));
  shape_ = shape != nullptr ? shape->courses : start_.courses;
  for (std::size_t i = 0; i < experiments.size(); ++i)
    add(i, options.window_s);
  if (windows_.size() < kFewestWindows)
    throw std::invalid_argument(
        "the logs have too little in common with their experiments: fewer than four windows");
}

bool Windows::has_offset(std::size_t experiment) const {
  return !experiments_[experiment].is_idle && !experiments_[experiment].is_logged;
}

void Windows::add(std::size_t e, double window_s) {
  const Experiment& experiment = experiments_[e];
  doubts_.emplace_back();
  start_.offsets_s.push_back(0.0);
  stretch_.push_back(0.0);
  ends_s_.push_back(0.0);
  if (has_offset(e) && !experiment.log->samples.empty())
    find_place(e);
  if (!experiment.is_logged && !experiment.log->samples.empty())
    add_power(e, window_s);
  if (!experiment.log->heaters.empty())
    add_heaters(e);
}

void Windows::find_place(std::size_t e) {
  const Experiment& experiment = experiments_[e];
  const Course& course = shape_[e];
  const MeterLog& log = *experiment.log;
  meter::Place place;
  if (experiment.is_plate) {
    place = meter::place_print(course.power, log, 0.0);
  } else {
    place.alignment = meter::align(course.power, log, 0.0);
    place.told_by_power = true;
  }
  const double offset_s = place.alignment.offset_s;
  start_.offsets_s[e] = offset_s;
  if (!place.told_by_power)
    doubts_[e].push_back(fmt::format(
        "nothing in the power says where it begins; it was laid {:.0f} s into the log", offset_s));
  else if (place.alignment.correlation < kDoubtfulCorrelation)
    doubts_[e].push_back(
        fmt::format("what was predicted and what was measured hardly go together (correlation "
                    "{:.2f}): is it the right experiment?",
                    place.alignment.correlation));
  if (!place.same_length)
    return;
  // What idles behind the print is no part of it.
  constexpr double kIdles_s = 30.0;
  const double draws_to_s = meter::end_of_draw_s(log, offset_s, course.power.idle_w,
                                                 course.power.mean_w(0.0, course.power.end_s));
  const double end_s = log.duration_s() - draws_to_s > kIdles_s ? draws_to_s : log.duration_s();
  const double laying_s = course.power.end_s - course.laying_from_s;
  const double left_s = end_s - offset_s - course.laying_from_s;
  if (experiment.moves && laying_s > 0.0 && std::abs(left_s / laying_s - 1.0) < kMostStretch) {
    stretch_[e] = left_s / laying_s;
    ends_s_[e] = end_s;
  }
}

void Windows::add_power(std::size_t e, double window_s) {
  const Experiment& experiment = experiments_[e];
  const MeterLog& log = *experiment.log;
  const Course& course = shape_[e];
  const double offset_s = start_.offsets_s[e];
  streams_.push_back({e, kShown.size(), 1.0});
  // Windows are whole samples, so that none of their noise is in two windows.
  const double interval_s = log.interval_s > 0.0 ? log.interval_s : window_s;
  const double step_s = std::max(1.0, std::round(window_s / interval_s)) * interval_s;
  const Cycle cycle = cycle_of(log);
  const double long_s =
      std::clamp(std::ceil(kCycles * cycle.period_s / interval_s) * interval_s, step_s,
                 std::max(step_s, std::min(kLongestWindow_s, 0.1 * log.duration_s())));
  // What is before a print that is laid on its log whole is not known to be idling.
  const double begin_s = std::max(0.0, is_whole(e) ? offset_s : offset_s - kWindowsBefore * step_s);
  const double end_s =
      is_whole(e) ? ends_s_[e] : std::min(log.duration_s(), offset_s + course.power.end_s);
  const double covered_s = end_s - std::max(offset_s, 0.0);
  if (!experiment.is_idle && covered_s < kLeastCover * course.power.end_s)
    doubts_[e].push_back(fmt::format("the log covers {:.0f} of {:.0f} s", std::max(0.0, covered_s),
                                     course.power.end_s));
  const auto sample_at = [&log](double t_s) {
    return std::lower_bound(
        log.samples.begin(), log.samples.end(), t_s,
        [](const MeterSample& sample, double least_s) { return sample.t_s < least_s; });
  };
  const auto holds = [&](double from_s) {
    const double from = course_s(course, e, offset_s, from_s);
    const double to = course_s(course, e, offset_s, from_s + long_s);
    return from >= 0.0 && to <= course.power.end_s && from_s + long_s <= end_s &&
           edge_w(course.power, from, to) < kEven * (cycle.high_w - cycle.low_w);
  };
  for (auto sample = sample_at(begin_s); sample != log.samples.end();) {
    const double from_s = sample->t_s;
    const bool is_long = long_s > step_s && holds(from_s);
    double to_s = from_s + (is_long ? long_s : step_s);
    sample = sample_at(to_s - 0.5 * interval_s);
    if (sample != log.samples.end() && sample->t_s < to_s + 0.5 * interval_s)
      to_s = sample->t_s;
    if (to_s > end_s)
      break;
    const auto w = mean_w(log, from_s, to_s);
    if (!w)
      continue;
    Window window{streams_.size() - 1, from_s, to_s, *w, 0.0, false};
    const double expected_w = course.power.mean_w(course_s(course, e, offset_s, from_s),
                                                  course_s(course, e, offset_s, to_s));
    if (!is_long && long_s > step_s &&
        expected_w < cycle.low_w + 0.8 * (cycle.high_w - cycle.low_w))
      window.cycle_w = cycle.deviation_w();
    windows_.push_back(window);
  }
  if (!experiment.is_idle)
    add_total(streams_.size() - 1, std::max(offset_s, 0.0), end_s);
}

void Windows::add_total(std::size_t stream, double begin_s, double end_s) {
  if (const auto w = mean_w(*experiments_[streams_[stream].experiment].log, begin_s, end_s))
    windows_.push_back({stream, begin_s, end_s, *w, 0.0, true});
}

void Windows::add_heaters(std::size_t e) {
  const MeterLog& log = *experiments_[e].log;
  const double bed_w = machine_.bed.tile_power_w * machine_.bed.rows * machine_.bed.columns;
  const double head_w = machine_.heads.front().power_w;
  const double end_s = start_.offsets_s[e] + shape_[e].power.end_s;
  for (std::size_t shown = 0; shown < kShown.size(); ++shown) {
    const HeaterColumn column = kShown[shown];
    const bool is_bed = column == kBedC || column == kBedDuty;
    const bool is_duty = column == kBedDuty || column == kNozzleDuty;
    streams_.push_back({e, shown, (is_bed ? bed_w : head_w) * (is_duty ? 1.0 : kKelvin)});
    Window window;
    double sum = 0.0;
    double known_s = 0.0;
    const auto flush = [&] {
      if (known_s > 0.5 * kHeaterWindow_s)
        windows_.push_back({streams_.size() - 1, window.from_s, window.to_s,
                            streams_.back().watts_each * sum / known_s, 0.0, false});
      sum = known_s = 0.0;
    };
    for (const HeaterReading& reading : log.heaters) {
      if (reading.t_s < start_.offsets_s[e] || reading.t_s + reading.lasts_s > end_s)
        continue;
      if (known_s > 0.0 && reading.t_s + reading.lasts_s - window.from_s > kHeaterWindow_s)
        flush();
      if (!std::isfinite(reading.values[column]))
        continue;
      if (known_s == 0.0)
        window.from_s = reading.t_s;
      window.to_s = reading.t_s + reading.lasts_s;
      sum += reading.values[column] * reading.lasts_s;
      known_s += reading.lasts_s;
    }
    flush();
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
    standing.courses.push_back(predict(machine, materials_, experiment));
  return standing;
}

std::vector<Standing> Windows::stand_at_each(std::vector<std::vector<double>> logs,
                                             const std::vector<double>& offsets_s) const {
  std::vector<Standing> standings(logs.size());
  base::run_each(logs.size(), base::all_cores(),
                 [&](std::size_t i) { standings[i] = stand_at(std::move(logs[i]), offsets_s); });
  return standings;
}

/// Of an instant of the log, in the experiment. Laying is stretched where the lengths are one.
double Windows::course_s(const Course& course, std::size_t e, double offset_s, double t_s) const {
  const double since_s = t_s - offset_s;
  if (!is_whole(e) || since_s <= course.laying_from_s)
    return since_s;
  return course.laying_from_s + (since_s - course.laying_from_s) / stretch_[e];
}

double Windows::predicted_w(const Window& window, const Standing& standing, double later_s) const {
  const Stream& stream = streams_[window.stream];
  const std::size_t e = stream.experiment;
  const Course& course = standing.courses[e];
  const double log_s = window.to_s - window.from_s;
  if (window.is_total && is_whole(e))
    return base::j_from_wh(course.energy_wh) / log_s;
  const double offset_s = standing.offsets_s[e] + later_s;
  const double from_s = course_s(course, e, offset_s, window.from_s);
  const double to_s = course_s(course, e, offset_s, window.to_s);
  if (!stream.is_power())
    return stream.watts_each * course.heaters[stream.shown].mean_w(std::max(0.0, from_s), to_s);
  // Before the experiment, and behind it, the machine idles.
  const double begin_s = std::max(0.0, from_s);
  const double end_s = std::min(to_s, course.power.end_s);
  const double inside_s = std::max(0.0, end_s - begin_s);
  const double idle_s = to_s - from_s - inside_s;
  const double inside_j = inside_s > 0.0 ? inside_s * course.power.mean_w(begin_s, end_s) : 0.0;
  return (idle_s * course.power.idle_w + inside_j) / log_s;
}

Eigen::VectorXd Windows::predicted_w(const Standing& standing,
                                     const std::vector<double>& later_s) const {
  Eigen::VectorXd predicted(at(windows_.size()));
  for (std::size_t i = 0; i < windows_.size(); ++i)
    predicted[at(i)] =
        predicted_w(windows_[i], standing, later_s[streams_[windows_[i].stream].experiment]);
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
    const Course& course = standing.courses[e];
    for (MeterSample& sample : shown.back().samples) {
      const double t_s = course_s(course, e, offset_s, sample.t_s);
      while (piece + 1 < course.power.w.size() && course.power.start_s[piece + 1] <= t_s)
        ++piece;
      const bool is_outside = t_s < 0.0 || t_s >= course.power.end_s;
      sample.w = is_outside || course.power.w.empty() ? course.power.idle_w : course.power.w[piece];
    }
  }
  Eigen::VectorXd seen(at(windows_.size()));
  for (std::size_t i = 0; i < windows_.size(); ++i) {
    const Window& window = windows_[i];
    const std::size_t e = streams_[window.stream].experiment;
    // A total is the sum of many edges, and sensors are not sampled too rarely.
    if (window.is_total || !streams_[window.stream].is_power())
      seen[at(i)] = predicted_w(window, standing, later_s[e]);
    else  // known where the measured one was, as the samples stand for the same spans
      seen[at(i)] = mean_w(shown[e], window.from_s, window.to_s).value_or(window.measured_w);
  }
  return seen;
}

std::vector<double> Windows::intervals_s(double factor) const {
  std::vector<double> intervals;
  for (const Experiment& experiment : experiments_)
    intervals.push_back(
        experiment.is_idle || experiment.is_logged ? 0.0 : factor * experiment.log->interval_s);
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

Groups Windows::groups(const Standing& standing, const std::vector<double>& noise_w) const {
  // A sample holds until the next one, so an edge is off by an even chance within the interval,
  // whose standard deviation is its length over the root of 12.
  const auto missed_w = [&](const Window& from, const Window& to) {
    if (!streams_[from.stream].is_power() || from.is_total)
      return 0.0;
    const std::size_t e = streams_[from.stream].experiment;
    const double interval_s = experiments_[e].log->interval_s;
    const Course& course = standing.courses[e];
    const double share = interval_s / (to.to_s - from.from_s) / std::sqrt(12.0);
    return share *
           edge_w(course.power,
                  course_s(course, e, standing.offsets_s[e], from.from_s - 0.5 * interval_s),
                  course_s(course, e, standing.offsets_s[e], to.to_s + 0.5 * interval_s));
  };
  Groups groups;
  std::vector<double> expected_w;
  for (std::size_t i = 0; i < windows_.size();) {
    const Window& begin = windows_[i];
    const double noise = noise_w[begin.stream];
    const auto is_edge = [&](const Window& window) {
      return window.stream == begin.stream && missed_w(window, window) > noise;
    };
    const double reach_s = kIntervalsOfEdge * experiment_of(begin).log->interval_s;
    std::size_t end = i + 1;
    if (is_edge(begin))
      while (end < windows_.size() && windows_[end].to_s - begin.from_s <= reach_s &&
             is_edge(windows_[end]))
        ++end;
    groups.first.push_back(i);
    groups.is_edge.push_back(is_edge(begin));
    groups.stream.push_back(begin.stream);
    groups.is_total.push_back(begin.is_total);
    expected_w.push_back(begin.is_total
                             ? std::max(kTotalShare * begin.measured_w, 1e-3)
                             : std::hypot(noise / std::sqrt(static_cast<double>(end - i)),
                                          missed_w(begin, windows_[end - 1]), begin.cycle_w));
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
  std::vector<std::vector<double>> beside;  // up and down of each entry, inside its range
  for (std::size_t k = 0; k < chosen.size(); ++k)
    for (const double sign : {1.0, -1.0}) {
      const Parameter& parameter = parameters()[chosen[k]];
      beside.push_back(standing.logs);
      double& value = beside.back()[chosen[k]];
      value = std::clamp(value + sign * steps[at(k)], std::log(parameter.low),
                         std::log(parameter.high));
    }
  std::vector<double> chords;
  for (std::size_t k = 0; k < chosen.size(); ++k)
    chords.push_back(beside[2 * k][chosen[k]] - beside[2 * k + 1][chosen[k]]);
  const std::vector<Standing> there = stand_at_each(std::move(beside), standing.offsets_s);
  for (std::size_t k = 0; k < chosen.size(); ++k)
    j.col(at(k)) = (predicted_w(there[2 * k]) - predicted_w(there[2 * k + 1])) / chords[k];
  for (std::size_t e = 0; e < experiments_.size(); ++e) {
    const Eigen::Index column = at(chosen.size() + e);
    if (!has_offset(e)) {
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
