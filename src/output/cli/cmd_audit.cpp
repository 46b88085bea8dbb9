// platetally audit: every plate below some folders, worst first.
#include <fmt/format.h>

#include <charconv>
#include <chrono>
#include <memory>
#include <thread>

#include "output/cli/audit_arguments.hpp"
#include "output/cli/clock.hpp"
#include "output/cli/command_line.hpp"
#include "output/cli/commands.hpp"
#include "output/cli/exit_codes.hpp"
#include "output/cli/machine_argument.hpp"
#include "output/cli/messages.hpp"
#include "output/cli/output.hpp"
#include "output/cli/progress.hpp"
#include "output/cli/report_options.hpp"
#include "output/cli/tally_arguments.hpp"
#include "output/cli/terminal.hpp"
#include "output/cli/usage.hpp"
#include "platetally/analyze.hpp"
#include "platetally/audit.hpp"

namespace platetally::cli {

namespace {

/// "2/5"
void parse_shard(const std::string& text, AuditOptions& options) {
  constexpr int kMostShards = 100'000;
  const char* const end = text.data() + text.size();
  const auto first = std::from_chars(text.data(), end, options.shard);
  const auto second = first.ptr != end && *first.ptr == '/'
                          ? std::from_chars(first.ptr + 1, end, options.shards)
                          : std::from_chars_result{end, std::errc::invalid_argument};
  if (first.ec != std::errc{} || second.ec != std::errc{} || second.ptr != end ||
      options.shard < 1 || options.shard > options.shards || options.shards > kMostShards)
    throw UsageError(
        fmt::format("--shard: '{}' is not SHARE/SHARES, such as 1/3 for the first of three", text));
}

std::string written(const AuditReport& report, const std::string& format, std::size_t most,
                    const std::string& date) {
  if (format == "json")
    return to_json(report);
  if (format == "csv")
    return to_csv(report);
  return format == "html" ? to_html(report, stamp_of(date)) : to_text(report, most);
}

int code_of(const AuditReport& report) {
  if (report.failed > 0 || report.history_failed)
    return kFailed;
  return report.exceeded + report.not_passed > 0 ? kLimitExceeded : kDone;
}

/// What a report without a place for it must not hide.
void say_faults(const AuditReport& report, const AuditArguments& arguments,
                const std::string& format) {
  const bool hides_notes = format == "csv" || format == "jsonl";
  // The lines of a share say themselves which share they are.
  if (report.history_failed || (hides_notes && arguments.shard.empty()))
    for (const std::string& note : report.notes)
      say(harmless(note));
  if (format == "text")
    return;
  if (report.failed > 0)
    say(fmt::format("{} failed; the report says which", report.failed));
  if (report.exceeded > 0)
    say(fmt::format("{} over a limit; the report says which", report.exceeded));
  if (report.not_passed > 0)
    say(fmt::format("{} not passed; the report says which and why", report.not_passed));
}

/// The options of what is made of records, however they came.
AuditOptions report_options(const AuditArguments& arguments) {
  AuditOptions options;
  options.sort = arguments.sort;
  for (const std::string& limit : arguments.limits)
    options.limits.push_back(parse_limit(limit));
  options.partial = arguments.partial;
  options.strict = arguments.strict;
  options.value = aim_named(arguments.value);
  return options;
}

/// Rows that a report shows: of a hundred thousand plates nobody reads all, and a page of them is
/// no page. JSON and CSV have all.
std::size_t most_rows(const std::string& format, int top) {
  constexpr std::size_t kOfText = 1000;
  constexpr std::size_t kOfPage = 2000;
  if (format == "text")
    return top == 0 ? 0 : std::max(kOfText, static_cast<std::size_t>(top));
  return format == "html" ? kOfPage : format == "jsonl" ? 1 : 0;
}

/// JSON and CSV of a merge: row by row, since it may be of any size.
AuditReport merge_to(Output& output, const AuditArguments& arguments, AuditOptions options,
                     bool is_json) {
  AuditReport report;
  output.write_parts([&](const Output::Sink& write) {
    bool begun = false;
    const auto begin = [&](const AuditReport& sums) {
      if (!begun)
        write(is_json ? json_head(sums) : csv_head());
    };
    options.most_rows = 1;
    options.on_row = [&](const AuditReport& sums, const AuditRow& row) {
      begin(sums);
      write(is_json ? json_row(row, !begun) : csv_row(row));
      begun = true;
    };
    report = merge_audits(arguments.merge, options);
    begin(report);
    write(is_json ? json_tail(report, begun) : csv_tail(report));
  });
  return report;
}

int run_or_merge(const AuditArguments& arguments, const std::string& format) {
  const auto begin = std::chrono::steady_clock::now();
  const bool lines = format == "jsonl";
  std::optional<LineOutput> line_output;
  if (lines)
    line_output.emplace(arguments.output);
  std::optional<Output> output;
  if (!lines)
    output.emplace(arguments.output, "");
  AuditProgressLine progress(arguments.progress ||
                             (standard_error_is_terminal() && !arguments.no_progress));
  AuditReport report;
  const auto listen = [&](AuditOptions& options) {
    if (lines)
      options.on_record = [&](std::string_view line) { line_output->write(line); };
    options.on_progress = [&](const AuditProgress& state) { progress.draw(state); };
    options.most_rows = most_rows(format, arguments.top);
  };
  bool is_written = lines;
  if (!arguments.merge.empty()) {
    AuditOptions options = report_options(arguments);
    options.history = arguments.history;
    options.now_s = now_s;
    listen(options);
    if (format == "json" || format == "csv") {
      report = merge_to(*output, arguments, std::move(options), format == "json");
      is_written = true;
    } else {
      report = merge_audits(arguments.merge, options);
    }
  } else {
    const Machine machine = load_machine_argument(arguments.machine);
    AuditOptions options = audit_options(arguments, machine);
    listen(options);
    report = audit(arguments.paths, machine, options);
  }
  progress.wipe();
  if (lines)
    line_output->finish();
  if (!is_written)
    output->write(written(report, format, static_cast<std::size_t>(arguments.top), arguments.date));
  say_faults(report, arguments, format);
  if (arguments.verbose)
    say(fmt::format("{} plates in {:.2f} s, {} files taken from the history", report.plates,
                    std::chrono::duration<double>(std::chrono::steady_clock::now() - begin).count(),
                    report.from_history));
  return code_of(report);
}

int report_history(const AuditArguments& arguments, const std::string& format) {
  if (arguments.history.empty())
    throw UsageError("--since needs --history FILE");
  if (format != "text" && format != "json")
    throw UsageError("--since gives text or json");
  const auto since = parse_utc(arguments.since);
  if (!since)
    throw UsageError(fmt::format(
        "--since: '{}' is no date, such as 2026-11-01 or 2026-11-01T08:00:00", arguments.since));
  std::optional<Machine> machine;
  if (!arguments.machine.empty())
    machine = load_machine_argument(arguments.machine);
  Output output(arguments.output, arguments.history);
  AuditOptions options = report_options(arguments);
  options.most_rows = most_rows(format, arguments.top);
  const HistoryReport report = read_history(arguments.history, *since, arguments.paths, options,
                                            machine ? &*machine : nullptr);
  output.write(format == "json" ? to_json(report)
                                : to_text(report, static_cast<std::size_t>(arguments.top)));
  return code_of(report.audit);
}

int run_audit(const AuditArguments& arguments) {
  const std::string format = arguments.json ? "json" : arguments.format;
  if (!arguments.sort.empty())
    if (const auto fault = fault_of_limit(arguments.sort))
      throw UsageError(fmt::format("--sort: {}", *fault));
  if (!arguments.merge.empty() && !arguments.paths.empty())
    throw UsageError("--merge takes the files of shares and no FOLDER");
  if (arguments.strict && arguments.partial)
    throw UsageError("--strict and --partial exclude each other");
  if (!arguments.since.empty())
    return report_history(arguments, format);
  if (arguments.merge.empty()) {
    if (arguments.paths.empty())
      throw UsageError("audit needs a FOLDER");
    require_machine(arguments.machine);
    parse_value(arguments.value, !arguments.prices.empty());
    if (!arguments.finished.empty() && (!arguments.watch || arguments.history.empty()))
      throw UsageError("--finished needs --watch and --history");
    if (arguments.watch)
      return watch_folders(arguments, load_machine_argument(arguments.machine));
  }
  return run_or_merge(arguments, format);
}

void add_plates(Command command, AuditArguments& arguments) {
  add_input(command, "FOLDER", arguments.paths, "folders, and plates; what lies below is found",
            "");
  add_machine(command, arguments.machine);
  add_input(command, "--include", arguments.include, "file names like this; may be repeated",
            "PATTERN")
      .one_value_each_time();
  add_input(command, "--exclude", arguments.exclude, "not these files or folders; may be repeated",
            "PATTERN")
      .one_value_each_time();
  add_partial(command, arguments.partial);
  add_variant(command, arguments.what_if, "--merge-tools");
  add_colours(command, arguments.colours);
  add_input(command, "--materials", arguments.materials, "materials of your own", "FILE");
  add_input(command, "--prices", arguments.prices, "a prices file: what the plates cost", "FILE");
  add_copies(command, arguments.copies, "good parts on each plate");
  command.option("--threads", arguments.threads, "plates at once; the results are the same")
      .between(1, 1024)
      .takes("N")
      .in_group("Input");
}

void add_results(Command command, AuditArguments& arguments) {
  constexpr const char* group = "Output";
  add_to(command, group, "--sort", arguments.sort, "worst first by this value; else by purge_g",
         "KEY");
  add_to(command, group, "--top", arguments.top, "plates in the text report; 0: all", "N")
      .between(0, 1'000'000);
  add_to(command, group, "--limit", arguments.limits,
         "exit 1 if a plate exceeds it; may be repeated", "KEY=VALUE")
      .one_value_each_time();
  add_strict(command, arguments.strict);
  add_value(command, arguments.value);
  add_to(command, group, "--format", arguments.format,
         "text, json, jsonl (line by line), csv or html (one page)", "FORMAT")
      .one_of({"text", "json", "jsonl", "csv", "html"});
  command.flag("--json", arguments.json, "short for --format json").in_group(group);
  add_date(command, arguments.date);
  add_to(command, group, "-o,--output", arguments.output, "write there", "FILE");
  command.flag("-v,--verbose", arguments.verbose, "speed").in_group(group);
  add_progress_options(command, arguments.progress, arguments.no_progress);
}

void add_ways(Command command, AuditArguments& arguments) {
  constexpr const char* group = "History, watching, several computers";
  add_to(command, group, "--history", arguments.history, "keep tallies there; read no plate twice",
         "FILE");
  add_to(command, group, "--since", arguments.since, "what the history holds since then, by week",
         "DATE");
  command.flag("--watch", arguments.watch, "tally what arrives, until interrupted").in_group(group);
  add_to(command, group, "--out", arguments.out, "of --watch: reports there, not beside the plates",
         "FOLDER");
  add_to(command, group, "--finished", arguments.finished,
         "of --watch, with --history: a plate that arrives there was printed", "FOLDER");
  add_to(command, group, "--settle", arguments.settle_s,
         "of --watch: complete once unchanged so long", "SECONDS")
      .between(0.0, 86400.0);
  add_to(command, group, "--every", arguments.every_s, "of --watch: look this often", "SECONDS")
      .between(0.05, 86400.0);
  add_to(command, group, "--shard", arguments.shard, "only this share of the work, such as 1/3",
         "I/N");
  add_to(command, group, "--merge", arguments.merge, "join the jsonl of all the shares", "FILE");
}

}  // namespace

AuditOptions audit_options(const AuditArguments& arguments, const Machine& machine) {
  AuditOptions options = report_options(arguments);
  options.include = arguments.include;
  options.exclude = arguments.exclude;
  options.threads = arguments.threads > 0
                        ? arguments.threads
                        : static_cast<int>(std::max(1U, std::thread::hardware_concurrency()));
  options.materials = load_materials_argument(arguments.materials);
  options.tool_colours = parse_colours(arguments.colours, machine);
  options.prices = load_prices_argument(arguments.prices);
  options.copies = arguments.copies;
  options.variant = variant_of(arguments.what_if);
  if (!arguments.shard.empty())
    parse_shard(arguments.shard, options);
  options.history = arguments.history;
  options.version = PLATETALLY_VERSION;
  options.now_s = now_s;
  return options;
}

Run add_audit(Program& program) {
  const auto arguments = std::make_shared<AuditArguments>();
  const Command command =
      program.command("audit", "folders of plates, worst first; limits, history, shares");
  add_plates(command, *arguments);
  add_results(command, *arguments);
  add_ways(command, *arguments);
  command.footer("Example: platetally audit plates --machine changer-5 --limit purge_g=50");
  return [arguments] { return told_as_run_error([&] { return run_audit(*arguments); }); };
}

}  // namespace platetally::cli
