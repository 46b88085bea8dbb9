// platetally compare: the same plate on several machines, plates beside plates, a plate beside what
// it would be if something were otherwise.
#include <fmt/format.h>

#include <memory>

#include "output/cli/command_line.hpp"
#include "output/cli/commands.hpp"
#include "output/cli/exit_codes.hpp"
#include "output/cli/machine_argument.hpp"
#include "output/cli/output.hpp"
#include "output/cli/report_options.hpp"
#include "output/cli/tally_arguments.hpp"
#include "output/cli/variant_options.hpp"
#include "platetally/analyze.hpp"
#include "platetally/compare.hpp"

namespace platetally::cli {

namespace {

struct CompareArguments {
  std::vector<std::string> plates;
  std::vector<std::string> machines;
  std::string sliced_for;
  std::string colours;
  std::string prices;
  int copies = 1;
  VariantArguments what_if;
  bool partial = false;
  bool json = false;
  std::string format = "text";
  std::string date;
  std::string output;
};

std::string csv_or_written(const PlatesCompared& compared, const CompareArguments& arguments) {
  return arguments.format == "csv" ? to_csv(compared)
                                   : written(compared, arguments.format, arguments.json,
                                             arguments.date, arguments.plates.front());
}

/// One plate and one machine will do where there is a what-if to hold beside it, or the machine
/// that it was sliced for.
void require_something_to_compare(const CompareArguments& arguments, bool asks_what_if) {
  if (arguments.plates.empty())
    throw UsageError("compare needs a PLATE");
  for (const std::string& plate : arguments.plates)
    if (plate == "-")
      throw UsageError("compare reads a plate once for each machine: standard input will not do");
  require_machine(arguments.machines.empty() ? "" : arguments.machines.front());
  if (arguments.plates.size() < 2 && arguments.machines.size() < 2 && !asks_what_if &&
      arguments.sliced_for.empty())
    throw UsageError(
        "compare needs two machines or more (--machine A --machine B), two plates, or one that is "
        "otherwise (--repeat, --merge, --drop-tower)");
}

int compare(const CompareArguments& arguments) {
  const Variant variant = variant_of(arguments.what_if);
  const bool may_vary = !variant.is_as_it_is();
  require_something_to_compare(arguments, may_vary);
  std::vector<Machine> machines;
  if (arguments.machines.size() == 1 && arguments.plates.size() == 1 && !may_vary &&
      !arguments.sliced_for.empty())
    machines.push_back(load_machine_argument(arguments.sliced_for));
  for (const std::string& name : arguments.machines)
    machines.push_back(load_machine_argument(name));
  CompareOptions options;
  options.copies = arguments.copies;
  options.analyze.tool_colours = parse_colours(arguments.colours, machines.front());
  options.analyze.partial = arguments.partial;
  options.analyze.variant = variant;
  options.prices = load_prices_argument(arguments.prices);
  if (!arguments.sliced_for.empty())
    options.sliced_for = load_machine_argument(arguments.sliced_for);
  Output output(arguments.output, arguments.plates.front());
  const bool beside_itself =
      may_vary && arguments.plates.size() == 1 && arguments.machines.size() == 1;
  try {
    output.write(csv_or_written(beside_itself
                                    ? compare_variant(arguments.plates.front(), machines, options)
                                    : compare_plates(arguments.plates, machines, options),
                                arguments));
  } catch (const UnreadablePlate& error) {
    throw RunError(beside_itself ? fmt::format("{}: {}", arguments.plates.front(), error.what())
                                 : error.what());
  }
  return kDone;
}

}  // namespace

Run add_compare(Program& program) {
  const auto arguments = std::make_shared<CompareArguments>();
  const Command command =
      program.command("compare", "plates on several machines, or before and after");
  add_input(command, "PLATE", arguments->plates,
            "sliced plates, plain or packed (gz, zst, xz, zip, tar); of two, what is otherwise",
            "");
  command
      .option("--machine", arguments->machines,
              "may be repeated; the first is the one that the plates were sliced for")
      .takes("NAME|FILE")
      .one_value_each_time()
      .in_group("Input");
  add_input(command, "--sliced-for", arguments->sliced_for,
            "the machine that the plates were sliced for, where it is not the first", "NAME|FILE");
  add_partial(command, arguments->partial);
  add_colours(command, arguments->colours);
  add_input(command, "--prices", arguments->prices, "a prices file: what the plate costs", "FILE");
  add_copies(command, arguments->copies, "good parts on the plate, for the price of one");
  add_variant(command, arguments->what_if);
  add_report_options(command, arguments->format, arguments->json, arguments->date,
                     arguments->output, true);
  command.footer(
      "Example: platetally compare lantern.gcode --machine changer-5 --machine switcher-4");
  return [arguments] { return compare(*arguments); };
}

}  // namespace platetally::cli
