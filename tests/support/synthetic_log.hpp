// Logs of a plug that watched a machine whose every figure is known.
#pragma once

#include <fmt/format.h>

#include <random>
#include <string>
#include <vector>

#include "platetally/breakdown.hpp"

namespace platetally::test {

struct PlugFaults {
  double noise_w = 1.0;
  double outlier_share = 0.01;
  double interval_s = 1.0;
  double lead_s = 60.0;  ///< of idling before the print
  double tail_s = 60.0;
  double idle_w = 20.0;
  double clock = 1.0;  ///< seconds of the log a true second
};

/// "seconds,watts"; outliers are up to 300 W above what was drawn.
inline std::string synthetic_log(const std::vector<PowerSample>& power, const PlugFaults& faults,
                                 unsigned seed) {
  std::mt19937 random(seed);
  std::normal_distribution<double> noise;  // times its deviation, which may be 0
  std::uniform_real_distribution<double> share(0.0, 1.0);
  const double end_s = power.back().start_s + power.back().duration_s;
  std::string text = "seconds,watts\n";
  std::size_t at = 0;
  // The phase of sampling is chance, too.
  const double phase_s = share(random) * faults.interval_s;
  for (double t_s = phase_s - faults.lead_s; t_s < end_s + faults.tail_s;
       t_s += faults.interval_s) {
    double w = faults.idle_w;
    if (t_s >= 0.0 && t_s < end_s) {
      while (at + 1 < power.size() && power[at + 1].start_s <= t_s)
        ++at;
      w = power[at].energy.sum_wh() * 3600.0 / power[at].duration_s;
    }
    w += faults.noise_w * noise(random);
    if (share(random) < faults.outlier_share)
      w += 300.0 * share(random);
    text += fmt::format("{:.2f},{:.2f}\n", (t_s + faults.lead_s) * faults.clock, std::max(0.0, w));
  }
  return text;
}

}  // namespace platetally::test
