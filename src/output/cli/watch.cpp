// audit --watch: a report for every plate that arrives.
#include <fmt/format.h>
#include <unistd.h>

#include <algorithm>
#include <chrono>
#include <csignal>
#include <filesystem>
#include <optional>
#include <thread>

#include "output/cli/audit_arguments.hpp"
#include "output/cli/clock.hpp"
#include "output/cli/commands.hpp"
#include "output/cli/exit_codes.hpp"
#include "output/cli/messages.hpp"
#include "output/cli/output.hpp"
#include "output/cli/report_options.hpp"
#include "output/cli/say_print.hpp"
#include "platetally/print_log.hpp"
#include "platetally/report.hpp"
#include "platetally/watch.hpp"

namespace platetally::cli {

namespace {

namespace fs = std::filesystem;

volatile std::sig_atomic_t g_stop = 0;

void stop(int) {
  g_stop = 1;
}

double seconds() {
  return std::chrono::duration<double>(std::chrono::steady_clock::now().time_since_epoch()).count();
}

/// Sleeps in small pieces, so that an interruption is obeyed at once.
void wait_s(double wait) {
  constexpr double kPiece_s = 0.1;
  for (const double end = seconds() + wait; g_stop == 0 && seconds() < end;)
    std::this_thread::sleep_for(
        std::chrono::duration<double>(std::min(kPiece_s, std::max(end - seconds(), 0.0))));
}

/// The line of a log: moment, plate, verdict and outcome, with tabs between them. `fault`: why
/// there is no report; empty where there is one.
std::string line_of(const AuditRow& row, const std::string& fault) {
  const std::string plate = row.member.empty() ? row.path : row.path + ":" + row.member;
  std::string outcome = fault.empty() ? "tallied" : "failed: " + fault;
  if (!row.error.empty())
    outcome = "failed: " + row.error;
  if (row.limits_fail)
    outcome += "; " + row.fails_because;
  for (const LimitBreach& breach : row.breaches)
    outcome += fmt::format("; {} is {}, over the limit {}", breach.key, breach.value, breach.limit);
  return fmt::format("{}\t{}\t{}\t{}", utc_moment(now_exact_s()), harmless(plate),
                     row.verdict.empty() ? "-" : row.verdict, harmless(outcome));
}

class Watching {
 public:
  Watching(const AuditArguments& arguments, const Machine& machine)
      : arguments_(arguments), machine_(machine), options_(audit_options(arguments, machine)) {
    format_ = arguments.json ? "json" : arguments.format;
    if (format_ != "text" && format_ != "json")
      throw UsageError("--watch writes text or json");
    options_.threads = 1;
    options_.on_account = [this](const std::string&, const std::string&, const Account& account) {
      made_from_ = account.made_from;
      reports_.push_back(format_ == "json" ? to_json(account) : to_text(account));
    };
  }

  int run();

 private:
  /// Where the report of a plate belongs. In --out, plates of one name in several folders must not
  /// overwrite each other, so the path is part of the name.
  std::string place_of(const std::string& path) const {
    const std::string ending = format_ == "json" ? ".tally.json" : ".tally.txt";
    if (arguments_.out.empty())
      return path + ending;
    const std::string below = fs::path(path).lexically_normal().relative_path().string();
    std::string name;
    for (const char c : below)  // two paths never get one name
      name += c == '/' ? "+" : c == '+' ? "%2B" : c == '%' ? "%25" : std::string(1, c);
    return (fs::path(arguments_.out) / (name + ending)).string();
  }
  bool is_done(const std::string& path) const {
    std::error_code error;
    const auto report = fs::last_write_time(place_of(path), error);
    return !error && report >= fs::last_write_time(path, error) && !error;
  }
  void take(const std::string& path);
  void log_finished(const std::string& path);

  const AuditArguments& arguments_;
  const Machine& machine_;
  AuditOptions options_;
  std::string format_;
  std::vector<std::string> reports_;
  MadeFrom made_from_;  ///< of the last of them
};

void Watching::take(const std::string& path) {
  reports_.clear();
  const AuditReport report = audit({path}, machine_, options_);
  for (const std::string& note : report.notes)
    say(harmless(note));
  std::string fault = "its report was not made";
  if (!reports_.empty() && report.plates > 0)
    try {
      Output(place_of(path), path).write(joined(reports_, format_ == "json", made_from_));
      fault.clear();
    } catch (const RunError& error) {  // a full disk now need not be full later
      fault = error.what();
    }
  for (const AuditRow& row : report.rows)
    say_bare(line_of(row, fault));
  for (const auto& [place, why] : report.faults) {
    AuditRow row;
    row.path = place;
    row.error = why;
    say_bare(line_of(row, ""));
  }
}

void Watching::log_finished(const std::string& path) {
  AuditOptions options = options_;
  options.on_account = {};
  try {
    for (const LoggedPrint& print : log_finished_folder(path, &machine_, options))
      say_print(print);
  } catch (const std::runtime_error& error) {
    say(harmless(error.what()));
  }
}

int Watching::run() {
  std::error_code error;
  if (!arguments_.out.empty() && !fs::is_directory(arguments_.out, error))
    throw RunError(fmt::format("{}: is no folder", arguments_.out));
  std::signal(SIGINT, stop);
  std::signal(SIGTERM, stop);
  FolderWatch watch(arguments_.paths, arguments_.include, arguments_.exclude, arguments_.settle_s);
  watch.skip([this](const std::string& path) { return is_done(path); });
  std::optional<FolderWatch> finished;
  if (!arguments_.finished.empty()) {
    if (!fs::is_directory(arguments_.finished, error))
      throw RunError(fmt::format("{}: is no folder", arguments_.finished));
    finished.emplace(std::vector{arguments_.finished}, arguments_.include, arguments_.exclude,
                     arguments_.settle_s);
  }
  while (g_stop == 0) {
    const double begin = seconds();
    for (const std::string& path : watch.poll(begin)) {
      if (g_stop != 0)
        break;
      take(path);
    }
    if (finished)
      for (const std::string& path : finished->poll(begin))
        log_finished(path);
    // A folder that takes long to look through is looked at less often.
    constexpr double kWaitsPerLook = 10.0;
    wait_s(std::max(arguments_.every_s, kWaitsPerLook * (seconds() - begin)));
  }
  return kDone;
}

}  // namespace

int watch_folders(const AuditArguments& arguments, const Machine& machine) {
  return Watching(arguments, machine).run();
}

}  // namespace platetally::cli
