// platetally audit: every plate below some folders, worst first.
#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <charconv>
#include <chrono>
#include <memory>
#include <thread>

#include "cli/audit_arguments.hpp"
#include "cli/commands.hpp"
#include "cli/exit_codes.hpp"
#include "cli/machine_argument.hpp"
#include "cli/messages.hpp"
#include "cli/output.hpp"
#include "cli/progress.hpp"
#include "cli/tally_arguments.hpp"
#include "cli/terminal.hpp"
#include "cli/usage.hpp"
#include "platetally/analyze.hpp"
#include "platetally/audit.hpp"

namespace platetally::cli {

namespace {

std::int64_t now_s() {
  return std::chrono::floor<std::chrono::seconds>(std::chrono::system_clock::now())
      .time_since_epoch()
      .count();
}

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

std::string written(const AuditReport& report, const std::string& format, std::size_t most) {
  if (format == "json")
    return to_json(report);
  if (format == "csv")
    return to_csv(report);
  return format == "html" ? to_html(report) : to_text(report, most);
}

int code_of(const AuditReport& report) {
  if (report.failed > 0 || report.history_failed)
    return kFailed;
  return report.exceeded > 0 ? kLimitExceeded : kDone;
}

/// What a report without a place for it must not hide.
void say_faults(const AuditReport& report, const std::string& format) {
  if (report.history_failed)
    for (const std::string& note : report.notes)
      say(harmless(note));
  if (format == "text")
    return;
  if (report.failed > 0)
    say(fmt::format("{} failed; the report says which", report.failed));
  if (report.exceeded > 0)
    say(fmt::format("{} over a limit; the report says which", report.exceeded));
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
  };
  if (!arguments.merge.empty()) {
    AuditOptions options;
    options.sort = arguments.sort;
    for (const std::string& limit : arguments.limits)
      options.limits.push_back(parse_limit(limit));
    listen(options);
    report = merge_audits(arguments.merge, options);
  } else {
    const Machine machine = load_machine_argument(arguments.machine);
    AuditOptions options = audit_options(arguments, machine);
    listen(options);
    report = audit(arguments.paths, machine, options);
  }
  progress.wipe();
  if (lines)
    line_output->finish();
  else
    output->write(written(report, format, static_cast<std::size_t>(arguments.top)));
  say_faults(report, format);
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
  AuditOptions options;
  options.sort = arguments.sort;
  for (const std::string& limit : arguments.limits)
    options.limits.push_back(parse_limit(limit));
  Output output(arguments.output, arguments.history);
  const HistoryReport report = read_history(arguments.history, *since, arguments.paths, options);
  output.write(format == "json" ? to_json(report)
                                : to_text(report, static_cast<std::size_t>(arguments.top)));
  return code_of(report.audit);
}

int run_audit(const AuditArguments& arguments) {
  const std::string format = arguments.json ? "json" : arguments.format;
  if (!arguments.sort.empty())
    if (const auto fault = fault_of_limit(arguments.sort))
      throw UsageError(fmt::format("--sort: {}", *fault));
  if (!arguments.merge.empty() && (!arguments.paths.empty() || !arguments.history.empty()))
    throw UsageError("--merge takes the files of shares and no FOLDER or --history");
  try {
    if (!arguments.since.empty())
      return report_history(arguments, format);
    if (arguments.merge.empty()) {
      if (arguments.paths.empty())
        throw UsageError("audit needs a FOLDER");
      if (arguments.machine.empty())
        throw UsageError(fmt::format("say which machine: --machine FILE, or one of {}",
                                     listed(embedded_machine_names())));
      if (arguments.watch)
        return watch_folders(arguments, load_machine_argument(arguments.machine));
    }
    return run_or_merge(arguments, format);
  } catch (const UsageError&) {
    throw;
  } catch (const RunError&) {
    throw;
  } catch (const std::runtime_error& error) {  // of the history, of shares, of the machine
    throw RunError(error.what());
  }
}

void add_input(CLI::App& command, AuditArguments& arguments) {
  const std::string group = "Input";
  command.add_option("FOLDER", arguments.paths, "folders, and plates; what lies below is found")
      ->type_name("")
      ->group(group);
  command.add_option("--machine", arguments.machine, "one that comes with it, or a machine file")
      ->type_name("NAME|FILE")
      ->group(group);
  command.add_option("--include", arguments.include, "file names like this; may be repeated")
      ->type_name("PATTERN")
      ->allow_extra_args(false)
      ->group(group);
  command.add_option("--exclude", arguments.exclude, "not these files or folders; may be repeated")
      ->type_name("PATTERN")
      ->allow_extra_args(false)
      ->group(group);
  command.add_option("--colours", arguments.colours, "of the tools: 0=black,1=#f0c814")
      ->type_name("LIST")
      ->group(group);
  command.add_option("--materials", arguments.materials, "materials of your own")
      ->type_name("FILE")
      ->group(group);
  command.add_option("--prices", arguments.prices, "a prices file: what the plates cost")
      ->type_name("FILE")
      ->group(group);
  command.add_option("--copies", arguments.copies, "good parts on each plate")
      ->check(CLI::Range(1, 100000))
      ->type_name("N")
      ->group(group);
  command.add_option("--threads", arguments.threads, "plates at once; the results are the same")
      ->check(CLI::Range(1, 1024))
      ->type_name("N")
      ->group(group);
}

void add_results(CLI::App& command, AuditArguments& arguments) {
  const std::string group = "Output";
  command.add_option("--sort", arguments.sort, "worst first by this value; else by purge_g")
      ->type_name("KEY")
      ->group(group);
  command.add_option("--top", arguments.top, "plates in the text report; 0: all")
      ->check(CLI::Range(0, 1'000'000))
      ->type_name("N")
      ->group(group);
  command.add_option("--limit", arguments.limits, "exit 1 if a plate exceeds it; may be repeated")
      ->type_name("KEY=VALUE")
      ->allow_extra_args(false)
      ->group(group);
  command
      .add_option("--format", arguments.format,
                  "text, json, jsonl (line by line), csv or html (one page)")
      ->check(CLI::IsMember({"text", "json", "jsonl", "csv", "html"}))
      ->type_name("FORMAT")
      ->group(group);
  command.add_flag("--json", arguments.json, "short for --format json")->group(group);
  command.add_option("-o,--output", arguments.output, "write there")
      ->type_name("FILE")
      ->group(group);
  command.add_flag("-v,--verbose", arguments.verbose, "speed")->group(group);
  CLI::Option* progress =
      command.add_flag("--progress", arguments.progress, "show it even without a terminal")
          ->group(group);
  command.add_flag("--no-progress", arguments.no_progress, "never show it")
      ->excludes(progress)
      ->group(group);
}

void add_ways(CLI::App& command, AuditArguments& arguments) {
  const std::string group = "History, watching, several computers";
  command.add_option("--history", arguments.history, "keep tallies there; read no plate twice")
      ->type_name("FILE")
      ->group(group);
  command.add_option("--since", arguments.since, "what the history holds since then, by week")
      ->type_name("DATE")
      ->group(group);
  command.add_flag("--watch", arguments.watch, "tally what arrives, until interrupted")
      ->group(group);
  command.add_option("--out", arguments.out, "of --watch: reports there, not beside the plates")
      ->type_name("FOLDER")
      ->group(group);
  command.add_option("--settle", arguments.settle_s, "of --watch: complete once unchanged so long")
      ->check(CLI::Range(0.0, 86400.0))
      ->type_name("SECONDS")
      ->group(group);
  command.add_option("--every", arguments.every_s, "of --watch: look this often")
      ->check(CLI::Range(0.05, 86400.0))
      ->type_name("SECONDS")
      ->group(group);
  command.add_option("--shard", arguments.shard, "only this share of the work, such as 1/3")
      ->type_name("I/N")
      ->group(group);
  command.add_option("--merge", arguments.merge, "join the jsonl of all the shares")
      ->type_name("FILE")
      ->group(group);
}

}  // namespace

AuditOptions audit_options(const AuditArguments& arguments, const Machine& machine) {
  AuditOptions options;
  options.include = arguments.include;
  options.exclude = arguments.exclude;
  options.threads = arguments.threads > 0
                        ? arguments.threads
                        : static_cast<int>(std::max(1U, std::thread::hardware_concurrency()));
  options.materials = load_materials_argument(arguments.materials);
  options.tool_colours = parse_colours(arguments.colours, machine);
  options.prices = load_prices_argument(arguments.prices);
  options.copies = arguments.copies;
  options.sort = arguments.sort;
  for (const std::string& limit : arguments.limits)
    options.limits.push_back(parse_limit(limit));
  if (!arguments.shard.empty())
    parse_shard(arguments.shard, options);
  options.history = arguments.history;
  options.version = PLATETALLY_VERSION;
  options.now_s = now_s;
  return options;
}

Run add_audit(CLI::App& app) {
  const auto arguments = std::make_shared<AuditArguments>();
  CLI::App& command =
      *app.add_subcommand("audit", "folders of plates, worst first; limits, history, shares");
  add_input(command, *arguments);
  add_results(command, *arguments);
  add_ways(command, *arguments);
  command.footer("Example: platetally audit plates --machine changer-5 --limit purge_g=50");
  return [arguments] { return run_audit(*arguments); };
}

}  // namespace platetally::cli
