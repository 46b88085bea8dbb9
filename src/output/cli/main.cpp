// Parses the arguments and runs the command they name. Everything that goes wrong ends here, as one
// line on standard error and an exit code.
#include <fmt/format.h>
#include <spdlog/version.h>

#include <CLI/CLI.hpp>
#include <exception>
#include <memory>
#include <string>
#include <vector>

#include "output/cli/commands.hpp"
#include "output/cli/exit_codes.hpp"
#include "output/cli/messages.hpp"
#include "output/cli/output.hpp"
#include "output/cli/shell_help.hpp"
#include "output/cli/usage.hpp"
#include "platetally/report.hpp"

namespace platetally::cli {

namespace {

constexpr std::string_view kFooter =
    "Exit: 0 done; 1 done, and a --limit is exceeded; 2 bad usage, unreadable input, or output "
    "that\ncannot be written.\n\n"
    "Example: platetally tally plant-labels.gcode --machine changer-5";

std::string version() {
  return fmt::format(
      "platetally {}\nJSON schema {}\nbuilt with CLI11 {}, fmt {}.{}.{}, spdlog {}.{}.{}\n",
      PLATETALLY_VERSION, kTallySchema, CLI11_VERSION, FMT_VERSION / 10000, FMT_VERSION / 100 % 100,
      FMT_VERSION % 100, SPDLOG_VER_MAJOR, SPDLOG_VER_MINOR, SPDLOG_VER_PATCH);
}

std::string schema_of(const std::string& report) {
  std::string schema = json_schema(report);
  if (schema.empty())
    throw UsageError(fmt::format("--json-schema: no report is called '{}'; there are {}", report,
                                 listed(json_schema_names())));
  return schema;
}

int print(const std::string& text) {
  Output("", "").write(text);
  return kDone;
}

int run(int argc, char** argv) {
  CLI::App app(
      "Says before printing what a sliced plate will cost: hours, swaps, grams, watt-hours.",
      "platetally");
  app.formatter(std::make_shared<HelpFormatter>());
  app.set_help_flag("-h,--help", "this text");
  bool wants_version = false;
  app.add_flag("--version", wants_version, "version and what it is built with");
  std::string completed_shell;
  app.add_option("--completion", completed_shell, "completions for a shell: bash, zsh or fish")
      ->type_name("SHELL");
  bool wants_man = false;
  app.add_flag("--man-page", wants_man, "this help as a man page");
  std::string schema_name;
  app.add_option("--json-schema", schema_name, "the schema (2020-12) of a report's JSON")
      ->type_name("REPORT");
  app.require_subcommand(0, 1);
  app.footer(std::string(kFooter));
  const std::vector<std::pair<std::string, Run>> commands{
      {"tally", add_tally(app)},         {"order", add_order(app)},
      {"compare", add_compare(app)},     {"payback", add_payback(app)},
      {"audit", add_audit(app)},         {"record", add_record(app)},
      {"calibrate", add_calibrate(app)}, {"reconcile", add_reconcile(app)},
      {"machines", add_machines(app)},   {"explain", add_explain(app)}};
  try {
    app.parse(argc, argv);
    if (wants_version)
      return print(version());
    if (!completed_shell.empty())
      return print(completion(app, completed_shell));
    if (wants_man)
      return print(man_page(app, PLATETALLY_VERSION));
    if (!schema_name.empty())
      return print(schema_of(schema_name));
    for (const auto& [name, command] : commands)
      if (app.got_subcommand(name))
        return command();
    throw CLI::RequiredError("a command");
  } catch (const CLI::CallForHelp&) {
    return print(app.help());
  } catch (const CLI::ParseError& error) {
    say(with_way_to_help(explain(error, app), app));
  } catch (const UsageError& error) {
    say(with_way_to_help(harmless(error.what()), app));
  }
  return kFailed;
}

}  // namespace

}  // namespace platetally::cli

int main(int argc, char** argv) {
  using namespace platetally::cli;
  try {
    prepare_streams();
    return run(argc, argv);
  } catch (const RunError& error) {
    say(harmless(error.what()));
  } catch (const std::bad_alloc&) {
    say("out of memory");
  } catch (const std::exception& error) {
    say(fmt::format("internal error: {}", harmless(error.what())));
  }
  return kFailed;
}
