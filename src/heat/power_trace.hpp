// What is drawn from the wall over the print, in samples of about the same length, and its highest
// quarter hour.
#pragma once

#include <algorithm>
#include <cstddef>
#include <utility>
#include <vector>

#include "base/units.hpp"
#include "platetally/breakdown.hpp"

namespace platetally::heat {

class PowerTrace {
 public:
  /// The next sample, which begins where the last one ended. Samples are joined so that a long
  /// print keeps an even trace.
  void keep(const PowerSample& sample) {
    append(sample, samples_);
    if (samples_.size() <= kMostSamples)
      return;
    sample_s_ = std::max(2.0 * sample_s_, 2.0 * sample.start_s / static_cast<double>(kMostSamples));
    std::vector<PowerSample> joined;
    for (const PowerSample& one : samples_)
      append(one, joined);
    samples_ = std::move(joined);
  }

  /// Highest mean over a quarter of an hour that begins with a sample; of shorter prints, their
  /// mean.
  double peak_quarter_hour_w() const {
    double highest_w = 0.0;
    double window_s = 0.0;
    double window_wh = 0.0;
    std::size_t end = 0;
    for (std::size_t begin = 0; begin < samples_.size(); ++begin) {
      while (end < samples_.size() && window_s < kQuarterHourS) {
        window_s += samples_[end].duration_s;
        window_wh += samples_[end].energy.sum_wh();
        ++end;
      }
      if (window_s > 0.0 && (window_s >= kQuarterHourS || begin == 0))
        highest_w = std::max(highest_w, window_wh * base::kJoulesPerWattHour / window_s);
      window_s -= samples_[begin].duration_s;
      window_wh -= samples_[begin].energy.sum_wh();
    }
    return highest_w;
  }

  std::vector<PowerSample> take() { return std::move(samples_); }

 private:
  static constexpr std::size_t kMostSamples = 4096;
  static constexpr double kQuarterHourS = 900.0;

  void append(const PowerSample& sample, std::vector<PowerSample>& samples) const {
    if (!samples.empty() && samples.back().duration_s + sample.duration_s <= sample_s_) {
      samples.back().duration_s += sample.duration_s;
      samples.back().energy += sample.energy;
      return;
    }
    samples.push_back(sample);
  }

  std::vector<PowerSample> samples_;
  double sample_s_ = 1.0;
};

}  // namespace platetally::heat
