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

/// Calls take(key, parameter) for each KEY=VALUE among a command's text.
void show_parameters(std::string_view text,
                     const std::function<void(std::string_view, const Parameter&)>& take);

/// Shows each KEY=VALUE of the text in turn, until `see` says false. False: it did, or something
/// among them is no KEY=VALUE.
using SeeParameter = std::function<bool(std::string_view key, const Parameter& parameter)>;
bool for_each_parameter(const gcode::Command& command, const SeeParameter& see);

}  // namespace platetally::dialect
