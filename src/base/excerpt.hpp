// The piece of a line that a diagnostic shows.
#pragma once

#include <string_view>

#include "platetally/diagnostic.hpp"

namespace platetally::base {

/// Sets excerpt and excerpt_offset to the bytes of `line` around diagnostic.column, at most 120,
/// cut between UTF-8 characters.
void set_excerpt(Diagnostic& diagnostic, std::string_view line);

}  // namespace platetally::base
