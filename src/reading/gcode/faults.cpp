#include "reading/gcode/faults.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "base/excerpt.hpp"

namespace platetally::gcode {

namespace {

struct FaultText {
  LineFault fault;
  const char* code;
  Severity severity;
  const char* expected;
  const char* done;
};

constexpr FaultText kTexts[] = {
    {LineFault::malformed_number, "number-malformed", Severity::error,
     "a number: an optional sign, digits, at most one point, at least one digit",
     "the line was left out"},
    {LineFault::stray_character, "character-stray", Severity::error,
     "a word (a letter and a number), a comment or the end of the line", "the line was left out"},
    {LineFault::unclosed_comment, "comment-unclosed", Severity::warning,
     "')' before the end of the line", "the rest of the line was read as the comment"},
    {LineFault::repeated_letter, "letter-repeated", Severity::note, "each letter once in a command",
     "the last value counts"},
    {LineFault::placeholder, "placeholder-unfilled", Severity::error,
     "a number; a value in brackets was never filled in", "the line was left out"},
    {LineFault::line_too_long, "line-too-long", Severity::error, "at most 1 MiB in a line",
     "the line was left out"},
    {LineFault::too_many_commands, "commands-too-many", Severity::error,
     "at most 8 commands on a line", "the commands beyond were left out"},
    {LineFault::exponent, "exponent-read", Severity::note,
     "a number without an exponent; a second E right behind the digits of a number can be nothing "
     "else",
     "it was read as the exponent"},
    {LineFault::decimal_comma, "decimal-comma", Severity::warning, "a point before the decimals",
     "the comma was read as one"},
};

constexpr std::size_t kShownBytes = 12;  // of what was found

const FaultText& text_of(LineFault fault) {
  return *std::find_if(std::begin(kTexts), std::end(kTexts),
                       [fault](const FaultText& text) { return text.fault == fault; });
}

}  // namespace

std::string_view code_of(LineFault fault) {
  return text_of(fault).code;
}

Diagnostic describe_fault(const Line& line, std::string_view text, std::uint64_t line_number) {
  Diagnostic diagnostic;
  diagnostic.line = line_number;
  diagnostic.column = line.fault_column;
  const FaultText& fault = text_of(line.fault);
  diagnostic.code = fault.code;
  diagnostic.severity = fault.severity;
  const std::size_t at = line.fault_column > 0 ? line.fault_column - 1 : 0;
  const std::string found = at < text.size() ? fmt::format("'{}'", text.substr(at, kShownBytes))
                                             : std::string("the end of the line");
  diagnostic.message = fmt::format("found {}; expected {}; {}", found, fault.expected, fault.done);
  base::set_excerpt(diagnostic, text);
  return diagnostic;
}

}  // namespace platetally::gcode
