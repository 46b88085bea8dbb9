// What of a plan was printed, into a history.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <map>
#include <nlohmann/json.hpp>

#include "base/units.hpp"
#include "output/audit/print_entry.hpp"
#include "output/audit/setting.hpp"
#include "platetally/plan.hpp"
#include "platetally/print_log.hpp"
#include "reading/source/content.hpp"

namespace platetally {

namespace {

using namespace audit_stage;
using nlohmann::json;

/// Machines and plates of the queue that a plan was made of, by their names there.
class QueueOfPlan {
 public:
  explicit QueueOfPlan(const std::string& path) : load_(load_queue(path)) {
    if (!load_.usable)
      throw std::runtime_error(
          fmt::format("{}: the queue of the plan cannot be read any more", path));
  }
  const QueueMachine& machine(const std::string& name) const {
    return named(load_.queue.machines, name, "machine");
  }
  const QueueJob& job(const std::string& name) const {
    return named(load_.queue.jobs, name, "job");
  }

 private:
  template <typename Thing>
  const Thing& named(const std::vector<Thing>& things, const std::string& name,
                     const char* what) const {
    const auto found = std::ranges::find(things, name, &Thing::name);
    if (found == things.end())
      throw std::runtime_error(
          fmt::format("{}: has no {} '{}' any more", load_.queue.path, what, name));
    return *found;
  }

  QueueLoad load_;
};

double figure(const json& run, const char* key) {
  const auto found = run.find(key);
  return found != run.end() && found->is_number() ? found->get<double>() : std::nan("");
}

/// A run as a print; its moments are of the workshop's clock.
history::Print print_of(const json& run, const QueueOfPlan& queue, const PlanPrints& prints,
                        bool failed) {
  const QueueMachine& machine = queue.machine(run.at("machine").get<std::string>());
  const QueueJob& job = queue.job(run.at("job").get<std::string>());
  const auto content = source::hash_of_file(job.path);
  if (!content)
    throw std::runtime_error(fmt::format("{}: cannot be read", job.path));
  history::Print print;
  print.content = *content;
  const auto times = run.at("times").get<std::int64_t>();
  print.setting = {"", machine.machine.name, machine_hash(machine.machine), "",
                   times > 1 ? fmt::format("batch of {}", times) : ""};
  print.unit = fmt::format("{} {}", machine.name, run.at("instance").get<std::int64_t>());
  const auto end_s = std::min(run.at("end_s").get<std::int64_t>(), prints.until_s);
  print.finished_s = end_s - std::llround(prints.utc_offset_h / base::h_from_s(1.0));
  print.path = job.path;
  print.failed = failed;
  print.good_parts = failed ? 0 : run.at("parts").get<std::uint64_t>();
  print.time_s = figure(run, "end_s") - figure(run, "start_s");
  print.swaps = figure(run, "swaps");
  print.part_g = figure(run, "part_g");
  print.purge_g = figure(run, "purge_g");
  print.energy_wh = figure(run, "energy_wh");
  return print;
}

std::vector<LoggedPrint> log_runs(const json& plan, const std::string& plan_path,
                                  const PlanPrints& prints, const AuditOptions& options) {
  const QueueOfPlan queue(plan.at("queue").get<std::string>());
  const std::string currency =
      plan.at("currency").is_string() ? plan.at("currency").get<std::string>() : "";
  history::Store store(options.history);
  std::vector<LoggedPrint> all;
  for (const std::string& id : prints.failed)
    if (std::ranges::none_of(plan.at("runs"), [&](const json& run) { return run.at("id") == id; }))
      throw std::runtime_error(fmt::format("{}: has no run '{}'", plan_path, id));
  for (const json& run : plan.at("runs")) {
    const auto id = run.at("id").get<std::string>();
    const bool failed =
        run.at("state") == "failed" || std::ranges::find(prints.failed, id) != prints.failed.end();
    const bool started = run.at("start_s").get<std::int64_t>() <= prints.until_s;
    if (!(failed && started) && run.at("end_s").get<std::int64_t>() > prints.until_s)
      continue;
    history::Print print = print_of(run, queue, prints, failed);
    print.setting.version = options.version;
    print.origin = fmt::format("plan {} {}", plan_path, id);
    print.logged_s = options.now_s ? options.now_s() : 0;
    if (!currency.empty()) {
      print.cost = figure(run, "cost");
      print.currency = currency;
    } else {
      print.cost = std::nan("");
    }
    all.push_back(count_print(store, print, false));
  }
  return all;
}

}  // namespace

std::vector<LoggedPrint> log_plan_prints(std::string_view plan_json, const std::string& plan_path,
                                         const PlanPrints& prints, const AuditOptions& options) {
  const json plan = json::parse(plan_json, nullptr, false);
  if (!plan.is_object() || plan.value("schema", json()) != "platetally.plan/1")
    throw std::invalid_argument(
        fmt::format("{}: is no plan; expected the JSON that platetally plan writes", plan_path));
  try {
    return log_runs(plan, plan_path, prints, options);
  } catch (const json::exception&) {
    throw std::invalid_argument(fmt::format("{}: is not as platetally plan writes it", plan_path));
  }
}

}  // namespace platetally
