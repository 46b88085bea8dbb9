// platetally printed: what was really printed, into the history.
#include <fmt/format.h>

#include <charconv>
#include <memory>
#include <optional>

#include "base/files.hpp"
#include "output/cli/clock.hpp"
#include "output/cli/command_line.hpp"
#include "output/cli/commands.hpp"
#include "output/cli/exit_codes.hpp"
#include "output/cli/machine_argument.hpp"
#include "output/cli/messages.hpp"
#include "output/cli/output.hpp"
#include "output/cli/report_options.hpp"
#include "output/cli/say_print.hpp"
#include "output/cli/tally_arguments.hpp"
#include "platetally/plan.hpp"
#include "platetally/print_log.hpp"

namespace platetally::cli {

namespace {

constexpr std::size_t kMostPlanBytes = std::size_t{64} << 20;

struct PrintedArguments {
  std::string plate;
  std::string member;
  std::string machine;
  std::string unit;
  std::string materials;
  std::string colours;
  std::string prices;
  int copies = 1;
  std::string when;
  std::string good;
  bool failed = false;
  std::optional<double> share;
  std::string from;
  std::string plan;
  std::string now;
  double utc_offset_h = 0.0;
  std::vector<std::string> failed_runs;
  std::string history;
};

std::uint64_t parse_good(const std::string& text) {
  std::uint64_t count = 0;
  const char* const end = text.data() + text.size();
  const auto read = std::from_chars(text.data(), end, count);
  if (read.ec != std::errc{} || read.ptr != end)
    throw UsageError(fmt::format("--good: '{}' is no number of parts", text));
  return count;
}

PrintEntry entry_of(const PrintedArguments& arguments) {
  PrintEntry entry;
  entry.path = arguments.plate;
  entry.member = arguments.member;
  entry.unit = arguments.unit;
  if (!arguments.when.empty()) {
    entry.finished_s = parse_utc(arguments.when);
    if (!entry.finished_s)
      throw UsageError(fmt::format("--when: '{}' is no moment in UTC, such as 2026-11-25T15:17:12",
                                   arguments.when));
  }
  if (!arguments.good.empty())
    entry.good_parts = parse_good(arguments.good);
  entry.failed = arguments.failed;
  entry.share = arguments.share.value_or(1.0);
  return entry;
}

AuditOptions options_of(const PrintedArguments& arguments, const Machine* machine) {
  AuditOptions options;
  options.history = arguments.history;
  options.version = PLATETALLY_VERSION;
  options.now_s = now_s;
  options.materials = load_materials_argument(arguments.materials);
  if (machine != nullptr)
    options.tool_colours = parse_colours(arguments.colours, *machine);
  options.prices = load_prices_argument(arguments.prices);
  options.copies = arguments.copies;
  return options;
}

std::vector<LoggedPrint> of_plan(const PrintedArguments& arguments) {
  const auto until_s = parse_moment(arguments.now);
  if (!until_s)
    throw UsageError(
        fmt::format("--now: '{}' is no moment such as \"2026-05-04 07:30\"", arguments.now));
  const auto text = base::read_file(arguments.plan, kMostPlanBytes);
  if (!text)
    throw RunError(fmt::format("{}: cannot be read", arguments.plan));
  return log_plan_prints(*text, arguments.plan,
                         {*until_s, arguments.utc_offset_h, arguments.failed_runs},
                         options_of(arguments, nullptr));
}

void require_sense(const PrintedArguments& arguments) {
  const int ways =
      int(!arguments.plate.empty()) + int(!arguments.from.empty()) + int(!arguments.plan.empty());
  if (ways != 1)
    throw UsageError("printed needs a PLATE, --from FOLDER or --plan PLAN.json, one of them");
  if (arguments.history.empty())
    throw UsageError("printed needs --history FILE");
  if (arguments.share && !arguments.failed)
    throw UsageError("--share goes with --failed: what was finished used all of the plate");
  if (arguments.plate.empty() && (!arguments.when.empty() || !arguments.good.empty() ||
                                  arguments.failed || !arguments.unit.empty()))
    throw UsageError("--when, --good, --failed and --unit are of one PLATE");
  if (arguments.plan.empty() != arguments.now.empty())
    throw UsageError("--plan needs --now, the moment until which its runs are done");
  const bool changes_figures =
      !arguments.materials.empty() || !arguments.colours.empty() || !arguments.prices.empty();
  if (arguments.machine.empty() && changes_figures)
    throw UsageError("--materials, --colours and --prices need --machine");
  if (!arguments.plan.empty() && !arguments.machine.empty())
    throw UsageError("a plan says itself which machines printed it; leave out --machine");
}

int printed(const PrintedArguments& arguments) {
  require_sense(arguments);
  std::optional<Machine> machine;
  if (!arguments.machine.empty())
    machine = load_machine_argument(arguments.machine);
  const Machine* const known = machine ? &*machine : nullptr;
  std::vector<LoggedPrint> logged;
  if (!arguments.plan.empty())
    logged = of_plan(arguments);
  else if (!arguments.from.empty())
    logged = log_finished_folder(arguments.from, known, options_of(arguments, known));
  else
    logged.push_back(log_print(entry_of(arguments), known, options_of(arguments, known)));
  std::string out;
  bool all_done = true;
  for (const LoggedPrint& print : logged) {
    if (print.counted)
      out += line_of(print) + '\n';
    else
      say_print(print);
    all_done = all_done && !print.is_fault;
  }
  Output("", "").write(out);
  return all_done ? kDone : kFailed;
}

void add_one(Command command, PrintedArguments& arguments) {
  constexpr const char* group = "One plate";
  command.option("PLATE", arguments.plate, "a plate that was printed").takes("").in_group(group);
  add_to(command, group, "--member", arguments.member, "of a zip or tar with several plates",
         "NAME");
  add_to(command, group, "--when", arguments.when, "when it was finished, in UTC; else now",
         "TIME");
  add_to(command, group, "--unit", arguments.unit,
         "which of the machines that are alike, such as \"2\"", "NAME");
  add_to(command, group, "--good", arguments.good, "good parts that came out", "N");
  command.flag("--failed", arguments.failed, "it came to nothing; counts as the whole plate")
      .in_group(group);
  command.option("--share", arguments.share, "of --failed: what it used, as a share of the plate")
      .between(0.0, 1.0)
      .takes("SHARE")
      .in_group(group);
}

void add_several(Command command, PrintedArguments& arguments) {
  constexpr const char* group = "Several plates";
  add_to(command, group, "--from", arguments.from,
         "every plate below it, each file once: a folder of finished plates", "FOLDER");
  add_to(command, group, "--plan", arguments.plan, "runs of a plan that are done", "PLAN.json");
  add_to(command, group, "--now", arguments.now,
         "of --plan: done are runs that ended by then, on its clock", "MOMENT");
  command
      .option("--utc-offset", arguments.utc_offset_h,
              "of --plan: hours that its clock is ahead of UTC")
      .between(-14.0, 14.0)
      .takes("HOURS")
      .in_group(group);
  add_to(command, group, "--failed-run", arguments.failed_runs,
         "of --plan: a run that failed; may be repeated", "RUN")
      .one_value_each_time();
}

}  // namespace

Run add_printed(Program& program) {
  const auto arguments = std::make_shared<PrintedArguments>();
  const Command command =
      program.command("printed", "what was really printed: into the history, for its weeks");
  add_one(command, *arguments);
  add_several(command, *arguments);
  add_machine(command, arguments->machine);
  add_colours(command, arguments->colours);
  add_input(command, "--materials", arguments->materials, "materials of your own", "FILE");
  add_input(command, "--prices", arguments->prices, "a prices file: what the plates cost", "FILE");
  add_copies(command, arguments->copies, "good parts on each plate");
  command.option("--history", arguments->history, "where prints are logged")
      .takes("FILE")
      .in_group("Output");
  command.footer(
      "Example: platetally printed tags.gcode --machine changer-5 --good 24 --history shop.sqlite");
  return [arguments] { return told_as_run_error([&] { return printed(*arguments); }); };
}

}  // namespace platetally::cli
