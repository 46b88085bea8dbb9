// How a thermostat switches, read off a log of watts.
#pragma once

#include "platetally/meter.hpp"

namespace platetally::calibrate {

struct Cycle {
  double period_s = 0.0;  ///< from switching on to switching on; 0: nothing is seen to switch
  double low_w = 0.0;     ///< off
  double high_w = 0.0;    ///< on
  double duty = 0.0;      ///< share of the time on

  /// Standard deviation of the power about its mean.
  double deviation_w() const;
};

/// The largest heater that is switched fully on and off often, if there is one.
Cycle cycle_of(const MeterLog& log);

}  // namespace platetally::calibrate
