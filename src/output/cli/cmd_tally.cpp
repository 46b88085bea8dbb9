// platetally tally: what one plate costs.
#include <fmt/format.h>
#include <sys/resource.h>

#include <algorithm>
#include <chrono>
#include <memory>

#include "output/cli/accuracy.hpp"
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
#include "platetally/clock.hpp"
#include "platetally/page.hpp"
#include "platetally/picture.hpp"
#include "platetally/plate.hpp"
#include "platetally/prices.hpp"
#include "platetally/reconcile.hpp"
#include "platetally/report.hpp"

namespace platetally::cli {

namespace {

std::string table_of_keys() {
  std::string out;
  for (const FieldInfo& field : list_fields())
    out += fmt::format("{:<34} {:<3} {}{}{}\n", field.key, field.unit, field.title,
                       field.note.empty() ? "" : ": ", field.note);
  return out;
}

/// How fast, and how much memory. Only on standard error: it differs from run to run.
void say_effort(const Account& account, std::chrono::duration<double> wall) {
  rusage usage{};
  ::getrusage(RUSAGE_SELF, &usage);
  constexpr double kBytesPerMegabyte = 1e6;
  constexpr long kKibibytesPerMebibyte = 1024;
  say(fmt::format(
      "{}: {:.1f} MB in {:.2f} s, {:.0f} MB/s, peak memory {} MiB", harmless(account.path),
      static_cast<double>(account.bytes) / kBytesPerMegabyte, wall.count(),
      static_cast<double>(account.bytes) / kBytesPerMegabyte / std::max(wall.count(), 1e-9),
      usage.ru_maxrss / kKibibytesPerMebibyte));
}

/// Whether anything that is written, or held against a limit, is of findings; playing them takes
/// longer than reading a small plate.
bool shows_findings(const TallyArguments& arguments) {
  const auto is_finding = [](const std::string& key) { return key.find("finding") == 0; };
  if (std::ranges::any_of(arguments.limits, is_finding))
    return true;
  if (!arguments.get.empty())
    return std::ranges::any_of(arguments.get, is_finding);
  return arguments.json || arguments.format != "csv";
}

bool asks_for_objects(const TallyArguments& arguments) {
  const auto is_object = [](const std::string& key) { return key.find("objects.") == 0; };
  return std::ranges::any_of(arguments.get, is_object) ||
         std::ranges::any_of(arguments.limits, is_object);
}

std::vector<PlateOutcome> read_plates(const TallyArguments& arguments, const Machine& machine) {
  AnalyzeOptions options;
  options.threads = arguments.threads;
  options.partial = arguments.partial;
  options.tool_colours = parse_colours(arguments.colours, machine);
  options.materials = load_materials_argument(arguments.materials);
  options.start_bed_c = arguments.start_bed_c;
  options.findings = shows_findings(arguments);
  options.variant = variant_of(arguments.what_if);
  options.picture = arguments.format == "html" || !arguments.picture.empty();
  options.objects = arguments.objects || options.picture || asks_for_objects(arguments);
  options.picture_at_mm = arguments.picture_at_mm;
  Progress progress(arguments.plate,
                    arguments.progress || (standard_error_is_terminal() && !arguments.no_progress));
  options.on_progress = [&progress](std::uint64_t bytes) { progress.read(bytes); };
  const auto begin = std::chrono::steady_clock::now();
  try {
    std::vector<PlateOutcome> outcomes = analyze_plates(arguments.plate, machine, options);
    progress.wipe();
    if (arguments.verbose && outcomes.size() == 1 && outcomes.front().account)
      say_effort(*outcomes.front().account, std::chrono::steady_clock::now() - begin);
    return outcomes;
  } catch (const UnreadablePlate& error) {
    throw RunError(fmt::format("{}: {}", arguments.plate, error.what()));
  }
}

/// Leaves the plate that --member names.
void choose_member(std::vector<PlateOutcome>& outcomes, const TallyArguments& arguments) {
  if (arguments.member.empty())
    return;
  std::vector<std::string> names;
  names.reserve(outcomes.size());
  for (const PlateOutcome& outcome : outcomes)
    names.push_back(outcome.member);
  std::erase_if(outcomes,
                [&](const PlateOutcome& outcome) { return outcome.member != arguments.member; });
  if (outcomes.empty())
    throw RunError(fmt::format("{}: holds no plate '{}'; it holds {}", arguments.plate,
                               arguments.member, listed(names)));
}

/// The text and JSON reports hold the diagnostics themselves; the others must not hide them.
void say_what_was_left_out(const Account& account) {
  std::uint64_t times = 0;
  for (const Diagnostic& diagnostic : account.diagnostics)
    if (diagnostic.severity == Severity::error)
      times += diagnostic.count;
  if (times > 0)
    say(fmt::format("{}: something was left out of the account {}; the text report says what",
                    harmless(account.path), times == 1 ? "once" : fmt::format("{} times", times)));
}

std::string values_of(const Account& account, const std::vector<std::string>& keys) {
  std::string out;
  for (const std::string& key : keys) {
    const auto value = get_field(account, key);
    if (!value)
      throw RunError(fmt::format("{}: this plate has no '{}'", account.path, key));
    out += harmless(*value) + '\n';
  }
  return out;
}

/// The page, with the best order, and the machines that were asked for beside this one.
std::string page_of(const Account& account, const TallyArguments& arguments,
                    const Machine& machine) {
  constexpr double kOrderWork = 2e8;  // about a second; the page says if the best is not proven
  OrderOptions order_options;
  order_options.work = kOrderWork;
  order_options.materials = load_materials_argument(arguments.materials);
  const OrderReport order = plan_usual_order(account, machine, order_options);
  PageExtras extras{&machine, &order, nullptr, stamp_of(arguments.date, arguments.plate)};
  std::optional<Comparison> comparison;
  if (!arguments.beside.empty()) {
    std::vector<Machine> machines{machine};
    for (const std::string& name : arguments.beside)
      machines.push_back(load_machine_argument(name));
    CompareOptions options;
    options.analyze.tool_colours = parse_colours(arguments.colours, machine);
    options.analyze.materials = order_options.materials;
    options.analyze.start_bed_c = arguments.start_bed_c;
    options.analyze.partial = arguments.partial;
    options.analyze.variant = variant_of(arguments.what_if);
    options.prices = load_prices_argument(arguments.prices);
    options.copies = arguments.copies;
    comparison = compare_plate(arguments.plate, machines, options);
    extras.comparison = &*comparison;
  }
  return to_html(account, extras);
}

std::string results_of(const Account& account, const TallyArguments& arguments,
                       const Machine& machine, bool to_standard_output) {
  if (!arguments.get.empty() || arguments.format == "csv")
    say_what_was_left_out(account);
  if (!arguments.get.empty())
    return values_of(account, arguments.get);
  if (arguments.json || arguments.format == "json")
    return to_json(account);
  if (arguments.format == "csv")
    return arguments.objects ? objects_to_csv(account) : to_csv(account);
  if (arguments.format == "html")
    return page_of(account, arguments, machine);
  TextOptions options;
  options.colour = wants_colour(arguments.colour, to_standard_output);
  options.width = prose_width(to_standard_output);
  options.all_diagnostics = arguments.all;
  options.verbose = arguments.verbose;
  options.full = arguments.full;
  options.aim = aim_named(arguments.value);
  return to_text(account, options);
}

/// One report, or those of all the plates in a container.
std::string all_results(const std::vector<PlateOutcome>& outcomes, const TallyArguments& arguments,
                        const Machine& machine, bool to_standard_output) {
  if (outcomes.size() == 1)
    return results_of(*outcomes.front().account, arguments, machine, to_standard_output);
  if (!arguments.get.empty() || arguments.format == "csv" || arguments.format == "html")
    throw RunError(
        fmt::format("{}: holds {} plates; choose one for --get, csv or html, such as --member {}",
                    arguments.plate, outcomes.size(), outcomes.front().member));
  std::vector<std::string> reports;
  MadeFrom made_from;
  for (const PlateOutcome& outcome : outcomes)
    if (outcome.account) {
      made_from = outcome.account->made_from;
      reports.push_back(results_of(*outcome.account, arguments, machine, to_standard_output));
    }
  return joined(reports, arguments.json || arguments.format == "json", made_from);
}

int hold_against_limits(const Account& account,
                        const std::vector<std::pair<std::string, double>>& limits) {
  const LimitCheck check = check_limits(account, limits);
  for (const LimitBreach& breach : check.breaches)
    say(fmt::format("{}: {} is {}, over the limit {}", harmless(account.path), harmless(breach.key),
                    breach.value, breach.limit));
  for (const std::string& error : check.errors)
    say(fmt::format("{}: {}", harmless(account.path), harmless(error)));
  if (check.partial)
    say(fmt::format("{}: is a part of a plate; no limit passes on it", harmless(account.path)));
  if (!check.errors.empty())
    return kFailed;
  return check.breaches.empty() && !check.partial ? kDone : kLimitExceeded;
}

/// With a limit to pass, nothing may have been left out of the figures; with --strict nothing may
/// have been warned of.
int hold_against_remarks(const Account& account, const TallyArguments& arguments) {
  const bool wants_all = arguments.strict || (!arguments.limits.empty() && !arguments.partial);
  int code = kDone;
  for (const Diagnostic& diagnostic : account.diagnostics) {
    const bool fails = diagnostic.severity == Severity::error
                           ? wants_all
                           : diagnostic.severity == Severity::warning && arguments.strict;
    if (!fails)
      continue;
    say(fmt::format("{}: {}: {}", harmless(account.path), diagnostic.code,
                    harmless(diagnostic.message)));
    code = kLimitExceeded;
  }
  if (code != kDone)
    say(fmt::format("{}: does not pass{}", harmless(account.path),
                    arguments.strict ? " with --strict"
                                     : ": something was left out of it; --partial lets it pass"));
  return code;
}

/// Whether the verdict is as good as is required.
int hold_against_verdict(const Account& account, const std::string& required) {
  const Grade worst = required == "look" ? Grade::look : Grade::ready;
  const Verdict& verdict = account.verdict;
  if (required.empty() || verdict.grade <= worst)
    return kDone;
  say(fmt::format("{}: the verdict is '{}', worse than '{}': {}", harmless(account.path),
                  name_of(verdict.grade), required, harmless(verdict.reasons.front().text)));
  return kLimitExceeded;
}

Machine with_door(Machine machine, const std::string& door) {
  if (door.empty())
    return machine;
  if (!machine.enclosure.present)
    throw UsageError(fmt::format("--door: machine '{}' has no enclosure", machine.name));
  machine.enclosure.door_open = door == "open";
  return machine;
}

/// The machine as it would be in another room, with other heads, or with its door open or closed.
Machine what_if(Machine machine, const TallyArguments& arguments) {
  return with_door(machine_with(std::move(machine), variant_of(arguments.what_if)), arguments.door);
}

/// A band is widened by what two plates at least were off by.
void say_thin_book(const std::string& path, const AccuracyBook& book) {
  std::vector<std::string> thin;
  for (const AccuracyEntry& entry : book)
    if (entry.plates < kLeastPlatesOfBook)
      thin.push_back(entry.key);
  if (book.empty())
    say(fmt::format("--book {}: holds no reconciled plate; no band is wider for it",
                    harmless(path)));
  else if (!thin.empty())
    say(
        fmt::format("--book {}: holds fewer than {} reconciled plates for {}; their bands stay as "
                    "they are",
                    harmless(path), kLeastPlatesOfBook, harmless(listed(thin))));
}

std::optional<WallTime> start_of(const TallyArguments& arguments) {
  if (arguments.start.empty())
    return std::nullopt;
  const std::optional<WallTime> start = parse_wall_time(arguments.start);
  if (!start)
    throw UsageError(
        fmt::format("--start: '{}' is no time such as 2026-12-01T18:30", arguments.start));
  return start;
}

void add_money_and_clock(Account& account, std::optional<Prices> prices,
                         const std::optional<WallTime>& start, const TallyArguments& arguments) {
  if (!arguments.door.empty())
    account.made_from.set("door", arguments.door);
  if (prices && !arguments.reserve.empty())
    prices->reserve_share = parse_reserve(arguments.reserve);
  if (start)
    add_clock(account, *start, prices ? &*prices : nullptr);
  if (prices)
    add_prices(account, *prices, arguments.copies);
  else if (!arguments.reserve.empty()) {
    Prices only_reserve;
    only_reserve.reserve_share = parse_reserve(arguments.reserve);
    add_spools(account, only_reserve);
  }
}

/// A variant has other turns than the plate, and objects are told apart while that is read.
void refuse_objects_of_variant(const TallyArguments& arguments) {
  const VariantArguments& variant = arguments.what_if;
  const bool changes_plate = variant.repeat > 1 || variant.drop_tower || !variant.merge.empty();
  if (changes_plate && (arguments.objects || !arguments.picture.empty()))
    throw UsageError(
        "--objects and --picture are of the plate as it is, not of one with --repeat, --merge or "
        "--drop-tower");
  if (arguments.picture_at_mm && arguments.picture.empty())
    throw UsageError("--picture-at needs --picture FILE");
}

/// The picture that was asked for; a plate's objects stay in its report only if they were.
void write_picture(Account& account, const TallyArguments& arguments, Output& output) {
  PictureOptions options;
  options.of_layer = arguments.picture_at_mm.has_value();
  options.date = arguments.date;
  if (options.of_layer && !account.layer_picture)
    throw RunError(
        fmt::format("{}: --picture-at {}: nothing is printed so high; the highest layer "
                    "is at {} mm",
                    account.path, *arguments.picture_at_mm,
                    account.layers.empty() ? 0.0 : account.layers.back().z_mm));
  output.write(to_svg(account, options));
  if (!arguments.objects && arguments.format != "html")
    account.objects.clear();
}

int tally(const TallyArguments& arguments) {
  std::vector<std::pair<std::string, double>> limits;
  for (const std::string& limit : arguments.limits)
    limits.push_back(parse_limit(limit));
  for (const std::string& key : arguments.get)
    require_key(key);
  if (arguments.json_schema) {
    Output(arguments.output, arguments.plate).write(tally_json_schema());
    return kDone;
  }
  if (arguments.list_keys) {
    Output(arguments.output, arguments.plate).write(table_of_keys());
    return kDone;
  }
  if (arguments.strict && arguments.partial)
    throw UsageError("--strict and --partial exclude each other");
  if (arguments.plate.empty())
    throw UsageError("tally needs a PLATE, or - for standard input");
  require_machine(arguments.machine);
  refuse_objects_of_variant(arguments);
  if (!arguments.beside.empty() && (arguments.format != "html" || arguments.plate == "-"))
    throw UsageError("--beside is for --format html and a PLATE that can be read twice");
  const Machine as_it_is = load_machine_argument(arguments.machine);
  const Machine machine = what_if(as_it_is, arguments);
  std::optional<Prices> prices = load_prices_argument(arguments.prices);
  const std::optional<WallTime> start = start_of(arguments);
  const std::optional<Aim> aim = parse_value(arguments.value, prices.has_value());
  Output output(arguments.output, arguments.plate);
  std::optional<Output> picture;
  if (!arguments.picture.empty())
    picture.emplace(arguments.picture, arguments.plate);
  // A variant is an option and no other machine: the reading plays it.
  std::vector<PlateOutcome> outcomes = read_plates(arguments, with_door(as_it_is, arguments.door));
  choose_member(outcomes, arguments);
  if (picture && outcomes.size() > 1)
    throw RunError(fmt::format("{}: holds {} plates; choose one for --picture, such as --member {}",
                               arguments.plate, outcomes.size(), outcomes.front().member));
  for (PlateOutcome& outcome : outcomes) {
    if (outcome.account)
      add_money_and_clock(*outcome.account, prices, start, arguments);
    if (outcome.account && aim)
      rank_findings(*outcome.account, *aim);
  }
  if (!arguments.book.empty()) {
    const AccuracyBook book = accuracy_of(arguments.book, machine.name);
    say_thin_book(arguments.book, book);
    for (PlateOutcome& outcome : outcomes)
      if (outcome.account)
        widen_by_past(*outcome.account, book);
  }
  if (outcomes.size() == 1 && !outcomes.front().account)
    throw RunError(fmt::format("{}: {}", arguments.plate, outcomes.front().error));
  if (picture)
    write_picture(*outcomes.front().account, arguments, *picture);
  output.write(all_results(outcomes, arguments, machine, output.is_standard_output()));
  int code = kDone;
  for (const PlateOutcome& outcome : outcomes) {
    if (!outcome.account)
      say(harmless(fmt::format("{}:{}: {}", arguments.plate, outcome.member, outcome.error)));
    code =
        std::max(code, outcome.account
                           ? std::max({hold_against_limits(*outcome.account, limits),
                                       hold_against_remarks(*outcome.account, arguments),
                                       hold_against_verdict(*outcome.account, arguments.require)})
                           : kFailed);
  }
  return code;
}

void add_output_arguments(Command command, TallyArguments& arguments) {
  const std::string group = "Output";
  const Option format =
      command.option("--format", arguments.format, "text, json, csv (the layers) or html (a page)")
          .one_of({"text", "json", "csv", "html"})
          .takes("FORMAT")
          .in_group(group);
  const Option json = command.flag("--json", arguments.json, "short for --format json")
                          .not_with(format)
                          .in_group(group);
  command.option("-o,--output", arguments.output, "write there; all or nothing")
      .takes("FILE")
      .in_group(group);
  command
      .flag("--objects", arguments.objects,
            "the plate's objects apart, each with its share; csv is of them then")
      .in_group(group);
  command.option("--picture", arguments.picture, "the plate from above, as SVG, written there too")
      .takes("FILE")
      .in_group(group);
  command
      .option("--picture-at", arguments.picture_at_mm,
              "of the layer that is printed at this height instead")
      .takes("MM")
      .in_group(group);
  command.option("--get", arguments.get, "print only this value; may be repeated")
      .takes("KEY")
      .one_value_each_time()
      .not_with(format)
      .not_with(json)
      .in_group(group);
  command.flag("--json-schema", arguments.json_schema, "what the JSON is made of (2020-12)")
      .in_group("Output");
  command.flag("--list-keys", arguments.list_keys, "the keys, their units and meaning")
      .in_group(group);
  command.option("--limit", arguments.limits, "exit 1 if it is exceeded; may be repeated")
      .takes("KEY=VALUE")
      .one_value_each_time()
      .in_group(group);
  command
      .option("--require", arguments.require,
              "exit 1 if the verdict is worse: ready, or look (before you print)")
      .one_of({"ready", "look"})
      .takes("VERDICT")
      .in_group(group);
  add_strict(command, arguments.strict);
  add_value(command, arguments.value);
  command.option("--color", arguments.colour, "auto, always or never")
      .one_of({"auto", "always", "never"})
      .takes("WHEN")
      .in_group(group);
  add_date(command, arguments.date);
  command.option("--beside", arguments.beside, "on a page, this machine too; may be repeated")
      .takes("NAME|FILE")
      .one_value_each_time()
      .in_group(group);
  command.flag("--full", arguments.full, "all tables, instead of one screen").in_group(group);
  command.flag("--all", arguments.all, "with --full, every diagnostic and every unknown word")
      .in_group(group);
  command.flag("-v,--verbose", arguments.verbose, "speed, memory, residual of the books")
      .in_group(group);
  add_progress_options(command, arguments.progress, arguments.no_progress);
}

}  // namespace

Run add_tally(Program& program) {
  const auto arguments = std::make_shared<TallyArguments>();
  const Command command = program.command("tally", "what one plate costs: time, material, energy");
  add_input(command, "PLATE", arguments->plate,
            "sliced plate, plain or packed (gz, zst, xz, zip, tar); - reads standard input", "");
  add_machine(command, arguments->machine);
  add_input(command, "--member", arguments->member,
            "of a container with several plates, only this one", "NAME");
  add_partial(command, arguments->partial);
  add_colours(command, arguments->colours);
  add_input(command, "--materials", arguments->materials,
            "materials of your own, for the machine file", "FILE");
  add_input(command, "--prices", arguments->prices, "a prices file: what the plate costs", "FILE");
  add_input(command, "--book", arguments->book,
            "a history of reconciled plates: how far off they were widens the bands", "FILE");
  add_copies(command, arguments->copies, "good parts on the plate, for the price of one");
  add_input(command, "--reserve", arguments->reserve,
            "of filament to have at hand, above what is printed: 5%", "SHARE");
  add_input(command, "--start", arguments->start,
            "when it begins, 2026-12-01T18:30: when it is done, and energy by the hour's price",
            "TIME");
  add_start_bed(command, arguments->start_bed_c);
  command.option("--door", arguments->door, "of the enclosure: open or closed")
      .one_of({"open", "closed"})
      .takes("STATE")
      .in_group("Input");
  command.option("--threads", arguments->threads, "1, or more for two; the results are the same")
      .between(1, 1024)
      .takes("N")
      .in_group("Input");
  add_variant(command, arguments->what_if);
  add_output_arguments(command, *arguments);
  command.footer(
      "Example: platetally tally plant-labels.gcode --machine changer-5 --limit purge_g=50");
  return [arguments] { return tally(*arguments); };
}

}  // namespace platetally::cli
