// Which entries a calibration speaks of.
#pragma once

#include <algorithm>
#include <string>
#include <vector>

#include "platetally/calibrate.hpp"

namespace platetally::test {

/// Fitted or not, in the order of the alphabet.
inline std::vector<std::string> keys_of(const CalibrationReport& report) {
  std::vector<std::string> keys;
  for (const FittedParameter& one : report.fitted)
    keys.push_back(one.key);
  for (const UnfittedParameter& one : report.not_identifiable)
    keys.push_back(one.key);
  std::ranges::sort(keys);
  return keys;
}

}  // namespace platetally::test
