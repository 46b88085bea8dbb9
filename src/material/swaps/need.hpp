// How much has to be purged until a new colour is clean. Formula, range and source: need.cpp.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "material/swaps/colour.hpp"

namespace platetally::swaps {

/// What filament throws back of light at least and at most.
struct Reflectances {
  double darkest = 0.05;
  double brightest = 0.8;
};

struct NeedModel {
  double washout_mm3 = 58.0;  ///< V0: what thins the old colour to 1/e
  double dead_mm3 = 138.0;    ///< Vp: what has to leave before the new colour arrives
  double margin = 1.25;
  double tolerance_de00 = 2.0;  ///< the difference from the clean colour that is accepted
  Reflectances reflectances;
};

/// What a hot end of high flow holds of V0 and Vp, as a multiple of a usual one's.
inline constexpr double kHighFlow = 1.65;

/// What a filament of that colour reflects, channel by channel: no filament reflects nothing or
/// all.
LinearRgb as_filament(Rgb colour, const Reflectances& reflectances);

/// What is seen of `share` of the old colour in the new one.
LinearRgb mix(const LinearRgb& old_colour, const LinearRgb& new_colour, double share);

/// c*: up to this share of the old colour the mixture stays within `tolerance_de00` of the new one;
/// 1 where the old colour itself does.
double tolerated_share(Rgb old_colour, Rgb new_colour, double tolerance_de00,
                       const Reflectances& reflectances = {});

/// Purge for one swap; the dead volume, with the margin, where the old colour itself is accepted.
double need_mm3(Rgb old_colour, Rgb new_colour, const NeedModel& model);

/// A pair whose need was found by trial on the machine.
struct MeasuredNeed {
  Rgb from;
  Rgb to;
  double need_mm3 = 0.0;  ///< what the model is to give for the pair, margin included
};

struct NeedFit {
  std::optional<NeedModel> model;
  std::string fault;  ///< why there is no model
};

/// Solves washout and dead volume so that the model gives the volumes: two of them exactly, more
/// with the least squared difference. The rest of the model is that of `base`.
NeedFit fit_need(const std::vector<MeasuredNeed>& pairs, const NeedModel& base);

}  // namespace platetally::swaps
