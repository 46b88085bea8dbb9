// Both series become window means on a common grid. The offset is the one at which they correlate
// best, weighed by how much overlaps; edges of heaters and the idle power before and behind decide,
// as they hold most of the variance. A finer search over offset and drift follows.
#include "meter/logs/align.hpp"

#include <algorithm>
#include <cmath>
#include <cstdint>

#include "base/units.hpp"

namespace platetally::meter {

namespace {

constexpr std::size_t kMostWindows = 800;  // a compromise of time and fineness
// Assumed, all of them.
constexpr double kLeastOverlap = 0.5;      // of the shorter of the two
constexpr double kClear = 0.8;             // correlation of a place that needs no smoothing
constexpr double kSmoothed_s = 60.0;       // at least
constexpr double kFine_s = 10.0;           // windows that tell where an edge lies
constexpr double kSameLength = 0.06;       // of the print, and
constexpr double kBegins_s = 30.0;         // a print of the log's length begins within that,
constexpr double kBegins = 0.01;           // and that share of it
constexpr double kSameLength_s = 30.0;     // so many seconds
constexpr double kTold = 0.5;              // correlation that says where a print begins,
constexpr double kBetterThanStart = 0.05;  // if it is so much above that of beginning together

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
    series.w.push_back(base::j_from_wh(sample.energy.sum_wh()) / sample.duration_s);
    series.end_s = sample.start_s + sample.duration_s;
  }
  return series;
}

namespace {

/// Whether smoothed power hardly moves: what correlates then are trifles.
bool is_flat(const MeterLog& log, double window_s) {
  constexpr double kFlat = 0.05;  // of the mean; assumed
  double n = 0.0;
  double sum = 0.0;
  double squares = 0.0;
  for (double from_s = 0.0; from_s + window_s <= log.duration_s(); from_s += window_s)
    if (const auto w = platetally::mean_w(log, from_s, from_s + window_s)) {
      n += 1.0;
      sum += *w;
      squares += *w * *w;
    }
  if (n < 2.0)
    return true;
  const double mean = sum / n;
  return squares / n - mean * mean < kFlat * kFlat * mean * mean;
}

class Placing {
 public:
  Placing(const PowerSeries& predicted, const MeterLog& log)
      : predicted_(predicted),
        log_(log),
        shorter_s_(std::min(predicted.end_s, log.duration_s())),
        smoothed_s_(std::max({kSmoothed_s, 3.0 * log.interval_s, predicted.end_s / 400.0})) {}

  Place place() {
    const double slack_s = kSameLength * predicted_.end_s + kSameLength_s;
    const double longer_s = log_.duration_s() - predicted_.end_s;
    Place place;
    place.smoothed_s = smoothed_s_;
    place.same_length = std::abs(longer_s) <= slack_s;
    const double least_s = kLeastOverlap * shorter_s_;
    // A print that is as long as its log begins with it or a little later.
    const double first_s = place.same_length ? -kFine_s : least_s - predicted_.end_s;
    const double last_s = place.same_length
                              ? std::max(0.0, longer_s) + kBegins_s + kBegins * predicted_.end_s
                              : log_.duration_s() - least_s;
    const Alignment together = at(0.0, smoothed_s_);
    place.alignment = search(first_s, last_s, 0.25 * smoothed_s_, smoothed_s_);
    const bool is_trifle = place.same_length && is_flat(log_, smoothed_s_);
    place.told_by_power = !is_trifle && place.alignment.correlation > kTold &&
                          (!place.same_length ||
                           place.alignment.correlation > together.correlation + kBetterThanStart ||
                           together.correlation > kTold);
    if (!place.told_by_power) {
      place.alignment = place.same_length ? together : by_draw();
      return place;
    }
    // Then the edges, within half of what was smoothed over.
    const double found_s = place.alignment.offset_s;
    const double fine_s = std::max(kFine_s, 3.0 * log_.interval_s);
    const Alignment fine =
        search(std::max(first_s, found_s - 0.5 * smoothed_s_),
               std::min(last_s, found_s + 0.5 * smoothed_s_), 0.1 * fine_s, fine_s);
    place.alignment = at(fine.offset_s, smoothed_s_);
    return place;
  }

 private:
  Alignment at(double offset_s, double window_s) const {
    const Score found = score(predicted_, log_, offset_s, 0.0, window_s);
    return {offset_s, 0.0, std::max(-1.0, found.correlation), found.overlap_s};
  }

  /// The offset of the best correlation, weighed by how much overlaps.
  Alignment search(double first_s, double last_s, double step_s, double window_s) const {
    constexpr double kMostTries = 4000.0;
    step_s = std::max(step_s, (last_s - first_s) / kMostTries);
    Alignment best = at(std::clamp(0.0, first_s, std::max(first_s, last_s)), window_s);
    double best_value = -2.0;
    const auto tries = static_cast<std::int64_t>(std::floor((last_s - first_s) / step_s)) + 1;
    for (std::int64_t i = 0; i < tries; ++i) {
      const Alignment now = at(first_s + static_cast<double>(i) * step_s, window_s);
      const double value = now.correlation * std::min(1.0, now.overlap_s / shorter_s_);
      if (value > best_value) {
        best_value = value;
        best = now;
      }
    }
    return best;
  }

  /// Where the log first draws half of what the print does above idling; else its beginning.
  Alignment by_draw() const {
    const double edge_w =
        predicted_.idle_w + 0.5 * (predicted_.mean_w(0.0, predicted_.end_s) - predicted_.idle_w);
    const double last_s = log_.duration_s() - kLeastOverlap * shorter_s_;
    for (double from_s = 0.0; from_s <= last_s; from_s += 0.5 * smoothed_s_)
      if (const auto w = platetally::mean_w(log_, from_s, from_s + smoothed_s_); w && *w > edge_w)
        return at(from_s, smoothed_s_);
    return at(0.0, smoothed_s_);
  }

  const PowerSeries& predicted_;
  const MeterLog& log_;
  double shorter_s_;
  double smoothed_s_;
};

}  // namespace

Place place_print(const PowerSeries& predicted, const MeterLog& log, double most_drift) {
  if (predicted.start_s.empty() || log.samples.size() < 4)
    return {};
  const Alignment plain = align(predicted, log, most_drift);
  Place place = Placing(predicted, log).place();
  const double latest_s =
      std::max(0.0, log.duration_s() - predicted.end_s) + kBegins_s + kBegins * predicted.end_s;
  if (plain.correlation >= kClear && !(place.same_length && is_flat(log, place.smoothed_s)) &&
      (!place.same_length || (plain.offset_s > -kBegins_s && plain.offset_s < latest_s))) {
    place.alignment = plain;
    place.smoothed_s = 0.0;
    place.told_by_power = true;
  }
  return place;
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

double end_of_draw_s(const MeterLog& log, double from_s, double idle_w, double print_w) {
  constexpr double kEdge = 0.25;  // assumed: above idle by this share of the print's own draw
  const double edge_w = idle_w + kEdge * std::max(0.0, print_w - idle_w);
  const double window_s = std::max(30.0, 3.0 * log.interval_s);
  const double end_s = log.duration_s();
  const double tries = std::max(0.0, std::ceil((end_s - window_s - from_s) / (window_s / 6.0)));
  for (std::size_t i = 0; i < static_cast<std::size_t>(tries); ++i) {
    const double to_s = end_s - static_cast<double>(i) * window_s / 6.0;
    if (const auto w = platetally::mean_w(log, to_s - window_s, to_s); w && *w > edge_w)
      return to_s;
  }
  return end_s;
}

}  // namespace platetally::meter
