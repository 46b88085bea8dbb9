// A plan as JSON, and what a later plan needs of it read back.
#include <fmt/format.h>

#include <nlohmann/json.hpp>
#include <stdexcept>

#include "output/report/plan_words.hpp"
#include "output/report/strings.hpp"
#include "platetally/plan.hpp"
#include "platetally/report.hpp"

namespace platetally {

namespace {

using Json = nlohmann::ordered_json;

constexpr const char* kSchema = "platetally.plan/1";

Json text(std::string_view value) {
  return report::valid_utf8(value);
}

Json texts(const std::vector<std::string>& values) {
  Json out = Json::array();
  for (const std::string& value : values)
    out.push_back(text(value));
  return out;
}

template <typename Value>
Json maybe(const std::optional<Value>& value) {
  return value ? Json(*value) : Json(nullptr);
}

Json money(const Plan& plan, double amount) {
  return plan.currency.empty() ? Json(nullptr) : Json(amount);
}

Json moment(const std::optional<std::int64_t>& moment_s) {
  return moment_s ? Json(moment_text(*moment_s)) : Json(nullptr);
}

Json run_json(const Plan& plan, const PlanRun& run) {
  return {{"id", text(run.id)},
          {"state", name_of(run.state)},
          {"job", text(plan.queue.jobs[run.job].name)},
          {"machine", text(plan.queue.machines[run.machine].name)},
          {"instance", run.instance + 1},
          {"times", run.times},
          {"parts", run.parts},
          {"setup", moment_text(run.setup_s)},
          {"start", moment_text(run.start_s)},
          {"end", moment_text(run.end_s)},
          {"setup_s", run.setup_s},
          {"start_s", run.start_s},
          {"end_s", run.end_s},
          {"unattended_s", run.unattended_s},
          {"put_in", texts(run.put_in)},
          {"loaded", texts(run.loaded)},
          {"replanned", run.replanned},
          {"swaps", run.swaps},
          {"swap_s", run.swap_s},
          {"cost", money(plan, run.cost)},
          {"purge_g", run.purge_g},
          {"part_g", run.part_g},
          {"energy_wh", run.energy_wh}};
}

Json job_json(const Plan& plan, const PlannedJob& job) {
  const QueueJob& from = plan.queue.jobs[job.job];
  return {
      {"name", text(from.name)},      {"plate", text(from.plate)},  {"copies", from.copies},
      {"parts", job.parts},           {"plates", job.plates},       {"done", moment(job.finish_s)},
      {"due", moment(from.due_s)},    {"late_s", job.late_s},       {"cost", money(plan, job.cost)},
      {"purge_g", job.purge_g},       {"energy_wh", job.energy_wh}, {"manual_s", job.manual_s},
      {"why_not", texts(job.why_not)}};
}

Json machine_json(const Plan& plan, const PlannedMachine& machine) {
  return {{"name", text(plan.queue.machines[machine.machine].name)},
          {"instance", machine.instance + 1},
          {"plates", machine.plates},
          {"printing_s", machine.printing_s},
          {"unattended_s", machine.unattended_s},
          {"manual_s", machine.manual_s},
          {"changes", machine.changes},
          {"cost", money(plan, machine.cost)},
          {"purge_g", machine.purge_g},
          {"energy_wh", machine.energy_wh}};
}

Json sums_json(const Plan& plan, const PlanSums& sums) {
  return {{"name", text(sums.name)},        {"possible", sums.possible},
          {"cost", money(plan, sums.cost)}, {"finish", moment_text(sums.finish_s)},
          {"purge_g", sums.purge_g},        {"energy_wh", sums.energy_wh},
          {"manual_s", sums.manual_s},      {"changes", sums.changes},
          {"late_jobs", sums.late_jobs},    {"late_h", sums.late_h}};
}

Json batch_json(const Plan& plan, const BatchRow& batch) {
  return {{"job", text(plan.queue.jobs[batch.job].name)},
          {"machine", text(plan.queue.machines[batch.machine].name)},
          {"times", batch.times},
          {"parts", batch.parts},
          {"replanned", batch.replanned},
          {"impossible", text(batch.impossible)},
          {"time_s", batch.time_s},
          {"swaps", batch.swaps},
          {"cost", money(plan, batch.cost)},
          {"purge_g", batch.purge_g},
          {"energy_wh", batch.energy_wh}};
}

template <typename Items, typename Write>
Json list(const Plan& plan, const Items& items, Write write) {
  Json out = Json::array();
  for (const auto& item : items)
    out.push_back(write(plan, item));
  return out;
}

Json proof_json(const Plan& plan) {
  Json bounds = Json::array();
  for (const PlanBound& bound : plan.bounds)
    bounds.push_back({{"measure", bound.measure},
                      {"unit", bound.unit},
                      {"value", bound.value},
                      {"bound", bound.bound},
                      {"gap", bound.gap}});
  return {{"bounds", bounds},
          {"assignment",
           {{"value", plan.assignment_value},
            {"bound", plan.assignment_bound},
            {"proven", plan.assignment_proven},
            {"nodes", plan.nodes}}},
          {"steps", plan.steps},
          {"stopped", plan.stopped}};
}

/// A member, or a fault that names it.
template <typename Value>
Value member(const Json& object, const char* name, const std::string& where) {
  const auto found = object.find(name);
  if (found == object.end())
    throw std::invalid_argument(fmt::format("{}: '{}' is missing", where, name));
  try {
    return found->get<Value>();
  } catch (const Json::exception&) {
    throw std::invalid_argument(fmt::format("{}: '{}' is of the wrong type", where, name));
  }
}

/// A whole number within its range.
std::int64_t whole(const Json& object, const char* name, std::int64_t low, std::int64_t high,
                   const std::string& where) {
  const auto found = object.find(name);
  if (found != object.end() && found->is_number_integer()) {
    const auto value = found->get<std::int64_t>();
    if (value >= low && value <= high)
      return value;
  }
  throw std::invalid_argument(
      fmt::format("{}: '{}': expected a whole number from {} to {}", where, name, low, high));
}

EarlierRun run_from(const Json& json, const std::string& where) {
  constexpr std::int64_t kLatest_s = std::int64_t{1} << 40;  // some 30,000 years on
  constexpr std::int64_t kMost = 10000000;
  EarlierRun run;
  run.id = member<std::string>(json, "id", where);
  run.job = member<std::string>(json, "job", where);
  run.machine = member<std::string>(json, "machine", where);
  run.instance = static_cast<int>(whole(json, "instance", 1, kMost, where)) - 1;
  run.times = static_cast<int>(whole(json, "times", 1, 1000, where));
  run.parts = static_cast<int>(whole(json, "parts", 1, kMost, where));
  run.setup_s = whole(json, "setup_s", 0, kLatest_s, where);
  run.start_s = whole(json, "start_s", run.setup_s, kLatest_s, where);
  run.end_s = whole(json, "end_s", run.start_s, kLatest_s, where);
  run.loaded = member<std::vector<std::string>>(json, "loaded", where);
  return run;
}

}  // namespace

std::string to_json(const Plan& plan) {
  Json out;
  out["schema"] = kSchema;
  out["made_from"] = nlohmann::ordered_json::parse(to_json(plan.made_from));
  out["queue"] = text(plan.queue.path);
  out["now"] = moment_text(plan.now_s);
  out["now_s"] = plan.now_s;
  out["asked"] = text(plan.asked);
  out["aim"] = {{"cost", plan.aim.cost},
                {"finish", plan.aim.finish},
                {"waste", plan.aim.waste},
                {"energy", plan.aim.energy}};
  out["currency"] = text(plan.currency);
  out["sums"] = sums_json(plan, plan.sums);
  out["rules"] = list(plan, plan.rules, sums_json);
  out["proof"] = proof_json(plan);
  out["runs"] = list(plan, plan.runs, run_json);
  out["jobs"] = list(plan, plan.jobs, job_json);
  out["machines"] = list(plan, plan.machines, machine_json);
  out["batches"] = list(plan, plan.batches, batch_json);
  out["power"] = {{"limit_w", maybe(plan.queue.power_limit_w)},
                  {"start", moment_text(plan.power.start_s)},
                  {"step_s", plan.power.step_s},
                  {"highest_w", plan.power.highest_w}};
  out["assumed"] = texts(plan.assumed);
  out["problems"] = texts(plan.problems);
  out["caution"] = report::kPlanCaution;
  return out.dump(1) + "\n";
}

EarlierPlan read_plan(std::string_view json) {
  // The parser keeps its own stack of open brackets; a bound on their depth keeps destruction flat.
  constexpr int kDeepest = 16;
  bool too_deep = false;
  const auto watch = [&](int depth, Json::parse_event_t, Json&) {
    too_deep = too_deep || depth > kDeepest;
    return !too_deep;
  };
  const Json root = Json::parse(json, watch, false);
  if (too_deep || root.is_discarded() || !root.is_object() || !root.contains("schema") ||
      root.at("schema") != kSchema)
    throw std::invalid_argument(fmt::format("it is no plan: expected JSON of \"{}\"", kSchema));
  EarlierPlan plan;
  plan.path = member<std::string>(root, "queue", "the plan");
  const auto runs = root.find("runs");
  if (runs == root.end() || !runs->is_array())
    throw std::invalid_argument("the plan: 'runs' is missing");
  for (const Json& run : *runs) {
    const std::string where = fmt::format("run {} of the plan", plan.runs.size() + 1);
    if (!run.is_object())
      throw std::invalid_argument(where + ": expected an object");
    if (member<std::string>(run, "state", where) != "failed")
      plan.runs.push_back(run_from(run, where));
  }
  return plan;
}

}  // namespace platetally
