// platetally calibrate and reconcile: a plug's log and the machine file.
#include <fmt/format.h>

#include <array>
#include <charconv>
#include <cmath>
#include <fstream>
#include <memory>
#include <sstream>

#include "output/cli/accuracy.hpp"
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
#include "output/cli/usage.hpp"
#include "platetally/analyze.hpp"
#include "platetally/calibrate.hpp"
#include "platetally/print_log.hpp"
#include "platetally/reconcile.hpp"

namespace platetally::cli {

namespace {

void add_log_columns(Command command, MeterLogOptions& columns, bool with_heaters) {
  for (const auto& [name, place, what] :
       {std::tuple("--time-column", &columns.time_column, "heading or number of the times"),
        std::tuple("--watts-column", &columns.watts_column, "heading or number of the watts"),
        std::tuple("--wh-column", &columns.wh_column, "or of watt-hours that add up")})
    command.option(name, *place, what).takes("NAME|N").in_group("Input");
  command.option("--unit", columns.unit, "of either: mW, W, kW, mWh, Wh or kWh")
      .one_of({"mW", "W", "kW", "mWh", "Wh", "kWh"})
      .takes("UNIT")
      .in_group("Input");
  command.option("--dates", columns.date_order, "day-first or month-first")
      .one_of({"day-first", "month-first"})
      .takes("ORDER")
      .in_group("Input");
  if (!with_heaters)
    return;
  constexpr std::array<std::pair<const char*, const char*>, kHeaterColumns> kNames{
      {{"--bed-target-column", "of the bed's set points, degC"},
       {"--bed-c-column", "of its temperatures, degC"},
       {"--bed-duty-column", "of its duty, share of full power"},
       {"--nozzle-target-column", "of the nozzle's set points"},
       {"--nozzle-c-column", "of its temperatures"},
       {"--nozzle-duty-column", "of its duty"}}};
  for (std::size_t i = 0; i < kHeaterColumns; ++i)
    command.option(kNames[i].first, columns.heater_columns[i], kNames[i].second)
        .takes("NAME|N")
        .in_group("Input");
}

/// How a log was understood, and what was left out of it.
void say_log(const MeterLog& log) {
  for (const std::string& reading : log.readings)
    say(harmless(fmt::format("{}: {}", log.path, reading)));
  for (const RejectedLines& rejected : log.rejected)
    say(harmless(fmt::format("{}:{}: {} lines left out: {}", log.path, rejected.first_line,
                             rejected.count, rejected.reason)));
}

/// The same of a table of prints or changes.
void say_table(const std::string& path, const std::vector<std::string>& readings,
               const std::vector<Diagnostic>& faults) {
  for (const std::string& reading : readings)
    say(harmless(fmt::format("{}: {}", path, reading)));
  for (const Diagnostic& fault : faults)
    say_bare(harmless(
        fault.line > 0 ? fmt::format("{}:{}:{}: {}", path, fault.line, fault.column, fault.message)
                       : fmt::format("{}: {}", path, fault.message)));
}

struct CalibrateArguments {
  std::string machine;
  std::string materials;
  std::vector<std::string> logs;
  std::string prints;
  std::string changes;
  MeterLogOptions columns;
  double day_spread = CalibrationOptions{}.day_spread;
  std::optional<double> start_bed_c;
  std::string machine_output;
  std::string pairs;
  bool plan = false;
  bool json = false;
  std::string format = "text";
  std::string date;
  std::string output;
};

/// "warm.csv:bed=60"; a file alone says itself what the machine did.
std::pair<std::string, std::string> parse_log(const std::string& text) {
  const std::size_t colon = text.rfind(':');
  if (colon == std::string::npos)
    return {text, "logged"};
  if (colon == 0 || colon + 1 == text.size())
    throw UsageError(
        fmt::format("--log: '{}' is not FILE:EXPERIMENT, such as warm.csv:bed=60", text));
  return {text.substr(0, colon), text.substr(colon + 1)};
}

void calibrate_pairs(const CalibrateArguments& arguments, const Machine& machine, Output& output) {
  if (!arguments.logs.empty())
    throw UsageError("--pairs goes without --log: what they tell has nothing in common");
  std::ifstream file(arguments.pairs, std::ios::binary);
  std::ostringstream text;
  if (!file || !(text << file.rdbuf()))
    throw RunError(fmt::format("{}: cannot be read, or is empty", arguments.pairs));
  const NeedCalibration report = calibrate_need(machine, text.str(), arguments.pairs);
  if (!arguments.machine_output.empty())
    Output(arguments.machine_output, arguments.machine)
        .write(to_toml(report, utc_date(now_exact_s())));
  output.write(written(report, arguments.format, arguments.json, arguments.date));
}

int calibrate(const CalibrateArguments& arguments) {
  if (arguments.machine.empty())
    throw UsageError(fmt::format("calibrate needs a MACHINE: a machine file, or one of {}",
                                 listed(embedded_machine_names())));
  const Machine machine = load_machine_argument(arguments.machine);
  Output output(arguments.output, "");
  if (arguments.plan) {
    output.write(measuring_plan(machine));
    return kDone;
  }
  if (!arguments.pairs.empty()) {
    calibrate_pairs(arguments, machine, output);
    return kDone;
  }
  if (arguments.logs.empty() && arguments.prints.empty() && arguments.changes.empty())
    throw UsageError(
        "calibrate needs --log FILE:EXPERIMENT, such as --log warm.csv:bed=60, or a FILE that "
        "holds set points and duties; --prints FILE; --changes FILE; --pairs FILE; or --plan");
  CalibrationOptions options;
  options.materials = load_materials_argument(arguments.materials);
  options.day_spread = arguments.day_spread;
  options.start_bed_c = arguments.start_bed_c;
  CalibrationEvidence evidence;
  for (const std::string& text : arguments.logs) {
    const auto [path, experiment] = parse_log(text);
    evidence.logs.push_back({load_meter_log(path, arguments.columns), experiment});
    say_log(evidence.logs.back().log);
  }
  if (!arguments.prints.empty()) {
    evidence.prints = load_finished_prints(arguments.prints);
    say_table(evidence.prints->path, evidence.prints->readings, evidence.prints->faults);
  }
  if (!arguments.changes.empty()) {
    evidence.changes = load_changes(arguments.changes);
    say_table(evidence.changes->path, evidence.changes->readings, evidence.changes->faults);
  }
  const CalibrationReport report = calibrate_machine(machine, evidence, options);
  if (!arguments.machine_output.empty())
    Output(arguments.machine_output, arguments.machine)
        .write(to_toml(report, utc_date(now_exact_s())));
  output.write(written(report, arguments.format, arguments.json, arguments.date));
  return kDone;
}

struct ReconcileArguments {
  std::string plate;
  std::string machine;
  std::string materials;
  std::string colours;
  std::string log;
  std::vector<std::string> weighed;
  MeterLogOptions columns;
  std::optional<double> start_bed_c;
  std::string history;
  std::string when;
  bool json = false;
  std::string format = "text";
  std::string date;
  std::string output;
};

std::pair<std::string, double> parse_weighed(const std::string& text) {
  const std::size_t equals = text.rfind('=');
  double value = 0.0;
  const char* const end = text.data() + text.size();
  if (equals == std::string::npos || equals == 0 ||
      std::from_chars(text.data() + equals + 1, end, value).ptr != end || equals + 1 == text.size())
    throw UsageError(fmt::format("--weighed: '{}' is not KEY=VALUE, such as purge_g=105", text));
  return {text.substr(0, equals), value};
}

struct Reconciled {
  ReconcileReport report;
  std::optional<double> start_s;  ///< of the log, seconds since 1970, UTC, where it says so
};

Reconciled reconciled(const ReconcileArguments& arguments, const Machine& machine,
                      const ReconcileOptions& options) {
  if (arguments.log.empty())
    return {reconcile_weighed(arguments.plate, machine, options), {}};
  const MeterLog log = load_meter_log(arguments.log, arguments.columns);
  say_log(log);
  return {reconcile(arguments.plate, machine, log, options), log.start_epoch_s};
}

/// What a plug saw was printed.
void log_reconciled(const ReconcileArguments& arguments, const Machine& machine,
                    const ReconcileOptions& options, const Reconciled& of) {
  PrintEntry entry;
  entry.path = arguments.plate;
  entry.origin = fmt::format("log {} {}", arguments.log, of.report.log_hash);
  entry.counts_once = true;
  if (of.start_s && arguments.when.empty())
    entry.finished_s =
        std::llround(*of.start_s + of.report.offset_s + of.report.values.at(0).measured);
  else if (arguments.when.empty())
    say(
        harmless(fmt::format("{}: has no date; the print is logged as finished now; --when says "
                             "otherwise",
                             arguments.log)));
  if (!arguments.when.empty()) {
    entry.finished_s = parse_utc(arguments.when);
    if (!entry.finished_s)
      throw UsageError(fmt::format("--when: '{}' is no moment in UTC, such as 2026-11-25T15:17:12",
                                   arguments.when));
  }
  AuditOptions audit;
  audit.history = arguments.history;
  audit.version = PLATETALLY_VERSION;
  audit.now_s = now_s;
  audit.materials = options.analyze.materials;
  audit.tool_colours = options.analyze.tool_colours;
  say_print(log_print(entry, &machine, audit));
}

int reconcile_plate(const ReconcileArguments& arguments) {
  if (arguments.plate.empty() || arguments.machine.empty() ||
      (arguments.log.empty() && arguments.weighed.empty()))
    throw UsageError("reconcile needs a PLATE, --machine, and --log or --weighed");
  const Machine machine = load_machine_argument(arguments.machine);
  ReconcileOptions options;
  options.analyze.materials = load_materials_argument(arguments.materials);
  options.analyze.tool_colours = parse_colours(arguments.colours, machine);
  options.analyze.start_bed_c = arguments.start_bed_c;
  for (const std::string& text : arguments.weighed)
    options.weighed.push_back(parse_weighed(text));
  Output output(arguments.output, arguments.plate);
  const Reconciled made = reconciled(arguments, machine, options);
  const ReconcileReport& report = made.report;
  std::string text =
      written(report, arguments.format, arguments.json, arguments.date, arguments.plate);
  if (!arguments.history.empty()) {
    keep_reconciliation(arguments.history, arguments.plate, report, machine, options.analyze,
                        PLATETALLY_VERSION, now_s());
    if (!arguments.log.empty())
      log_reconciled(arguments, machine, options, made);
    if (arguments.format == "text" && !arguments.json)
      text += "\n" + to_text(accuracy_of(arguments.history, machine.name));
  }
  output.write(text);
  return kDone;
}

}  // namespace

Run add_calibrate(Program& program) {
  const auto arguments = std::make_shared<CalibrateArguments>();
  const Command command = program.command(
      "calibrate", "fit the machine file to finished prints and the logs of a metering plug");
  add_input(command, "MACHINE", arguments->machine, "one that comes with it, or a machine file",
            "");
  command
      .option(
          "--log", arguments->logs,
          "idle, bed=DEGC, nozzle=DEGC, fan=0..1 or plate=FILE; without it, what the set points "
          "in the log say; may be repeated")
      .takes("FILE[:EXPERIMENT]")
      .one_value_each_time()
      .in_group("Input");
  add_log_columns(command, arguments->columns, true);
  add_input(command, "--prints", arguments->prints,
            "finished prints: plate, seconds, span, kwh, grams", "FILE");
  add_input(command, "--changes", arguments->changes,
            "counted changes of filament or head: seconds of each", "FILE");
  command
      .option("--day-spread", arguments->day_spread,
              "what the machine differs by from day to day, as a share, in the intervals")
      .between(0.0, 0.5)
      .takes("SHARE")
      .in_group("Input");
  add_start_bed(command, arguments->start_bed_c);
  add_input(command, "--pairs", arguments->pairs,
            "instead of logs: changes judged clean, lines FROM,TO,MM3", "FILE");
  add_input(command, "--materials", arguments->materials, "materials of your own", "FILE");
  command.flag("--plan", arguments->plan, "G-code to measure with, and nothing else")
      .in_group("Output");
  command.option("--write", arguments->machine_output, "the fitted machine file")
      .takes("FILE")
      .in_group("Output");
  add_report_options(command, arguments->format, arguments->json, arguments->date,
                     arguments->output);
  command.footer(
      "Example: platetally calibrate changer-5 --log idle.csv:idle --log warm.csv:bed=60 --write "
      "mine.toml");
  return [arguments] { return told_as_run_error([&] { return calibrate(*arguments); }); };
}

Run add_reconcile(Program& program) {
  const auto arguments = std::make_shared<ReconcileArguments>();
  const Command command =
      program.command("reconcile", "a plate's prediction against what was measured");
  add_input(command, "PLATE", arguments->plate, "sliced plate, as for tally", "");
  add_machine(command, arguments->machine);
  add_input(command, "--log", arguments->log, "what the plug saw", "FILE");
  add_log_columns(command, arguments->columns, false);
  add_start_bed(command, arguments->start_bed_c);
  command
      .option("--weighed", arguments->weighed,
              "measured otherwise, such as purge_g=105 or time_s=5100; without a log, alone")
      .takes("KEY=VALUE")
      .one_value_each_time()
      .in_group("Input");
  add_colours(command, arguments->colours);
  add_input(command, "--materials", arguments->materials, "materials of your own", "FILE");
  command
      .option("--history", arguments->history,
              "keep it there, with --log as a print, and show how far past ones were off")
      .takes("FILE")
      .in_group("Output");
  command
      .option("--when", arguments->when,
              "when the print was finished, in UTC, if the log does not say it")
      .takes("TIME")
      .in_group("Output");
  add_report_options(command, arguments->format, arguments->json, arguments->date,
                     arguments->output);
  command.footer(
      "Example: platetally reconcile tags.gcode --machine changer-5 --log plug.csv --weighed "
      "purge_g=105");
  return [arguments] { return told_as_run_error([&] { return reconcile_plate(*arguments); }); };
}

}  // namespace platetally::cli
