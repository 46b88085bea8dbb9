// The C interface: reports of more than one account, as JSON.
#include <algorithm>

#include "output/c/c_parts.hpp"
#include "platetally/audit.hpp"
#include "platetally/compare.hpp"
#include "platetally/order.hpp"

namespace {

using namespace platetally;
using namespace platetally::c;

OrderObjective objective_of(std::string_view word) {
  if (word == "seconds")
    return OrderObjective::seconds;
  if (word == "money")
    return OrderObjective::money;
  if (word == "swaps")
    return OrderObjective::swaps;
  if (word != "grams")
    throw std::invalid_argument("by: expected grams, seconds, money or swaps");
  return OrderObjective::grams;
}

HeadOrder head_order_of(std::string_view word) {
  if (word == "ascending")
    return HeadOrder::ascending;
  if (word == "alternating")
    return HeadOrder::alternating;
  if (word != "cyclic")
    throw std::invalid_argument("heads: expected ascending, alternating or cyclic");
  return HeadOrder::cyclic;
}

OrderOptions order_options(const platetally_order_options& asked) {
  OrderOptions options;
  if (asked.by != nullptr)
    options.objective = objective_of(asked.by);
  if (asked.heads != nullptr)
    options.head_order = head_order_of(asked.heads);
  if (asked.first != nullptr)
    options.first = *asked.first;
  if (asked.kept != nullptr)
    options.kept = *asked.kept;
  if (asked.before_count > 0)
    require(asked.before, "pairs of tools, though their count is not 0");
  for (std::size_t i = 0; i < asked.before_count; ++i)
    options.precedence.emplace_back(asked.before[2 * i], asked.before[2 * i + 1]);
  return options;
}

AuditOptions audit_options(const platetally_audit_options& asked, const Job& job) {
  AuditOptions options;
  options.include = texts_of(asked.include, asked.include_count, "pattern to include");
  options.exclude = texts_of(asked.exclude, asked.exclude_count, "pattern to exclude");
  options.threads = std::max(1, asked.threads);
  options.materials = job.options.materials;
  options.tool_colours = job.options.tool_colours;
  options.prices = job.prices;
  options.copies = job.copies;
  options.partial = job.options.partial;
  options.strict = asked.strict != 0;
  if (asked.sort != nullptr)
    options.sort = asked.sort;
  if (asked.limit_count > 0)
    require(asked.highest, "highest values, though the count of limits is not 0");
  const std::vector<std::string> keys = texts_of(asked.limits, asked.limit_count, "limit's key");
  for (std::size_t i = 0; i < keys.size(); ++i) {
    if (const auto fault = fault_of_limit(keys[i]))
      throw std::invalid_argument(*fault);
    options.limits.emplace_back(keys[i], asked.highest[i]);
  }
  if (const std::string& key = options.sort; !key.empty())
    if (const auto fault = fault_of_limit(key))
      throw std::invalid_argument(*fault);
  options.version = kVersion;
  if (asked.history != nullptr) {
    if (asked.now_s <= 0)
      throw std::invalid_argument("a history needs now_s, the seconds since 1970");
    options.history = asked.history;
    options.now_s = [now_s = asked.now_s] { return static_cast<std::int64_t>(now_s); };
  }
  if (job.options.on_progress)
    options.on_progress = [told = job.options.on_progress](const AuditProgress& progress) {
      told(progress.bytes);
    };
  return options;
}

std::string order_json(const char* path, const Machine& machine, Job job,
                       const platetally_order_options& asked) {
  OrderOptions options = order_options(asked);
  options.materials = job.options.materials;
  job.options.findings = false;
  if (!job.prices && options.objective == OrderObjective::money)
    throw std::invalid_argument("an order by money needs prices");
  const Account account = analyze_file(path, machine, job.options);
  if (job.prices) {
    const PlateCost cost = cost_of_plate(account, *job.prices);
    options.money_per_g = cost.per_purge_g;
    options.money_per_s = cost_per_s(cost, account.totals.mean_power_w);
  }
  return to_json(asked.by == nullptr ? plan_usual_order(account, machine, options)
                                     : plan_order(account, machine, options));
}

/// Options of what reads every plate of a file.
platetally_options of_whole_files(const platetally_options* options) {
  const platetally_options asked = known(options);
  if (asked.member != nullptr)
    throw std::invalid_argument("options: 'member' goes with a tally only");
  return asked;
}

}  // namespace

extern "C" {

char* platetally_order(const char* path, const char* machine, const platetally_options* options,
                       const platetally_order_options* order, char** error) {
  return guarded(error, [&] {
    require(path, "plate was named");
    const platetally_options asked = of_whole_files(options);
    const Machine loaded = machine_of(machine);
    try {
      return text_for_c(
          order_json(path, loaded, job_of(loaded, asked),
                     known(order, sizeof(platetally_order_options), "platetally_order_options")));
    } catch (const UnreadablePlate& fault) {
      throw UnreadablePlate(std::string(path) + ": " + fault.what());
    }
  });
}

char* platetally_compare(const char* const* paths, size_t path_count, const char* const* machines,
                         size_t machine_count, const platetally_options* options, char** error) {
  return guarded(error, [&] {
    const std::vector<std::string> plates = texts_of(paths, path_count, "plate was named");
    const std::vector<std::string> names = texts_of(machines, machine_count, "machine was named");
    if (plates.empty())
      throw std::invalid_argument("no plate was named");
    const platetally_options asked = of_whole_files(options);
    std::vector<Machine> loaded;
    for (const std::string& name : names)
      loaded.push_back(machine_of(name.c_str()));
    if (loaded.empty())
      loaded.push_back(machine_of(nullptr));
    const Job job = job_of(loaded.front(), asked);
    CompareOptions compare;
    compare.analyze = job.options;
    compare.prices = job.prices;
    compare.copies = job.copies;
    return text_for_c(to_json(compare_plates(plates, loaded, compare)));
  });
}

char* platetally_audit(const char* const* paths, size_t path_count, const char* machine,
                       const platetally_options* options, const platetally_audit_options* audit,
                       char** error) {
  return guarded(error, [&] {
    const std::vector<std::string> places = texts_of(paths, path_count, "path was named");
    if (places.empty())
      throw std::invalid_argument("no path was named");
    const platetally_options asked = of_whole_files(options);
    const Machine loaded = machine_of(machine);
    const Job job = job_of(loaded, asked);
    const AuditOptions wanted = audit_options(
        known(audit, sizeof(platetally_audit_options), "platetally_audit_options"), job);
    return text_for_c(to_json(platetally::audit(places, loaded, wanted)));
  });
}

char* platetally_history(const char* file, const char* since, char** error) {
  return guarded(error, [&] {
    require(file, "history was named");
    require(since, "date was named");
    const auto since_s = parse_utc(since);
    if (!since_s)
      throw std::invalid_argument(std::string("'") + since +
                                  "' is no date, such as 2026-11-01 or 2026-11-01T08:00:00");
    return text_for_c(to_json(read_history(file, *since_s, {}, {})));
  });
}

}  // extern "C"
