// How much has to be purged until a new colour is clean. Formula, range and source: need.cpp.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "material/swaps/colour.hpp"

namespace platetally::swaps {

struct NeedModel {
  double washout_mm3 = 75.0;  ///< V0: what thins the old colour to 1/e
  double dead_mm3 = 60.0;     ///< Vp: what has to leave before the new colour arrives
  double margin = 1.42;
  double tolerance_de00 = 2.0;  ///< the difference from the clean colour that is accepted
};

/// What a filament of that colour reflects, channel by channel: no filament reflects nothing or
/// all.
LinearRgb as_filament(Rgb colour);

/// What is seen of `share` of the old colour in the new one.
LinearRgb mix(const LinearRgb& old_colour, const LinearRgb& new_colour, double share);

/// c*: up to this share of the old colour the mixture stays within `tolerance_de00` of the new one;
/// 1 where the old colour itself does.
double tolerated_share(Rgb old_colour, Rgb new_colour, double tolerance_de00);

/// Purge for one swap; 0 where the old colour itself is accepted.
double need_mm3(Rgb old_colour, Rgb new_colour, const NeedModel& model);

/// Row-major from, to; 0 on the diagonal.
std::vector<double> need_matrix_mm3(const std::vector<Rgb>& colours, const NeedModel& model);

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

/// Solves washout and dead volume so that the model gives both volumes; margin and tolerance are
/// those of `base`.
NeedFit fit_need(const MeasuredNeed& one, const MeasuredNeed& other, const NeedModel& base);

}  // namespace platetally::swaps
