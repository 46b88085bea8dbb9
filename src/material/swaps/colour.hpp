// Colours of filament: from text, to CIELAB, and how far apart two of them look.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

namespace platetally::swaps {

/// An sRGB colour, 8 bits a channel.
struct Rgb {
  std::uint8_t red = 0;
  std::uint8_t green = 0;
  std::uint8_t blue = 0;
  bool operator==(const Rgb&) const = default;
};

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

/// "#rrggbb" or a plain name in any case; blanks, '-' and '_' in a name do not matter. A name
/// stands for a usual filament of that colour, not for the brightest colour that a screen can show.
std::optional<Rgb> parse_colour(std::string_view text);

/// The names that parse_colour() knows, with commas between, for a message.
std::string colour_names();

LinearRgb linear_of(Rgb colour);
Xyz xyz_of(const LinearRgb& light);
Lab lab_of(const LinearRgb& light);

/// CIEDE2000 with kL = kC = kH = 1. Symmetric.
double delta_e00(const Lab& one, const Lab& other);

}  // namespace platetally::swaps
