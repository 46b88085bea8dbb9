#include "meter/calibrate/explain.hpp"

#include <algorithm>
#include <cmath>

#include "meter/calibrate/parameters.hpp"

namespace platetally::calibrate {

namespace {

constexpr int kRounds = 4;  // of ever smaller factors, the last one 1.06

}  // namespace

OneByOne explain_by_one(const Machine& machine, const std::vector<Material>& materials,
                        const Experiment& experiment, const meter::Alignment& alignment,
                        double window_s) {
  OneByOne result;
  const MeterLog& log = *experiment.log;
  const auto sum_at = [&](const Machine& candidate) {
    const meter::PowerSeries series = predict(candidate, materials, experiment).power;
    double sum = 0.0;
    const auto windows = static_cast<std::size_t>(std::floor(series.end_s / window_s));
    for (std::size_t i = 0; i < windows; ++i) {
      const double from_s = static_cast<double>(i) * window_s;
      const auto y = mean_w(log, alignment.offset_s + (1.0 + alignment.drift) * from_s,
                            alignment.offset_s + (1.0 + alignment.drift) * (from_s + window_s));
      if (y)
        sum += std::pow(*y - series.mean_w(from_s, from_s + window_s), 2);
    }
    return sum;
  };
  result.as_is_w2 = sum_at(machine);
  for (const Parameter& parameter : parameters()) {
    if (!parameter.applies(machine)) {
      result.alone.push_back({parameter.get(machine), result.as_is_w2});
      continue;
    }
    const double now = std::clamp(parameter.get(machine), parameter.low, parameter.high);
    double best_value = now;
    double best_sum = result.as_is_w2;
    // A parabola would do near the best; a few factors and a refinement are surer.
    double factor = 1.6;  // assumed: machine files are off by less than twice
    for (int round = 0; round < kRounds; ++round) {
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
    result.alone.push_back({best_value, best_sum});
  }
  return result;
}

}  // namespace platetally::calibrate
