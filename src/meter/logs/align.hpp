// Where in a log the predicted print lies.
#pragma once

#include <vector>

#include "platetally/breakdown.hpp"
#include "platetally/meter.hpp"

namespace platetally::meter {

/// Predicted power as steps; all numbers of the prediction's clock.
struct PowerSeries {
  std::vector<double> start_s;
  std::vector<double> w;
  double end_s = 0.0;
  double idle_w = 0.0;  ///< before and behind

  /// Mean over from .. to; 0 outside.
  double mean_w(double from_s, double to_s) const;
};

PowerSeries series_of(const std::vector<PowerSample>& power);

/// log time = offset_s + (1 + drift) * predicted time
struct Alignment {
  double offset_s = 0.0;
  double drift = 0.0;
  double correlation = 0.0;  ///< of window means, after alignment; -1 .. 1
  double overlap_s = 0.0;    ///< of predicted time that the log covers
};

/// By cross-correlation over all offsets at which half of the shorter one is covered, then refined,
/// drift within `most_drift`.
Alignment align(const PowerSeries& predicted, const MeterLog& log, double most_drift);

}  // namespace platetally::meter
