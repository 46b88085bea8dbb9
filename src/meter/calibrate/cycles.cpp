// On and off are the outer tenths of the watts; a switch is a way from one to the other that goes
// past the middle by a good part. The period is the median way from on to on.
#include "meter/calibrate/cycles.hpp"

#include <algorithm>
#include <cmath>
#include <vector>

namespace platetally::calibrate {

namespace {

// Assumed, all of them.
constexpr double kOuter = 0.06;
constexpr double kLeastSwing_w = 8.0;
constexpr double kLeastSwing = 0.2;  // of the mean
constexpr double kPast = 0.2;        // of the swing, past the middle
constexpr std::size_t kFewestSwitches = 8;
constexpr double kMostOfLog = 0.05;  // a longer period is no thermostat's

}  // namespace

double Cycle::deviation_w() const {
  return period_s > 0.0 ? (high_w - low_w) * std::sqrt(duty * (1.0 - duty)) : 0.0;
}

Cycle cycle_of(const MeterLog& log) {
  Cycle cycle;
  if (log.samples.size() < 4 * kFewestSwitches)
    return cycle;
  std::vector<double> watts;
  double sum_w = 0.0;
  for (const MeterSample& sample : log.samples) {
    watts.push_back(sample.w);
    sum_w += sample.w;
  }
  std::sort(watts.begin(), watts.end());
  const auto last = static_cast<double>(watts.size() - 1);
  cycle.low_w = watts[static_cast<std::size_t>(kOuter * last)];
  cycle.high_w = watts[static_cast<std::size_t>((1.0 - kOuter) * last)];
  const double swing_w = cycle.high_w - cycle.low_w;
  if (swing_w < std::max(kLeastSwing_w, kLeastSwing * sum_w / static_cast<double>(watts.size())))
    return cycle;
  const double on_w = cycle.low_w + (0.5 + kPast) * swing_w;
  const double off_w = cycle.low_w + (0.5 - kPast) * swing_w;
  std::vector<double> ways_s;
  std::vector<double> ons_s;
  double last_on_s = -1.0;
  double on_since_s = -1.0;
  for (const MeterSample& sample : log.samples) {
    if (on_since_s < 0.0 && sample.w > on_w) {
      if (last_on_s >= 0.0)
        ways_s.push_back(sample.t_s - last_on_s);
      last_on_s = on_since_s = sample.t_s;
    } else if (on_since_s >= 0.0 && sample.w < off_w) {
      ons_s.push_back(sample.t_s - on_since_s);
      on_since_s = -1.0;
    }
  }
  if (ways_s.size() < kFewestSwitches)
    return cycle;
  const auto median = [](std::vector<double>& values) {
    const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
    std::nth_element(values.begin(), middle, values.end());
    return *middle;
  };
  const double period_s = median(ways_s);
  if (period_s > kMostOfLog * log.duration_s())
    return cycle;
  cycle.period_s = period_s;
  cycle.duty = std::clamp(median(ons_s) / period_s, 0.01, 0.99);
  return cycle;
}

}  // namespace platetally::calibrate
