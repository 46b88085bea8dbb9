// The grammar of a line of G-code.
#pragma once

#include <string_view>

#include "reading/gcode/words.hpp"

namespace platetally::gcode {

/// Reads the line that begins at `first` into `out`, and returns where the next one begins (`last`
/// behind the last). A CR before the end of the line is dropped. No allocation; the views in `out`
/// point into the text. A line with a malformed number, a stray character or a placeholder has a
/// fault and no commands.
const char* parse_line(const char* first, const char* last, Line& out);

/// The same for one line without its end.
void parse_line(std::string_view text, Line& out);

/// The same without the run of plain words: slower, and what tests hold the run against.
void parse_line_word_by_word(std::string_view text, Line& out);

/// The text of the line between the two, without its end.
inline std::string_view line_text(const char* first, const char* next) {
  std::string_view text(first, static_cast<std::size_t>(next - first));
  if (text.ends_with('\n'))
    text.remove_suffix(1);
  if (text.ends_with('\r'))
    text.remove_suffix(1);
  return text;
}

}  // namespace platetally::gcode
