// platetally compare: the same plate on several machines.
#include <fmt/format.h>

#include <memory>

#include "output/cli/command_line.hpp"
#include "output/cli/commands.hpp"
#include "output/cli/exit_codes.hpp"
#include "output/cli/machine_argument.hpp"
#include "output/cli/output.hpp"
#include "output/cli/report_options.hpp"
#include "output/cli/tally_arguments.hpp"
#include "platetally/analyze.hpp"
#include "platetally/compare.hpp"

namespace platetally::cli {

namespace {

struct CompareArguments {
  std::string plate;
  std::vector<std::string> machines;
  std::string colours;
  std::string prices;
  int copies = 1;
  bool partial = false;
  bool json = false;
  std::string format = "text";
  std::string date;
  std::string output;
};

int compare(const CompareArguments& arguments) {
  if (arguments.plate.empty())
    throw UsageError("compare needs a PLATE");
  if (arguments.plate == "-")
    throw UsageError("compare reads the plate once for each machine: standard input will not do");
  if (arguments.machines.size() < 2)
    throw UsageError("compare needs two machines or more: --machine A --machine B");
  std::vector<Machine> machines;
  for (const std::string& name : arguments.machines)
    machines.push_back(load_machine_argument(name));
  CompareOptions options;
  options.copies = arguments.copies;
  options.analyze.tool_colours = parse_colours(arguments.colours, machines.front());
  options.analyze.partial = arguments.partial;
  options.prices = load_prices_argument(arguments.prices);
  Output output(arguments.output, arguments.plate);
  try {
    const Comparison comparison = compare_plate(arguments.plate, machines, options);
    output.write(
        written(comparison, arguments.format, arguments.json, arguments.date, arguments.plate));
  } catch (const UnreadablePlate& error) {
    throw RunError(fmt::format("{}: {}", arguments.plate, error.what()));
  }
  return kDone;
}

}  // namespace

Run add_compare(Program& program) {
  const auto arguments = std::make_shared<CompareArguments>();
  const Command command = program.command("compare", "the same plate on several machines");
  add_input(command, "PLATE", arguments->plate,
            "sliced plate, plain or packed (gz, zst, xz, zip, tar)", "");
  command
      .option("--machine", arguments->machines,
              "give it twice or more; the first is the one that the plate was sliced for")
      .takes("NAME|FILE")
      .one_value_each_time()
      .in_group("Input");
  add_partial(command, arguments->partial);
  add_colours(command, arguments->colours);
  add_input(command, "--prices", arguments->prices, "a prices file: what the plate costs", "FILE");
  add_copies(command, arguments->copies, "good parts on the plate, for the price of one");
  add_report_options(command, arguments->format, arguments->json, arguments->date,
                     arguments->output);
  command.footer(
      "Example: platetally compare lantern.gcode --machine changer-5 --machine switcher-4");
  return [arguments] { return compare(*arguments); };
}

}  // namespace platetally::cli
