/// @file
/// Command words that the model does not account for, or that it understands by their keys alone.
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

/// A command word that nothing explains, whose KEY=VALUE were read as limits of the motion by the
/// plain English in the keys.
struct LimitWord {
  std::string word;              ///< as first written
  std::uint64_t count = 0;       ///< of all its occurrences that were read so
  std::uint64_t first_line = 0;  ///< from 1
};

}  // namespace platetally
