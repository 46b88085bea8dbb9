// Usage errors: one line that says what is wrong and what was perhaps meant.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace CLI {
class App;
class ParseError;
}  // namespace CLI

namespace platetally::cli {

/// What the parser could not accept.
std::string explain(const CLI::ParseError& error, const CLI::App& app);

/// "try 'platetally tally --help'", for the command that was named, if any.
std::string where_help_is(const CLI::App& app);

/// The candidate that takes the fewest edits, or nothing if none is near enough to be meant.
std::string nearest(std::string_view given, const std::vector<std::string>& candidates);

/// "a, b, c"
std::string listed(const std::vector<std::string>& names);

}  // namespace platetally::cli
