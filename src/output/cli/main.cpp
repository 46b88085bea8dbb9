// Parses the arguments and runs the command they name. Everything that goes wrong ends here, as one
// line on standard error and an exit code.
#include <fmt/format.h>
#include <spdlog/version.h>

#include <exception>
#include <string>
#include <vector>

#include "output/cli/command_line.hpp"
#include "output/cli/commands.hpp"
#include "output/cli/exit_codes.hpp"
#include "output/cli/messages.hpp"
#include "output/cli/output.hpp"
#include "output/cli/shell_help.hpp"
#include "output/cli/usage.hpp"
#include "platetally/report.hpp"

namespace platetally::cli {

namespace {

constexpr const char* kFooter =
    "Exit: 0 done; 1 done, and a plate does not pass (--limit, --require, --strict); 2 bad usage,\n"
    "unreadable input, or output that cannot be written.\n\n"
    "Example: platetally tally plant-labels.gcode --machine changer-5";

std::string version() {
  return fmt::format(
      "platetally {}\nJSON schema {}\nbuilt with {}, fmt {}.{}.{}, spdlog {}.{}.{}\n",
      PLATETALLY_VERSION, kTallySchema, parser_version(), FMT_VERSION / 10000,
      FMT_VERSION / 100 % 100, FMT_VERSION % 100, SPDLOG_VER_MAJOR, SPDLOG_VER_MINOR,
      SPDLOG_VER_PATCH);
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
  Program program(
      "platetally",
      "Says before printing what a sliced plate will cost: hours, swaps, grams, watt-hours.",
      kFooter);
  const Command itself = program.itself();
  bool wants_version = false;
  itself.flag("--version", wants_version, "version and what it is built with");
  std::string completed_shell;
  itself.option("--completion", completed_shell, "completions for a shell: bash, zsh or fish")
      .takes("SHELL");
  bool wants_man = false;
  itself.flag("--man-page", wants_man, "this help as a man page");
  std::string schema_name;
  itself.option("--json-schema", schema_name, "the schema (2020-12) of a report's JSON")
      .takes("REPORT");
  const std::vector<std::pair<std::string, Run>> commands{
      {"tally", add_tally(program)},         {"order", add_order(program)},
      {"compare", add_compare(program)},     {"payback", add_payback(program)},
      {"audit", add_audit(program)},         {"printed", add_printed(program)},
      {"record", add_record(program)},       {"calibrate", add_calibrate(program)},
      {"reconcile", add_reconcile(program)}, {"plan", add_plan(program)},
      {"machines", add_machines(program)},   {"explain", add_explain(program)}};
  try {
    if (!program.parse(argc, argv))
      return print(program.help());
    if (wants_version)
      return print(version());
    if (!completed_shell.empty())
      return print(completion(program, completed_shell));
    if (wants_man)
      return print(man_page(program, PLATETALLY_VERSION));
    if (!schema_name.empty())
      return print(schema_of(schema_name));
    for (const auto& [name, command] : commands)
      if (program.is_given(name))
        return command();
    throw UsageError(program.missing_command());
  } catch (const UsageError& error) {
    say(program.with_way_to_help(harmless(error.what())));
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
