/// @file
/// Command words that the model does not account for.
#pragma once

#include <cstdint>
#include <string>

namespace platetally {

/// A command word that the model does not account for.
struct UnaccountedWord {
  std::string word;              ///< as first written
  std::uint64_t count = 0;       ///< of all its occurrences
  std::uint64_t first_line = 0;  ///< from 1
};

}  // namespace platetally
