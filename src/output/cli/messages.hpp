// Messages to people, on standard error.
#pragma once

#include <string>
#include <string_view>

namespace platetally::cli {

/// One line behind the program's name.
void say(std::string_view message);

/// The same without the name in front, for text that has its own place ("plate.gcode:3:1: ...").
void say_bare(std::string_view text);

/// `text` with control characters replaced, so that a name cannot move the cursor.
std::string harmless(std::string_view text);

}  // namespace platetally::cli
