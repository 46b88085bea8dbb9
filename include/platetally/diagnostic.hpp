/// @file
/// Diagnostics as data: what was met, where, what was expected and what was done instead.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>

namespace platetally {

/// How much a diagnostic matters.
enum class Severity : std::uint8_t { note, warning, error };

/// One kind of remark about the input. Repeats of a code are folded into `count`; line, column and
/// message are those of the first.
struct Diagnostic {
  std::string code;                       ///< stable, kebab-case: "number-malformed"
  Severity severity = Severity::warning;  ///< error: something was left out of the account
  std::uint64_t line = 0;                 ///< 1-based; 0 where no line is concerned
  std::uint64_t column = 0;               ///< 1-based byte column; 0 where none is concerned
  std::string message;                    ///< what was found, what was expected, what was done
  std::string help;                       ///< what the reader can do about it; may be empty
  std::uint64_t count = 1;                ///< repeats included
  std::string excerpt;                    ///< the line, cut around the column; may be empty
  std::uint64_t excerpt_offset = 0;  ///< bytes of the line that were cut off before the excerpt
};

/// "note", "warning" or "error".
std::string_view name_of(Severity severity);

}  // namespace platetally
