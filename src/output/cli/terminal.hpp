// What the terminal wants, and what the user wants of it.
#pragma once

#include <string>

namespace platetally::cli {

/// "auto": on a terminal that can show it, unless NO_COLOR is set to something or TERM is "dumb".
bool wants_colour(const std::string& choice, bool to_standard_output);

bool standard_error_is_terminal();

/// Columns for prose on standard output: the terminal's, but no more than 100; 100 elsewhere.
int prose_width(bool to_standard_output);

}  // namespace platetally::cli
