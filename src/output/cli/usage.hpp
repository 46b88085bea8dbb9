// Usage errors: one line that says what is wrong and what was perhaps meant.
#pragma once

#include <CLI/CLI.hpp>
#include <string>
#include <string_view>
#include <vector>

namespace platetally::cli {

/// Names every option once, with the kind of its value; the parser's own form also lists all that
/// excludes it.
class HelpFormatter : public CLI::Formatter {
 public:
  HelpFormatter();
  std::string make_option_opts(const CLI::Option* option) const override;
};

/// What an option takes, without what is checked of it; empty for a flag.
std::string value_name(const CLI::Option& option);

std::vector<const CLI::App*> commands_of(const CLI::App& app);

/// What the parser could not accept.
std::string explain(const CLI::ParseError& error, const CLI::App& app);

/// `fault` with "try 'platetally tally --help'" behind it, for the command that was named, if any.
std::string with_way_to_help(const std::string& fault, const CLI::App& app);

/// The candidate that takes the fewest edits, or nothing if none is near enough to be meant.
std::string nearest(std::string_view given, const std::vector<std::string>& candidates);

/// "a, b, c"
std::string listed(const std::vector<std::string>& names);

}  // namespace platetally::cli
