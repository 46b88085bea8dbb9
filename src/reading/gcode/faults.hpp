// Faults of a line as diagnostics.
#pragma once

#include <cstdint>
#include <string_view>

#include "platetally/diagnostic.hpp"
#include "reading/gcode/words.hpp"

namespace platetally::gcode {

/// Stable code of a fault: "number-malformed", ...
std::string_view code_of(LineFault fault);

/// What was found in the line, what was expected, what was done instead. line.fault is not none.
Diagnostic describe_fault(const Line& line, std::string_view text, std::uint64_t line_number);

}  // namespace platetally::gcode
