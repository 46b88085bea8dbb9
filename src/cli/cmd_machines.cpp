// platetally machines: the machines that come with it, one of them as a file to start from, and a
// check of a machine file.
#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <filesystem>
#include <memory>

#include "cli/commands.hpp"
#include "cli/exit_codes.hpp"
#include "cli/machine_argument.hpp"
#include "cli/output.hpp"
#include "cli/usage.hpp"
#include "platetally/machine.hpp"

namespace platetally::cli {

namespace {

struct MachinesArguments {
  std::string name;
  std::string check;
  std::string output;
};

std::string list_of_machines() {
  std::string out;
  for (const std::string& name : embedded_machine_names())
    out += fmt::format("{:<12} {}\n", name, load_machine(name).machine.description);
  return out;
}

int check_file(const std::string& path) {
  if (!std::filesystem::exists(path))
    throw RunError(fmt::format("{}: no such file", path));
  const Machine machine = load_machine_argument(path);
  Output("", "").write(fmt::format("{}: sound; machine '{}', {} heads, {} tools, {} bed zones\n",
                                   path, machine.name, machine.heads.size(), machine.tools.size(),
                                   machine.bed.rows * machine.bed.columns));
  return kDone;
}

int machines(const MachinesArguments& arguments) {
  if (!arguments.check.empty())
    return check_file(arguments.check);
  Output output(arguments.output, "");
  output.write(arguments.name.empty() ? list_of_machines()
                                      : machine_to_toml(load_machine_argument(arguments.name)));
  return kDone;
}

}  // namespace

Run add_machines(CLI::App& app) {
  const auto arguments = std::make_shared<MachinesArguments>();
  CLI::App& command = *app.add_subcommand(
      "machines", "list the machines, print one as a file to start from, check a file");
  CLI::Option* name =
      command.add_option("NAME", arguments->name, "print this one as TOML")->type_name("");
  command.add_option("--check", arguments->check, "say whether a machine file is sound")
      ->type_name("FILE")
      ->excludes(name);
  command.add_option("-o,--output", arguments->output, "write there; all or nothing")
      ->type_name("FILE");
  command.footer("Example: platetally machines changer-5 -o our-machine.toml");
  return [arguments] { return machines(*arguments); };
}

}  // namespace platetally::cli
