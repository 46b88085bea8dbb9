// One fit of chosen parameters, from where it stands.
#pragma once

#include <vector>

#include "meter/calibrate/windows.hpp"

namespace platetally::calibrate {

inline constexpr double kFirstNoise_w = 4.0;  ///< of a plug, before anything was fitted; assumed

/// Where the fit stands.
struct Fit {
  Standing standing;
  std::vector<std::size_t> chosen;
  double noise_w = kFirstNoise_w;
  bool converged = false;
};

/// Fits the chosen parameters and the offsets from where it stands.
void refine(const Windows& windows, const Groups& groups, bool rough, Fit& fit);

}  // namespace platetally::calibrate
