#include "output/cli/command_line.hpp"

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>

#include "output/cli/commands.hpp"
#include "output/cli/messages.hpp"
#include "output/cli/usage.hpp"

namespace platetally::cli {

namespace {

/// What an option takes, without what is checked of it; empty for a flag.
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

/// Names every option once, with the kind of its value; the parser's own form also lists all that
/// excludes it.
class HelpFormatter : public CLI::Formatter {
 public:
  HelpFormatter() {
    constexpr std::size_t kOptionColumns = 28;
    column_width(kOptionColumns);
  }
  std::string make_option_opts(const CLI::Option* option) const override {
    const std::string value = value_name(*option);
    return value.empty() ? "" : " " + value;
  }
};

std::vector<const CLI::App*> commands_of(const CLI::App& app) {
  return app.get_subcommands([](const CLI::App*) { return true; });
}

/// The command that was given, or the program itself.
const CLI::App& given_command(const CLI::App& app) {
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

/// What the parser could not accept.
std::string explain(const CLI::ParseError& error, const CLI::App& app) {
  const CLI::App& command = given_command(app);
  const std::vector<std::string> left = app.remaining(true);
  const std::string first = left.empty() ? "" : harmless(left.front());
  if (first.starts_with('-') && first != "-") {
    const std::string flag = first.substr(0, first.find('='));
    return fmt::format("unknown option '{}'{}", flag, perhaps(flag, flags_of(command)));
  }
  if (&command == &app && !first.empty())
    return fmt::format("unknown command '{}'{}", first, perhaps(first, command_names(app)));
  if (!first.empty())
    return fmt::format("{} does not expect '{}'", command.get_name(), first);
  std::string what = harmless(error.what());
  if (dynamic_cast<const CLI::ArgumentMismatch*>(&error) != nullptr) {
    const std::string name = what.substr(0, what.find(':'));
    if (what.find("At Most 1 required") == std::string::npos)
      return fmt::format("{} needs a value", name);
    // Only compare has --machine more than once.
    return fmt::format("{} takes one value and was given several{}", name,
                       name == "--machine" ? "; 'platetally compare' takes several machines" : "");
  }
  return what;
}

OptionText text_of(const CLI::Option& option) {
  OptionText text;
  for (const std::string& name : option.get_snames())
    text.names.push_back("-" + name);
  for (const std::string& name : option.get_lnames())
    text.names.push_back("--" + name);
  if (text.names.empty())
    text.names.push_back(option.get_name(true));
  text.what = option.get_description();
  text.is_positional = option.get_positional();
  if (option.get_items_expected_max() == 0)
    return text;
  // What it takes, then, from its checks, the words that it may be: FORMAT:{text,json}.
  const std::string type = option.get_type_name();
  text.value = value_name(option);
  text.takes_file = type.find("FILE") != std::string::npos || text.is_positional;
  const auto open = type.find('{');
  const auto shut = type.find('}');
  if (open != std::string::npos && shut != std::string::npos)
    text.words = CLI::detail::split(type.substr(open + 1, shut - open - 1), ',');
  return text;
}

}  // namespace

Option Option::takes(std::string_view what) const {
  parser_->type_name(std::string(what));
  return *this;
}

Option Option::in_group(std::string_view heading) const {
  parser_->group(std::string(heading));
  return *this;
}

Option Option::one_of(std::initializer_list<const char*> words) const {
  parser_->check(CLI::IsMember(std::vector<std::string>(words.begin(), words.end())));
  return *this;
}

Option Option::between(int least, int most) const {
  parser_->check(CLI::Range(least, most));
  return *this;
}

Option Option::between(double least, double most) const {
  parser_->check(CLI::Range(least, most));
  return *this;
}

Option Option::not_negative() const {
  parser_->check(CLI::NonNegativeNumber);
  return *this;
}

Option Option::one_value_each_time() const {
  parser_->allow_extra_args(false);
  return *this;
}

Option Option::not_with(Option other) const {
  parser_->excludes(other.parser_);
  return *this;
}

Option Command::option(const char* name, std::string& place, const char* what) const {
  return Option(parser_->add_option(name, place, what));
}

Option Command::option(const char* name, std::vector<std::string>& place, const char* what) const {
  return Option(parser_->add_option(name, place, what));
}

Option Command::option(const char* name, int& place, const char* what) const {
  return Option(parser_->add_option(name, place, what));
}

Option Command::option(const char* name, double& place, const char* what) const {
  return Option(parser_->add_option(name, place, what));
}

Option Command::option(const char* name, std::optional<double>& place, const char* what) const {
  return Option(parser_->add_option_function<double>(
      name, [&place](double value) { place = value; }, what));
}

Option Command::flag(const char* name, bool& place, const char* what) const {
  return Option(parser_->add_flag(name, place, what));
}

void Command::passes_over_the_rest() const {
  parser_->allow_extras();
}

void Command::footer(const char* text) const {
  parser_->footer(std::string(text));
}

Program::Program(const char* name, const char* what, const char* footer)
    : parser_(std::make_unique<CLI::App>(what, name)) {
  parser_->formatter(std::make_shared<HelpFormatter>());
  parser_->set_help_flag("-h,--help", "this text");
  parser_->require_subcommand(0, 1);
  parser_->footer(std::string(footer));
}

Program::~Program() = default;

Command Program::command(const char* name, const char* what) {
  return Command(parser_->add_subcommand(name, what));
}

Command Program::itself() {
  return Command(parser_.get());
}

bool Program::parse(int argc, char** argv) {
  try {
    parser_->parse(argc, argv);
    return true;
  } catch (const CLI::CallForHelp&) {
    return false;
  } catch (const CLI::ParseError& error) {
    throw UsageError(explain(error, *parser_));
  }
}

bool Program::is_given(const std::string& command) const {
  return parser_->got_subcommand(command);
}

std::string Program::help() const {
  return parser_->help();
}

std::string Program::missing_command() const {
  return fmt::format("missing command; one of: {}", listed(command_names(*parser_)));
}

std::string Program::with_way_to_help(const std::string& fault) const {
  const CLI::App& command = given_command(*parser_);
  return fmt::format("{}{} try '{} {}--help'", fault, fault.ends_with('?') ? "" : ";",
                     parser_->get_name(),
                     &command == parser_.get() ? "" : command.get_name() + " ");
}

CommandText Program::text() const {
  CommandText text{"", parser_->get_description(), {}, {}};
  for (const CLI::Option* option : parser_->get_options())
    text.flags.push_back(text_of(*option));
  return text;
}

std::vector<CommandText> Program::command_texts() const {
  std::vector<CommandText> texts;
  for (const CLI::App* command : commands_of(*parser_)) {
    CommandText text{command->get_name(), command->get_description(), {}, {}};
    for (const CLI::Option* option : command->get_options()) {
      OptionText one = text_of(*option);
      (one.is_positional ? text.positionals : text.flags).push_back(std::move(one));
    }
    texts.push_back(std::move(text));
  }
  return texts;
}

std::string parser_version() {
  return fmt::format("CLI11 {}", CLI11_VERSION);
}

}  // namespace platetally::cli
