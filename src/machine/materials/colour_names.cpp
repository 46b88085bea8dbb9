// The names are held in one table; a word that is none of them is answered with the nearest.
#include "machine/materials/colour_names.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <vector>

#include "base/nearest.hpp"
#include "platetally/colour.hpp"

namespace platetally {

namespace materials {

namespace {

struct Name {
  std::string_view name;
  Rgb colour;
};

// What opaque filament of the name usually looks like: black is not 0 and white is not 255.
// Assumed; common practice, no source.
constexpr std::array kNames = {
    Name{"amber", {235, 160, 25}},      Name{"aqua", {60, 190, 190}},
    Name{"beige", {222, 205, 170}},     Name{"black", {30, 30, 32}},
    Name{"blue", {20, 70, 160}},        Name{"bronze", {130, 95, 50}},
    Name{"brown", {95, 60, 35}},        Name{"charcoal", {55, 57, 60}},
    Name{"copper", {165, 95, 60}},      Name{"coral", {240, 115, 95}},
    Name{"cream", {240, 230, 200}},     Name{"crimson", {160, 25, 45}},
    Name{"cyan", {20, 160, 200}},       Name{"darkblue", {25, 40, 95}},
    Name{"darkgreen", {25, 75, 45}},    Name{"darkgrey", {75, 77, 80}},
    Name{"darkred", {120, 25, 30}},     Name{"gold", {195, 155, 60}},
    Name{"green", {20, 130, 65}},       Name{"grey", {135, 138, 140}},
    Name{"ivory", {238, 232, 212}},     Name{"lavender", {175, 160, 210}},
    Name{"lightblue", {120, 180, 225}}, Name{"lightgreen", {145, 205, 130}},
    Name{"lightgrey", {190, 192, 193}}, Name{"lime", {140, 200, 50}},
    Name{"magenta", {190, 30, 120}},    Name{"maroon", {95, 30, 40}},
    Name{"mint", {155, 220, 190}},      Name{"navy", {28, 38, 80}},
    Name{"olive", {105, 110, 50}},      Name{"orange", {240, 105, 30}},
    Name{"pink", {235, 140, 170}},      Name{"purple", {95, 50, 130}},
    Name{"red", {186, 26, 32}},         Name{"rose", {215, 80, 115}},
    Name{"silver", {165, 168, 170}},    Name{"skyblue", {90, 165, 215}},
    Name{"tan", {200, 165, 120}},       Name{"teal", {20, 115, 115}},
    Name{"terracotta", {180, 90, 65}},  Name{"turquoise", {40, 180, 170}},
    Name{"violet", {115, 70, 160}},     Name{"white", {240, 240, 236}},
    Name{"yellow", {245, 200, 20}},
};

/// -1 for what is no hexadecimal digit.
constexpr int digit_of(char c) {
  if (c >= '0' && c <= '9')
    return c - '0';
  if (c >= 'a' && c <= 'f')
    return c - 'a' + 10;
  if (c >= 'A' && c <= 'F')
    return c - 'A' + 10;
  return -1;
}

std::optional<Rgb> parse_hex(std::string_view digits) {
  if (digits.size() != 6)
    return std::nullopt;
  std::array<std::uint8_t, 3> channels{};
  for (std::size_t i = 0; i < channels.size(); ++i) {
    const int high = digit_of(digits[2 * i]);
    const int low = digit_of(digits[2 * i + 1]);
    if (high < 0 || low < 0)
      return std::nullopt;
    channels[i] = static_cast<std::uint8_t>(16 * high + low);
  }
  return Rgb{channels[0], channels[1], channels[2]};
}

/// Lower case, without what may stand between the words of a name.
std::string plain(std::string_view text) {
  std::string name;
  for (const char c : text) {
    if (c == ' ' || c == '-' || c == '_')
      continue;
    name += c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
  }
  const std::size_t other_spelling = name.find("gray");
  if (other_spelling != std::string::npos)
    name[other_spelling + 2] = 'e';
  return name;
}

}  // namespace

std::optional<Rgb> parse_colour(std::string_view text) {
  if (text.starts_with('#'))
    return parse_hex(text.substr(1));
  const std::string name = plain(text);
  const auto found = std::ranges::find(kNames, name, &Name::name);
  if (found == kNames.end())
    return std::nullopt;
  return found->colour;
}

std::string colour_names() {
  std::string list;
  for (const Name& name : kNames) {
    if (!list.empty())
      list += ", ";
    list += name.name;
  }
  return list;
}

}  // namespace materials

std::optional<std::string> fault_of_colour(std::string_view text) {
  if (materials::parse_colour(text))
    return std::nullopt;
  constexpr std::size_t kSlip = 2;  // letters: assumed
  std::vector<std::string> names;
  for (const materials::Name& name : materials::kNames)
    names.emplace_back(name.name);
  const std::string meant =
      text.starts_with('#') ? std::string() : base::nearest(materials::plain(text), names, kSlip);
  return fmt::format("'{}' is no colour; {}expected #rrggbb or a name such as black", text,
                     meant.empty() ? "" : fmt::format("did you mean '{}'? ", meant));
}

std::optional<std::string> screen_colour(std::string_view text) {
  const std::optional<materials::Rgb> colour = materials::parse_colour(text);
  if (!colour)
    return std::nullopt;
  return fmt::format("#{:02x}{:02x}{:02x}", colour->red, colour->green, colour->blue);
}

}  // namespace platetally
