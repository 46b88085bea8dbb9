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

/// Where a whole print lies in its log, whatever thermostats do meanwhile.
struct Place {
  Alignment alignment;         ///< its correlation is that of power smoothed over smoothed_s
  double smoothed_s = 0.0;     ///< 0: it goes together as it is
  bool same_length = false;    ///< as the log, within a few percent: they begin together
  bool told_by_power = false;  ///< false: nothing in the power says where it begins
};

/// As align(), where that finds a clear place. Else both are smoothed over a minute or more, which
/// takes the cycles of thermostats out, and a log of the print's own length begins with it unless
/// the power says otherwise.
Place place_print(const PowerSeries& predicted, const MeterLog& log, double most_drift);

/// When the log last draws clearly more than idling, behind `from_s`, by a print that draws
/// `mean_w` on the whole; its end where it does so to the end.
double end_of_draw_s(const MeterLog& log, double from_s, double idle_w, double print_w);

}  // namespace platetally::meter
