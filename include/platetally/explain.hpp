/// @file
/// A page for every finding, and what every other code means.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace platetally {

/// What the finding of that code means, in plain text; nothing for an unknown code.
std::optional<std::string> explain_finding(std::string_view code);

/// Every code that a finding can have, sorted.
std::vector<std::string> finding_codes();

/// What a code is of.
enum class CodeKind : std::uint8_t {
  verdict,  ///< why a plate is not ready to print
  plate,    ///< a diagnostic of a plate
  file,     ///< a diagnostic of a machine, prices, materials or payback file, or of a table
};

/// "A reason of the verdict", "A remark about the plate", ...
std::string_view heading_of(CodeKind kind);

/// What a code means.
struct CodePage {
  CodeKind kind;             ///< what it is of
  std::string_view code;     ///< stable, kebab-case
  std::string_view meaning;  ///< what was met, and what was done
  std::string_view remedy;   ///< what to do about it
};

/// Every code that a verdict or a diagnostic can have, by kind.
std::span<const CodePage> code_pages();

/// What a finding, a verdict's reason or a diagnostic of that code means, in plain text; nothing
/// for an unknown code.
std::optional<std::string> explain_code(std::string_view code);

}  // namespace platetally
