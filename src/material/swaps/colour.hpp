// Colours of filament: to CIELAB, and how far apart two of them look.
#pragma once

#include <array>

#include "machine/materials/colour_names.hpp"

namespace platetally::swaps {

using materials::parse_colour;
using materials::Rgb;

/// Red, green, blue as light, 0 to 1 each.
using LinearRgb = std::array<double, 3>;

/// CIE 1931 tristimulus values, Y = 1 for white.
struct Xyz {
  double x = 0.0;
  double y = 0.0;
  double z = 0.0;
};

/// CIELAB, D65.
struct Lab {
  double lightness = 0.0;
  double a = 0.0;
  double b = 0.0;
};

LinearRgb linear_of(Rgb colour);
Xyz xyz_of(const LinearRgb& light);
Lab lab_of(const LinearRgb& light);

/// CIEDE2000 with kL = kC = kH = 1. Symmetric.
double delta_e00(const Lab& one, const Lab& other);

}  // namespace platetally::swaps
