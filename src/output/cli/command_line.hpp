// What the program and its commands take. command_line.cpp alone knows the parser behind it
// (CLI11): its header costs several seconds in every file that includes it.
#pragma once

#include <initializer_list>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace CLI {
class App;
class Option;
}  // namespace CLI

namespace platetally::cli {

/// A handle of one declared option, flag or positional argument; declared further by its methods,
/// in a chain.
class Option {
 public:
  explicit Option(CLI::Option* parser) : parser_(parser) {}

  /// What help says it takes: "FILE"; empty: nothing is said.
  Option takes(std::string_view what) const;
  /// The heading of the help text that it stands under.
  Option in_group(std::string_view heading) const;
  Option one_of(std::initializer_list<const char*> words) const;
  Option between(int least, int most) const;
  Option between(double least, double most) const;
  Option not_negative() const;
  /// Of an option that may be repeated: each time with one value, so that a positional argument may
  /// follow.
  Option one_value_each_time() const;
  /// A usage error together with `other`.
  Option not_with(Option other) const;

 private:
  CLI::Option* parser_;
};

/// A handle of one subcommand, or of the program itself. What is parsed is written to `place`,
/// which outlives parsing and keeps its value where nothing is given. `name`: "-o,--output";
/// without a dash it is positional.
class Command {
 public:
  explicit Command(CLI::App* parser) : parser_(parser) {}

  Option option(const char* name, std::string& place, const char* what) const;
  Option option(const char* name, std::vector<std::string>& place, const char* what) const;
  Option option(const char* name, int& place, const char* what) const;
  Option option(const char* name, double& place, const char* what) const;
  Option option(const char* name, std::optional<double>& place, const char* what) const;
  Option flag(const char* name, bool& place, const char* what) const;
  /// Whatever else is given is no fault, and goes nowhere.
  void passes_over_the_rest() const;
  /// Below the help text.
  void footer(const char* text) const;

 private:
  CLI::App* parser_;
};

/// What is known of an option, for texts made from it.
struct OptionText {
  std::vector<std::string> names;  ///< with their dashes; short ones first
  std::string value;               ///< what it takes, empty for nothing
  std::string what;
  std::vector<std::string> words;  ///< that it may be given
  bool takes_file = false;
  bool is_positional = false;
};

struct CommandText {
  std::string name;  ///< empty for the program
  std::string what;
  std::vector<OptionText> flags;
  std::vector<OptionText> positionals;
};

class Program {
 public:
  Program(const char* name, const char* what, const char* footer);
  ~Program();
  Program(const Program&) = delete;
  Program& operator=(const Program&) = delete;

  Command command(const char* name, const char* what);
  /// Its own options.
  Command itself();

  /// False: help is asked for. Throws UsageError, with what was perhaps meant.
  bool parse(int argc, char** argv);
  /// Whether the command of that name was given.
  bool is_given(const std::string& command) const;
  /// Of the program, or of the command that was given.
  std::string help() const;
  /// What is wrong when no command is given.
  std::string missing_command() const;
  /// `fault` with "try 'platetally tally --help'" behind it, for the command that was given, if
  /// any.
  std::string with_way_to_help(const std::string& fault) const;

  /// The program itself, without its commands.
  CommandText text() const;
  std::vector<CommandText> command_texts() const;

 private:
  std::unique_ptr<CLI::App> parser_;
};

/// "CLI11 2.3.2"
std::string parser_version();

}  // namespace platetally::cli
