// What became of a print that was to be logged, in words.
#pragma once

#include <string>

#include "platetally/print_log.hpp"

namespace platetally::cli {

/// One that was counted: where, when, and what it used.
std::string line_of(const LoggedPrint& print);

/// On standard error, counted or not.
void say_print(const LoggedPrint& print);

}  // namespace platetally::cli
