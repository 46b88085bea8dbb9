// The value of a parameter that a machine file names: a letter, or KEY=VALUE in the text.
#pragma once

#include <functional>
#include <string_view>

#include "reading/gcode/words.hpp"

namespace platetally::dialect {

struct Parameter {
  bool present = false;
  bool is_number = false;
  double value = 0.0;
  std::string_view text;  ///< as written, where it is no letter word
};

/// `key` is compared without case. KEY=VALUE pairs stand apart by blanks; a value may be in double
/// quotes. The last of several counts, as with letters. No exponents: "1E5" is no number.
Parameter find_parameter(const gcode::Command& command, std::string_view key);

/// Shows each argument of a command's text in turn: KEY=VALUE, or a value alone, whose key is
/// empty.
using SeeArgument = std::function<void(std::string_view key, const Parameter& parameter)>;
void for_each_argument(std::string_view text, const SeeArgument& see);

}  // namespace platetally::dialect
