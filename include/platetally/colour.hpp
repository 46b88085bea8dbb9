/// @file
/// Colours of filament, as users write them.
#pragma once

#include <optional>
#include <string>
#include <string_view>

namespace platetally {

/// What is wrong with a colour, in one line with the nearest name; nothing for "#rrggbb" and for
/// the names of colours that are known, in any case.
std::optional<std::string> fault_of_colour(std::string_view text);

/// "#rrggbb" of a colour as users write it; nothing for what is none.
std::optional<std::string> screen_colour(std::string_view text);

}  // namespace platetally
