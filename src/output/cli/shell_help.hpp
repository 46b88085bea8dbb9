// Man page and shell completions, from the description that the parser itself uses.
#pragma once

#include <string>

#include "output/cli/command_line.hpp"

namespace platetally::cli {

/// In the man macros (man(7)).
std::string man_page(const Program& program, const std::string& version);

/// `shell`: "bash", "zsh" or "fish". Completes commands, their flags, words that a flag may have,
/// machines that come with the program, and files. Throws UsageError for another shell.
std::string completion(const Program& program, const std::string& shell);

}  // namespace platetally::cli
