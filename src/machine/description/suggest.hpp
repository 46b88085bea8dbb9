// What a key that no table has was meant to be: first by its letters, then by its meaning.
#pragma once

#include <string>
#include <vector>

#include "machine/description/keys.hpp"

namespace platetally::machine {

/// "'name' (meaning)" of a table's key, or "'a' and 'b'" where two together say it. `also`: names
/// without a row in the key table.
std::string suggested(const std::string& word, const std::string& table,
                      const std::vector<Key>& keys, const std::vector<std::string>& also);

}  // namespace platetally::machine
