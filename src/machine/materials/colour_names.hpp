// Colours of filament by name.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

namespace platetally::materials {

/// An sRGB colour, 8 bits a channel.
struct Rgb {
  std::uint8_t red = 0;
  std::uint8_t green = 0;
  std::uint8_t blue = 0;
  bool operator==(const Rgb&) const = default;
};

/// "#rrggbb" or a plain name in any case; blanks, '-' and '_' in a name do not matter. A name
/// stands for a usual filament of that colour, not for the brightest colour that a screen can show.
std::optional<Rgb> parse_colour(std::string_view text);

/// The names that parse_colour() knows, with commas between, for a message.
std::string colour_names();

}  // namespace platetally::materials
