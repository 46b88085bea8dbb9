// A log of several days, cut into its sessions.
#include <algorithm>
#include <limits>

#include "platetally/meter.hpp"

namespace platetally {

std::vector<MeterLog> sessions_of(const MeterLog& log) {
  constexpr double kLongGap_s = 1800.0;  // assumed: what is behind it is another day's work
  std::vector<double> cuts_s = log.sessions_s;
  const auto cut_at_gaps = [&](const auto& samples) {
    for (std::size_t i = 1; i < samples.size(); ++i)
      if (samples[i].t_s - samples[i - 1].t_s - samples[i - 1].lasts_s > kLongGap_s)
        cuts_s.push_back(samples[i].t_s);
  };
  if (cuts_s.empty()) {
    cut_at_gaps(log.samples);
    cut_at_gaps(log.heaters);
  }
  cuts_s.push_back(0.0);
  cuts_s.push_back(std::numeric_limits<double>::infinity());
  std::sort(cuts_s.begin(), cuts_s.end());
  std::vector<MeterLog> parts;
  for (std::size_t i = 0; i + 1 < cuts_s.size(); ++i) {
    MeterLog part = log;
    const double from_s = cuts_s[i];
    const auto keep = [&](auto& samples) {
      std::erase_if(samples,
                    [&](const auto& one) { return one.t_s < from_s || one.t_s >= cuts_s[i + 1]; });
      for (auto& one : samples)
        one.t_s -= from_s;
    };
    keep(part.samples);
    keep(part.heaters);
    part.sessions_s.clear();
    if (!part.samples.empty() || !part.heaters.empty())
      parts.push_back(std::move(part));
  }
  return parts;
}

}  // namespace platetally
