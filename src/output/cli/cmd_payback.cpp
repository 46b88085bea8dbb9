// platetally payback: a year of plates on two machines.
#include <fmt/format.h>

#include <memory>

#include "output/cli/command_line.hpp"
#include "output/cli/commands.hpp"
#include "output/cli/exit_codes.hpp"
#include "output/cli/output.hpp"
#include "output/cli/report_options.hpp"
#include "output/cli/variant_options.hpp"
#include "platetally/payback.hpp"

namespace platetally::cli {

namespace {

struct PaybackArguments {
  std::string file;
  VariantArguments what_if;
  bool json = false;
  std::string format = "text";
  std::string output;
};

int payback(const PaybackArguments& arguments) {
  if (arguments.file.empty())
    throw UsageError("payback needs a FILE; docs/payback-file.md says what it holds");
  Output output(arguments.output, arguments.file);
  const PaybackReport report =
      plan_payback(read_payback(arguments.file, variant_of(arguments.what_if)));
  output.write(written(report, arguments.format, arguments.json));
  return kDone;
}

}  // namespace

Run add_payback(Program& program) {
  const auto arguments = std::make_shared<PaybackArguments>();
  const Command command =
      program.command("payback", "a year of plates on two machines: does the dearer one pay");
  command.option("FILE", arguments->file, "machines, prices, plates and how often")
      .takes("")
      .in_group("Input");
  add_variant(command, arguments->what_if);
  add_report_options(command, arguments->format, arguments->json, arguments->output);
  command.footer("Example: platetally payback testdata/demo/payback.toml");
  return [arguments] { return told_as_run_error([&] { return payback(*arguments); }); };
}

}  // namespace platetally::cli
