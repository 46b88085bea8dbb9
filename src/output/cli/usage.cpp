#include "output/cli/usage.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <numeric>
#include <utility>

#include "output/cli/messages.hpp"

namespace platetally::cli {

namespace {

/// Edit distance (Levenshtein).
std::size_t edits(std::string_view a, std::string_view b) {
  std::vector<std::size_t> row(b.size() + 1);
  std::iota(row.begin(), row.end(), std::size_t{0});
  for (std::size_t i = 0; i < a.size(); ++i) {
    std::size_t diagonal = std::exchange(row[0], i + 1);
    for (std::size_t j = 0; j < b.size(); ++j) {
      const std::size_t change = diagonal + (a[i] == b[j] ? 0 : 1);
      diagonal = row[j + 1];
      row[j + 1] = std::min({change, row[j] + 1, diagonal + 1});
    }
  }
  return row.back();
}

/// The command that was named, or the program itself.
const CLI::App& named_command(const CLI::App& app) {
  const std::vector<CLI::App*> commands = app.get_subcommands();
  return commands.empty() ? app : *commands.front();
}

std::vector<std::string> flags_of(const CLI::App& command) {
  std::vector<std::string> flags;
  for (const CLI::Option* option : command.get_options())
    for (const std::string& name : option->get_lnames())
      flags.push_back("--" + name);
  return flags;
}

std::vector<std::string> command_names(const CLI::App& app) {
  std::vector<std::string> names;
  for (const CLI::App* command : commands_of(app))
    names.push_back(command->get_name());
  return names;
}

std::string perhaps(std::string_view given, const std::vector<std::string>& candidates) {
  const std::string meant = nearest(given, candidates);
  return meant.empty() ? "" : fmt::format("; did you mean '{}'?", meant);
}

}  // namespace

std::string nearest(std::string_view given, const std::vector<std::string>& candidates) {
  constexpr std::size_t kLongestWord = 64;  // a longer one is no slip of the finger
  if (given.size() > kLongestWord)
    return {};
  std::string best;
  std::size_t least = std::max<std::size_t>(2, given.size() / 3) + 1;
  for (const std::string& candidate : candidates)
    if (const std::size_t count = edits(given, candidate); count < least) {
      least = count;
      best = candidate;
    }
  return best;
}

std::string listed(const std::vector<std::string>& names) {
  return fmt::format("{}", fmt::join(names, ", "));
}

HelpFormatter::HelpFormatter() {
  constexpr std::size_t kOptionColumns = 28;
  column_width(kOptionColumns);
}

std::string HelpFormatter::make_option_opts(const CLI::Option* option) const {
  const std::string value = value_name(*option);
  return value.empty() ? "" : " " + value;
}

std::string value_name(const CLI::Option& option) {
  // "N:INT in [1 - 1024]", "TOOL:NONNEGATIVE": a check stands behind the colon. Other words in
  // capitals are what the user writes there: "FILE:EXPERIMENT".
  std::string type = option.get_type_name();
  const std::size_t colon = type.find(':');
  if (colon == std::string::npos)
    return type;
  const std::string behind = type.substr(colon + 1);
  const bool is_word =
      std::all_of(behind.begin(), behind.end(), [](char c) { return c >= 'A' && c <= 'Z'; });
  const bool is_check = !is_word || behind == "NONNEGATIVE" || behind == "POSITIVE";
  return is_check ? type.substr(0, colon) : type;
}

std::vector<const CLI::App*> commands_of(const CLI::App& app) {
  return app.get_subcommands([](const CLI::App*) { return true; });
}

std::string explain(const CLI::ParseError& error, const CLI::App& app) {
  const CLI::App& command = named_command(app);
  const std::vector<std::string> left = app.remaining(true);
  const std::string first = left.empty() ? "" : harmless(left.front());
  if (first.starts_with('-') && first != "-") {
    const std::string flag = first.substr(0, first.find('='));
    return fmt::format("unknown option '{}'{}", flag, perhaps(flag, flags_of(command)));
  }
  if (&command == &app)
    return first.empty()
               ? fmt::format("say what to do: {}", listed(command_names(app)))
               : fmt::format("unknown command '{}'{}", first, perhaps(first, command_names(app)));
  if (!first.empty())
    return fmt::format("{} does not expect '{}'", command.get_name(), first);
  std::string what = harmless(error.what());
  if (dynamic_cast<const CLI::ArgumentMismatch*>(&error) != nullptr)
    return fmt::format("{} needs a value", what.substr(0, what.find(':')));
  return what;
}

std::string with_way_to_help(const std::string& fault, const CLI::App& app) {
  const CLI::App& command = named_command(app);
  return fmt::format("{}{} try 'platetally {}--help'", fault, fault.ends_with('?') ? "" : ";",
                     &command == &app ? "" : command.get_name() + " ");
}

}  // namespace platetally::cli
