// platetally machines: the machines that come with it, one of them as a file to start from, and a
// check of a machine file.
#include <fmt/format.h>
#include <fmt/ranges.h>

#include <charconv>
#include <filesystem>
#include <memory>

#include "base/counted.hpp"
#include "output/cli/command_line.hpp"
#include "output/cli/commands.hpp"
#include "output/cli/exit_codes.hpp"
#include "output/cli/learn.hpp"
#include "output/cli/machine_argument.hpp"
#include "output/cli/output.hpp"
#include "output/cli/usage.hpp"
#include "platetally/circuit.hpp"
#include "platetally/machine.hpp"

namespace platetally::cli {

namespace {

struct MachinesArguments {
  std::string name;
  std::string check;
  std::string output;
  std::vector<std::string> learn;
  std::string circuit;
  std::string plan;
  double share = 0.8;
  double bed_c = 60.0;
  double nozzle_c = 215.0;
  bool json = false;
  bool verbose = false;
};

std::string list_of_machines() {
  std::string out;
  for (const std::string& name : embedded_machine_names())
    out += fmt::format("{:<12} {}\n", name, load_machine(name).machine().description);
  return out;
}

int check_file(const std::string& path, bool verbose) {
  if (!std::filesystem::exists(path))
    throw RunError(fmt::format("{}: no such file", path));
  const MachineLoad load = load_machine(path);
  const Machine machine = load_machine_argument(path);
  std::string text = fmt::format("{}: sound; machine '{}', {}, {}, {}\n", path, machine.name,
                                 base::counted(machine.heads.size(), "head"),
                                 base::counted(machine.tools.size(), "tool"),
                                 base::counted(static_cast<std::size_t>(machine.bed.rows) *
                                                   static_cast<std::size_t>(machine.bed.columns),
                                               "bed zone"));
  if (verbose && !load.inherited_motion_keys.empty())
    text +=
        fmt::format("[motion] from {}: {}\n", load.extends.empty() ? "the defaults" : load.extends,
                    fmt::join(load.inherited_motion_keys, ", "));
  Output("", "").write(text);
  return kDone;
}

double number_before(std::string_view text, std::string_view unit, const std::string& whole) {
  double value = 0.0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (error != std::errc() || std::string_view(end, text.data() + text.size()) != unit)
    throw UsageError(
        fmt::format("--circuit: '{}' is not VOLTS and AMPERES, such as 230V,16A", whole));
  return value;
}

/// "6xswitcher-4,2xchanger-5"
std::vector<CircuitMachines> machines_of(const std::string& text) {
  std::vector<CircuitMachines> machines;
  std::string_view rest = text;
  while (!rest.empty()) {
    const std::string_view entry = rest.substr(0, rest.find(','));
    rest.remove_prefix(std::min(entry.size() + 1, rest.size()));
    int count = 0;
    const auto [end, error] = std::from_chars(entry.data(), entry.data() + entry.size(), count);
    if (error != std::errc() || end + 1 >= entry.data() + entry.size() || *end != 'x')
      throw UsageError(
          fmt::format("--plan: '{}' is not COUNTxMACHINE, such as 6xswitcher-4", entry));
    machines.push_back(
        {load_machine_argument(std::string(end + 1, entry.data() + entry.size())), count});
  }
  return machines;
}

int plan_for_circuit(const MachinesArguments& arguments) {
  CircuitPlan plan;
  const std::size_t comma = arguments.circuit.find(',');
  if (comma == std::string::npos || arguments.plan.empty())
    throw UsageError("a circuit needs both, such as --circuit 230V,16A --plan 6xswitcher-4");
  const std::string_view circuit = arguments.circuit;
  plan.volts = number_before(circuit.substr(0, comma), "V", arguments.circuit);
  plan.amps = number_before(circuit.substr(comma + 1), "A", arguments.circuit);
  plan.continuous_share = arguments.share;
  plan.bed_c = arguments.bed_c;
  plan.nozzle_c = arguments.nozzle_c;
  plan.machines = machines_of(arguments.plan);
  Output output(arguments.output, "");
  try {
    const CircuitReport report = plan_circuit(plan);
    output.write(arguments.json ? to_json(report) : to_text(report));
  } catch (const std::invalid_argument& error) {
    throw UsageError(error.what());
  }
  return kDone;
}

int machines(const MachinesArguments& arguments) {
  if (!arguments.circuit.empty() || !arguments.plan.empty())
    return plan_for_circuit(arguments);
  if (!arguments.check.empty())
    return check_file(arguments.check, arguments.verbose);
  if (!arguments.learn.empty()) {
    if (arguments.name.empty())
      throw UsageError("--learn needs the NAME of a machine or a machine file");
    return told_as_run_error(
        [&] { return learn_rows(arguments.name, arguments.learn, arguments.output); });
  }
  Output output(arguments.output, "");
  output.write(arguments.name.empty() ? list_of_machines()
                                      : machine_to_toml(load_machine_argument(arguments.name)));
  return kDone;
}

}  // namespace

Run add_machines(Program& program) {
  const auto arguments = std::make_shared<MachinesArguments>();
  const Command command = program.command(
      "machines", "list the machines, print one as a file to start from, check a file");
  const Option name = command.option("NAME", arguments->name, "print this one as TOML").takes("");
  command
      .option("--learn", arguments->learn,
              "rows for the words of these plates or folders that NAME does not explain")
      .takes("PLATE");
  command.option("--check", arguments->check, "say whether a machine file is sound")
      .takes("FILE")
      .not_with(name);
  command.flag("-v,--verbose", arguments->verbose,
               "with --check: which keys of [motion] the file leaves to what it extends");
  command.option("-o,--output", arguments->output, "write there; all or nothing").takes("FILE");
  const std::string group = "Several machines on one circuit";
  command.option("--circuit", arguments->circuit, "voltage and breaker: 230V,16A")
      .takes("V,A")
      .in_group(group);
  command.option("--plan", arguments->plan, "how many of which: 6xswitcher-4,1xchanger-5")
      .takes("LIST")
      .in_group(group);
  command.option("--share", arguments->share, "of the breaker that may be drawn for hours; 0.8")
      .takes("SHARE")
      .in_group(group);
  command.option("--bed-c", arguments->bed_c, "beds are heated to; 60")
      .between(0.0, 300.0)
      .takes("DEGC")
      .in_group(group);
  command.option("--nozzle-c", arguments->nozzle_c, "heads are heated to; 215")
      .between(0.0, 600.0)
      .takes("DEGC")
      .in_group(group);
  command.flag("--json", arguments->json, "JSON instead of text").in_group(group);
  command.footer("Example: platetally machines changer-5 -o our-machine.toml");
  return [arguments] { return machines(*arguments); };
}

}  // namespace platetally::cli
