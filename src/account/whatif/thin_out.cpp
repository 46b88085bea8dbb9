#include "account/whatif/thin_out.hpp"

#include <cmath>
#include <cstddef>

namespace platetally::whatif {

namespace {

constexpr int kPhases = 8;  // assumed; enough to tell the ways of a few layers apart
constexpr double kSame = 1e-9;

bool stays(std::size_t layer, double share, double phase) {
  const auto number = static_cast<double>(layer);
  return std::floor(number * share + phase) != std::floor((number - 1.0) * share + phase);
}

}  // namespace

std::vector<bool> layers_that_stay(const std::vector<double>& layer_s, double share) {
  double all_s = 0.0;
  for (std::size_t i = 1; i < layer_s.size(); ++i)
    all_s += layer_s[i];
  double best = 0.0;
  double least_off_s = -1.0;
  for (int k = 0; k < kPhases; ++k) {
    const double phase = static_cast<double>(k) / kPhases;
    double kept_s = 0.0;
    for (std::size_t i = 1; i < layer_s.size(); ++i)
      kept_s += stays(i, share, phase) ? layer_s[i] : 0.0;
    const double off_s = std::abs(kept_s - share * all_s);
    if (k > 0 && off_s >= least_off_s - kSame * all_s)
      continue;
    least_off_s = off_s;
    best = phase;
  }
  std::vector<bool> stay(layer_s.size(), true);
  for (std::size_t i = 1; i < layer_s.size(); ++i)
    stay[i] = stays(i, share, best);
  return stay;
}

}  // namespace platetally::whatif
