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

/// A tool that the plate selects and the machine lacks.
struct MissingTool {
  int tool = 0;                  ///< the number after T
  std::uint64_t selects = 0;     ///< words that select it
  std::uint64_t first_line = 0;  ///< of them
  std::uint64_t swaps = 0;       ///< that are not in the account because of it
  double filament_mm = 0.0;      ///< fed while it was selected; counted to the tool in hand before
};

}  // namespace platetally
