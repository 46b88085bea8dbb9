// Both series become window means on a common grid. The offset is the one at which they correlate
// best, weighed by how much overlaps; edges of heaters and the idle power before and behind decide,
// as they hold most of the variance. A finer search over offset and drift follows.
#include "meter/logs/align.hpp"

#include <algorithm>
#include <cmath>
#include <cstdint>

namespace platetally::meter {

namespace {

constexpr std::size_t kMostWindows = 800;  // a compromise of time and fineness
constexpr double kLeastOverlap = 0.5;      // assumed; of the shorter of the two

struct Score {
  double correlation = -2.0;
  double overlap_s = 0.0;
};

/// Correlation over windows of the prediction.
Score score(const PowerSeries& predicted, const MeterLog& log, double offset_s, double drift,
            double window_s) {
  // Some of what lies before and behind counts too, as the edges there tell most.
  const double margin_s = std::min(600.0, 0.2 * predicted.end_s);
  double n = 0.0, sx = 0.0, sy = 0.0, sxx = 0.0, syy = 0.0, sxy = 0.0;
  double inside = 0.0;
  const auto before = static_cast<std::int64_t>(std::floor(margin_s / window_s));
  const auto behind = static_cast<std::int64_t>(std::ceil((predicted.end_s + margin_s) / window_s));
  for (std::int64_t i = -before; i < behind; ++i) {
    const double from_s = static_cast<double>(i) * window_s;
    const double to_s = from_s + window_s;
    const auto y =
        platetally::mean_w(log, offset_s + (1.0 + drift) * from_s, offset_s + (1.0 + drift) * to_s);
    if (!y)
      continue;
    const double inside_s = std::max(0.0, std::min(to_s, predicted.end_s) - std::max(from_s, 0.0));
    const double x =
        predicted.mean_w(from_s, to_s) + predicted.idle_w * (1.0 - inside_s / window_s);
    inside += inside_s;
    n += 1.0;
    sx += x;
    sy += *y;
    sxx += x * x;
    syy += *y * *y;
    sxy += x * *y;
  }
  Score result;
  result.overlap_s = inside;
  if (n < 4.0)
    return result;
  const double vx = sxx - sx * sx / n;
  const double vy = syy - sy * sy / n;
  result.correlation = vx > 1e-9 && vy > 1e-9 ? (sxy - sx * sy / n) / std::sqrt(vx * vy) : 0.0;
  return result;
}

}  // namespace

double PowerSeries::mean_w(double from_s, double to_s) const {
  if (to_s <= from_s || start_s.empty())
    return 0.0;
  auto at = std::upper_bound(start_s.begin(), start_s.end(), from_s);
  std::size_t i = at == start_s.begin() ? 0 : static_cast<std::size_t>(at - start_s.begin()) - 1;
  double joules = 0.0;
  for (; i < start_s.size() && start_s[i] < to_s; ++i) {
    const double end = i + 1 < start_s.size() ? start_s[i + 1] : end_s;
    const double overlap_s = std::min(end, to_s) - std::max(start_s[i], from_s);
    if (overlap_s > 0.0)
      joules += overlap_s * w[i];
  }
  return joules / (to_s - from_s);
}

PowerSeries series_of(const std::vector<PowerSample>& power) {
  PowerSeries series;
  for (const PowerSample& sample : power) {
    if (sample.duration_s <= 0.0)
      continue;
    series.start_s.push_back(sample.start_s);
    series.w.push_back(sample.energy.sum_wh() * 3600.0 / sample.duration_s);
    series.end_s = sample.start_s + sample.duration_s;
  }
  return series;
}

Alignment align(const PowerSeries& predicted, const MeterLog& log, double most_drift) {
  Alignment best;
  if (predicted.start_s.empty() || log.samples.size() < 4)
    return best;
  const double shorter_s = std::min(predicted.end_s, log.duration_s());
  double window_s =
      std::max({log.interval_s, predicted.end_s / static_cast<double>(kMostWindows), 5.0});
  const double least_s = kLeastOverlap * shorter_s;
  double best_value = -2.0;
  const auto offer = [&](double offset_s, double drift, double window) {
    const Score now = score(predicted, log, offset_s, drift, window);
    // A little for the overlap, so that a flat stretch is not placed anywhere.
    const double value = now.correlation * std::min(1.0, now.overlap_s / shorter_s);
    if (now.overlap_s >= least_s && value > best_value) {
      best_value = value;
      best = {offset_s, drift, now.correlation, now.overlap_s};
    }
  };
  // Coarse to fine: at most a few hundred offsets of a few hundred windows each.
  double step_s = std::max(window_s, (log.duration_s() + predicted.end_s) / 800.0);
  const double coarse_s = std::max(window_s, predicted.end_s / 300.0);
  const double first_s = -predicted.end_s + least_s;
  const auto offsets =
      static_cast<std::int64_t>(std::floor((log.duration_s() - least_s - first_s) / step_s + 1.0));
  for (std::int64_t i = 0; i < offsets; ++i)
    offer(first_s + static_cast<double>(i) * step_s, 0.0, coarse_s);
  while (step_s > 0.1 * std::min(log.interval_s, 5.0)) {
    step_s *= 0.5;
    const double drift_step =
        most_drift > 0.0 ? std::min(most_drift, step_s / predicted.end_s) : 0.0;
    const Alignment centre = best;
    best_value = -2.0;
    const double window = std::max(window_s, std::min(coarse_s, 4.0 * step_s));
    for (int i = -2; i <= 2; ++i)
      for (int j = drift_step > 0.0 ? -3 : 0; j <= (drift_step > 0.0 ? 3 : 0); ++j)
        offer(centre.offset_s + i * step_s,
              std::clamp(centre.drift + j * drift_step, -most_drift, most_drift), window);
  }
  return best;
}

}  // namespace platetally::meter
