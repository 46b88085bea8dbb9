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
  std::string why;               ///< what says that it may matter; empty: nothing does
  std::string row;  ///< TOML to correct and paste into a machine file; empty without why
};

}  // namespace platetally
