// Man page and shell completions, from the description that the parser itself uses.
#pragma once

#include <CLI/CLI.hpp>
#include <string>

namespace platetally::cli {

/// In the man macros (man(7)).
std::string man_page(const CLI::App& app, const std::string& version);

/// `shell`: "bash", "zsh" or "fish". Completes commands, their flags, words that a flag may have,
/// machines that come with the program, and files. Throws UsageError for another shell.
std::string completion(const CLI::App& app, const std::string& shell);

}  // namespace platetally::cli
