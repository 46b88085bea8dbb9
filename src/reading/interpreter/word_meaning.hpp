// What a word that nobody has explained may mean, and the row of a machine file that would say so.
#pragma once

#include <string>
#include <string_view>

#include "reading/interpreter/unaccounted.hpp"

namespace platetally::interpreter {

struct WordMeaning {
  std::string why;  ///< empty: nothing says that it matters
  std::string row;  ///< TOML, to be corrected by who knows the machine
};

WordMeaning guess_meaning(std::string_view word, const Unaccounted::Evidence& evidence,
                          bool heats_nozzle);

}  // namespace platetally::interpreter
