// platetally plan: which machine prints which plate of a queue, and when.
#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <chrono>
#include <memory>
#include <optional>
#include <thread>

#include "base/files.hpp"
#include "output/cli/command_line.hpp"
#include "output/cli/commands.hpp"
#include "output/cli/exit_codes.hpp"
#include "output/cli/machine_argument.hpp"
#include "output/cli/messages.hpp"
#include "output/cli/output.hpp"
#include "output/cli/report_options.hpp"
#include "platetally/plan.hpp"

namespace platetally::cli {

namespace {

constexpr double kBranchShare = 0.3;  // of the limit: for the branch and bound, beside the rest
constexpr std::size_t kMostPlanBytes = std::size_t{64} << 20;

struct PlanArguments {
  std::string file;
  std::string by;
  std::string weights;
  std::string from;
  std::string now;
  std::vector<std::string> failed;
  std::vector<std::string> down;
  double seconds = 20.0;
  int seed = 1;
  int threads = 0;
  bool json = false;
  std::string date;
  std::string format = "text";
  std::string output;
};

/// "cost=1,finish=0.5"
PlanAim parse_weights(const std::string& text) {
  PlanAim aim;
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t end = std::min(text.find(',', at), text.size());
    const std::string part = text.substr(at, end - at);
    const std::size_t equals = part.find('=');
    const std::string name = part.substr(0, equals);
    double* place = name == "cost"     ? &aim.cost
                    : name == "finish" ? &aim.finish
                    : name == "waste"  ? &aim.waste
                    : name == "energy" ? &aim.energy
                                       : nullptr;
    double value = -1.0;
    const char* const behind = part.data() + part.size();
    const bool is_number = equals != std::string::npos &&
                           std::from_chars(part.data() + equals + 1, behind, value).ptr == behind;
    if (place == nullptr || !is_number || !(value >= 0.0 && value <= 1e6))
      throw UsageError(fmt::format(
          "--weights: found '{}'; expected cost=, finish=, waste= or energy= and a number", part));
    *place = value;
    at = end + 1;
  }
  return aim;
}

PlanAim aim_of(const PlanArguments& arguments) {
  if (!arguments.weights.empty())
    return parse_weights(arguments.weights);
  PlanAim aim;
  if (arguments.by == "cost")
    aim.cost = 1.0;
  if (arguments.by == "finish")
    aim.finish = 1.0;
  if (arguments.by == "waste")
    aim.waste = 1.0;
  if (arguments.by == "energy")
    aim.energy = 1.0;
  return aim;
}

std::int64_t moment_of(const std::string& option, const std::string& text) {
  const auto moment_s = parse_moment(text);
  if (!moment_s)
    throw UsageError(fmt::format("{}: found '{}'; expected a moment such as \"2026-05-04 07:30\"",
                                 option, text));
  return *moment_s;
}

EarlierPlan earlier_plan(const std::string& path) {
  const auto text = base::read_file(path, kMostPlanBytes);
  if (!text)
    throw RunError(fmt::format("{}: cannot be read", path));
  try {
    return read_plan(*text);
  } catch (const std::invalid_argument& error) {
    throw RunError(fmt::format("{}: {}", path, error.what()));
  }
}

PlanOptions options_of(const PlanArguments& arguments) {
  PlanOptions options;
  options.aim = aim_of(arguments);
  options.seed = static_cast<std::uint64_t>(arguments.seed);
  const unsigned cores = std::thread::hardware_concurrency();
  options.threads =
      arguments.threads > 0 ? arguments.threads : static_cast<int>(std::clamp(cores, 1U, 64U));
  if (!arguments.now.empty())
    options.now_s = moment_of("--now", arguments.now);
  options.failed = arguments.failed;
  for (const std::string& down : arguments.down) {
    const std::size_t equals = down.find('=');
    if (equals == std::string::npos)
      options.down.emplace_back(down, std::nullopt);
    else
      options.down.emplace_back(down.substr(0, equals),
                                moment_of("--down", down.substr(equals + 1)));
  }
  if (arguments.seconds > 0.0) {
    options.seconds = kBranchShare * arguments.seconds;
    // The limit is of the search: it runs from the first time that it is asked for.
    using Clock = std::chrono::steady_clock;
    const auto end = std::make_shared<std::optional<Clock::time_point>>();
    const std::chrono::duration<double> limit(arguments.seconds);
    options.stop = [end, limit] {
      if (!*end)
        *end = Clock::now() + std::chrono::duration_cast<Clock::duration>(limit);
      return Clock::now() >= **end;
    };
  }
  return options;
}

int plan(PlanArguments arguments) {
  if (arguments.file.empty() && arguments.from.empty())
    throw UsageError("plan needs a FILE; docs/plan.md says what it holds");
  if (!arguments.by.empty() && !arguments.weights.empty())
    throw UsageError("--by and --weights say the same; give one");
  if (!arguments.from.empty() && arguments.now.empty())
    throw UsageError("--from needs --now, the moment at which the rest is planned again");
  if (arguments.from.empty() && !arguments.failed.empty())
    throw UsageError("--failed names a run of an earlier plan: give that with --from");
  PlanOptions options = options_of(arguments);
  if (!arguments.from.empty()) {
    options.earlier = earlier_plan(arguments.from);
    if (arguments.file.empty())
      arguments.file = options.earlier->path;
  }
  const QueueLoad load = load_queue(arguments.file);
  say_diagnostics(load.diagnostics, arguments.file);
  if (!load.usable)
    throw RunError(fmt::format("the queue '{}' cannot be planned", arguments.file));
  Output output(arguments.output, arguments.file);
  const Plan made = make_plan(load.queue, options);
  for (const std::string& problem : made.problems)
    say(harmless(problem));
  output.write(!arguments.json && arguments.format == "csv"
                   ? to_csv(made)
                   : written(made, arguments.format, arguments.json, arguments.date));
  const bool left_out = std::ranges::any_of(load.diagnostics, [](const Diagnostic& diagnostic) {
    return diagnostic.severity == Severity::error;
  });
  return left_out || made.leaves_out() ? kLimitExceeded : kDone;
}

}  // namespace

Run add_plan(Program& program) {
  const auto arguments = std::make_shared<PlanArguments>();
  const Command command =
      program.command("plan", "a queue of plates over several machines: which prints what when");
  command.option("FILE", arguments->file, "machines, their hours, jobs with their dates, prices")
      .takes("")
      .in_group("Input");
  command
      .option("--by", arguments->by,
              "what is to be least; without it cost, or finish if there are no prices")
      .one_of({"cost", "finish", "waste", "energy"})
      .takes("WHAT")
      .in_group("Input");
  add_input(command, "--weights", arguments->weights,
            "several at once: cost=1,finish=0.5,waste=0.01,energy=0 (money, hours, grams, kWh)",
            "LIST");
  add_input(command, "--from", arguments->from,
            "the JSON of an earlier plan: what is done or being printed stays", "PLAN.json");
  add_input(command, "--now", arguments->now, "when the rest begins: \"2026-05-05 12:00\"",
            "MOMENT");
  command.option("--failed", arguments->failed, "a run of that plan that failed; may be repeated")
      .takes("RUN")
      .one_value_each_time()
      .in_group("Input");
  command
      .option("--down", arguments->down,
              "a machine that is down, for good or until =MOMENT; may be repeated")
      .takes("MACHINE")
      .one_value_each_time()
      .in_group("Input");
  command
      .option("--seconds", arguments->seconds,
              "limit of the search, 0 for none; reached, another run may give another plan")
      .between(0.0, 86400.0)
      .takes("N")
      .in_group("Search");
  command.option("--seed", arguments->seed, "of the search: the same seed, the same plan")
      .between(0, 1000000000)
      .takes("N")
      .in_group("Search");
  command.option("--threads", arguments->threads, "change nothing but the time; default all cores")
      .between(1, 64)
      .takes("N")
      .in_group("Search");
  add_report_options(command, arguments->format, arguments->json, arguments->date,
                     arguments->output, true);
  command.footer("Example: platetally plan testdata/demo/week.toml");
  return [arguments] { return told_as_run_error([&] { return plan(*arguments); }); };
}

}  // namespace platetally::cli
