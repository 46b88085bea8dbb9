// platetally order: what the order of the tools costs, and the cheapest one.
#include <fmt/format.h>

#include <charconv>
#include <memory>

#include "output/cli/command_line.hpp"
#include "output/cli/commands.hpp"
#include "output/cli/exit_codes.hpp"
#include "output/cli/machine_argument.hpp"
#include "output/cli/output.hpp"
#include "output/cli/report_options.hpp"
#include "output/cli/tally_arguments.hpp"
#include "output/cli/usage.hpp"
#include "output/cli/variant_options.hpp"
#include "platetally/analyze.hpp"
#include "platetally/order.hpp"

namespace platetally::cli {

namespace {

struct OrderArguments {
  std::string plate;
  std::string machine;
  std::string colours;
  std::string prices;
  std::string by;  ///< empty: the usual
  std::string heads = "free";
  std::vector<std::string> before;
  VariantArguments what_if;
  int first = -1;
  int keep = -1;
  bool partial = false;
  bool json = false;
  std::string format = "text";
  std::string date;
  std::string output;
};

int tool_of(std::string_view text, const std::string& whole) {
  int tool = -1;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), tool);
  if (error != std::errc() || end != text.data() + text.size() || tool < 0)
    throw UsageError(fmt::format("--before: '{}' is not TOOL:TOOL, such as 0:2", whole));
  return tool;
}

OrderOptions options_of(const OrderArguments& arguments) {
  OrderOptions options;
  options.objective = arguments.by == "seconds" ? OrderObjective::seconds
                      : arguments.by == "money" ? OrderObjective::money
                      : arguments.by == "swaps" ? OrderObjective::swaps
                                                : OrderObjective::grams;
  options.head_order = arguments.heads == "ascending"     ? HeadOrder::ascending
                       : arguments.heads == "alternating" ? HeadOrder::alternating
                       : arguments.heads == "cyclic"      ? HeadOrder::cyclic
                                                          : HeadOrder::free;
  if (arguments.first >= 0)
    options.first = arguments.first;
  if (arguments.keep >= 0)
    options.kept = arguments.keep;
  for (const std::string& text : arguments.before) {
    const std::size_t colon = text.find(':');
    if (colon == std::string::npos)
      throw UsageError(fmt::format("--before: '{}' is not TOOL:TOOL, such as 0:2", text));
    options.precedence.emplace_back(tool_of(std::string_view(text).substr(0, colon), text),
                                    tool_of(std::string_view(text).substr(colon + 1), text));
  }
  return options;
}

int order(const OrderArguments& arguments) {
  if (arguments.plate.empty())
    throw UsageError("order needs a PLATE, or - for standard input");
  require_machine(arguments.machine);
  const Machine machine = load_machine_argument(arguments.machine);
  OrderOptions options = options_of(arguments);
  const std::optional<Prices> prices = load_prices_argument(arguments.prices);
  if (!prices && options.objective == OrderObjective::money)
    throw UsageError("--by money needs --prices");
  AnalyzeOptions analyze;
  analyze.tool_colours = parse_colours(arguments.colours, machine);
  analyze.partial = arguments.partial;
  analyze.variant = variant_of(arguments.what_if);
  Output output(arguments.output, arguments.plate);
  try {
    analyze.findings = false;
    const Account account = analyze_file(arguments.plate, machine, analyze);
    if (prices) {
      const PlateCost cost = cost_of_plate(account, *prices);
      options.money_per_g = cost.per_purge_g;
      options.money_per_s = cost_per_s(cost, account.totals.mean_power_w);
    }
    OrderReport report = arguments.by.empty() ? plan_usual_order(account, machine, options)
                                              : plan_order(account, machine, options);
    if (account.reading.is_partial())
      report.assumptions.emplace_back(
          "only a part of the plate could be read; of the rest nothing is known");
    output.write(
        written(report, arguments.format, arguments.json, arguments.date, arguments.plate));
  } catch (const UnreadablePlate& error) {
    throw RunError(fmt::format("{}: {}", arguments.plate, error.what()));
  } catch (const std::invalid_argument& error) {
    throw RunError(fmt::format("{}: {}", arguments.plate, error.what()));
  }
  return kDone;
}

}  // namespace

Run add_order(Program& program) {
  const auto arguments = std::make_shared<OrderArguments>();
  const Command command =
      program.command("order", "what the order of the tools costs, and the cheapest one");
  add_input(command, "PLATE", arguments->plate,
            "sliced plate, plain or packed (gz, zst, xz, zip, tar); - reads standard input", "");
  add_machine(command, arguments->machine);
  add_partial(command, arguments->partial);
  add_colours(command, arguments->colours);
  add_input(command, "--prices", arguments->prices, "a prices file, for what the orders cost",
            "FILE");
  command
      .option("--by", arguments->by,
              "what is to be least: grams, seconds, money or swaps; without it grams where needs "
              "are known, else swaps")
      .one_of({"grams", "seconds", "money", "swaps"})
      .takes("WHAT")
      .in_group("Order");
  command.option("--before", arguments->before, "in every layer with both; may be repeated")
      .takes("TOOL:TOOL")
      .one_value_each_time()
      .in_group("Order");
  command.option("--first", arguments->first, "the tool in hand before the plate")
      .not_negative()
      .takes("TOOL")
      .in_group("Order");
  command.option("--keep", arguments->keep, "the tool wanted in hand for the next plate")
      .not_negative()
      .takes("TOOL")
      .in_group("Order");
  command
      .option("--heads", arguments->heads,
              "the machine goes through its heads so; which colour belongs in which")
      .one_of({"free", "ascending", "alternating", "cyclic"})
      .takes("ORDER")
      .in_group("Order");
  add_variant(command, arguments->what_if);
  add_report_options(command, arguments->format, arguments->json, arguments->date,
                     arguments->output);
  command.footer(
      "Example: platetally order plant-labels.gcode --machine switcher-4 --colours "
      "0=black,1=white,2=red");
  return [arguments] { return order(*arguments); };
}

}  // namespace platetally::cli
