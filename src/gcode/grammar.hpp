// The grammar of a line of G-code.
#pragma once

#include <string_view>

#include "gcode/words.hpp"

namespace platetally::gcode {

/// Reads one line (without its end) into `out`. No allocation; the views in `out` point into
/// `text`. A line with a malformed number, a stray character or a placeholder has a fault and no
/// commands.
void parse_line(std::string_view text, Line& out);

}  // namespace platetally::gcode
