// The JSON schemas of every report: the tally's from the field table, the others from the members
// that their writers put down, told here once more so that a validator can hold one against the
// other.
#include <algorithm>
#include <nlohmann/json.hpp>
#include <utility>

#include "output/report/schema_parts.hpp"
#include "platetally/audit.hpp"
#include "platetally/report.hpp"

namespace platetally {

namespace {

using Json = nlohmann::ordered_json;

constexpr const char* kDraft = "https://json-schema.org/draft/2020-12/schema";

Json typed(const char* type) {
  return {{"type", type}};
}
Json number() {
  return typed("number");
}
Json text() {
  return typed("string");
}
Json flag() {
  return typed("boolean");
}
Json integer() {
  return typed("integer");
}
Json count() {
  return {{"type", "integer"}, {"minimum", 0}};
}
/// Not known, or there is none: null.
Json maybe(Json schema) {
  schema["type"] = Json::array({schema.at("type"), "null"});
  return schema;
}
Json list_of(const Json& items) {
  return {{"type", "array"}, {"items", items}};
}
/// So many of them, no fewer and no more.
Json tuple_of(const Json& items, int length) {
  return {{"type", "array"}, {"items", items}, {"minItems", length}, {"maxItems", length}};
}

/// One of these texts.
Json one_of(const std::vector<std::string>& values) {
  return {{"type", "string"}, {"enum", values}};
}

using Members = std::vector<std::pair<const char*, Json>>;

/// All of them required, but for the optional ones.
Json object_of(const Members& members, const Members& optional = {}) {
  Json out = typed("object");
  out["required"] = Json::array();
  out["properties"] = Json::object();
  for (const auto& [name, schema] : members) {
    out["required"].push_back(name);
    out["properties"][name] = schema;
  }
  for (const auto& [name, schema] : optional)
    out["properties"][name] = schema;
  return out;
}

Json report_of(const char* name, Members members, const Members& optional = {}) {
  members.insert(members.begin(), {"made_from", report::made_from_schema()});
  members.insert(members.begin(), {"schema", Json{{"const", name}}});
  Json out{{"$schema", kDraft}, {"$id", report::urn_of(name)}, {"title", name}};
  out.update(object_of(members, optional));
  return out;
}

Json named() {
  return object_of({{"name", text()}});
}
Json pathed() {
  return object_of({{"path", text()}});
}

Json verdict_reason() {
  return object_of({{"code", one_of(report::codes_of(CodeKind::verdict))},
                    {"grade", one_of(report::grade_names())},
                    {"text", text()}});
}

Json order() {
  const Json pair = object_of({{"from", integer()},
                               {"to", integer()},
                               {"kind", one_of({"head_change", "filament_change"})},
                               {"count", count()},
                               {"swap_s", tuple_of(number(), 3)},
                               {"purged_g", number()},
                               {"needed_mm3_each", maybe(number())},
                               {"needed_g_each", maybe(number())},
                               {"over_purge_g", maybe(number())},
                               {"plan_g_each", number()},
                               {"plan_s_each", number()}});
  const Json outcome = object_of({{"name", one_of({"actual", "ascending", "carry-over", "best"})},
                                  {"swaps", count()},
                                  {"purge_g", number()},
                                  {"time_s", number()},
                                  {"money", number()},
                                  {"cost", number()}});
  const Json proof = object_of({{"optimal", flag()},
                                {"bound", number()},
                                {"gap", number()},
                                {"left_out", count()},
                                {"text", text()}});
  const Json heads = object_of({{"tool_to_head", list_of(integer())},
                                {"cost", number()},
                                {"cost_as_is", number()},
                                {"proven", flag()}});
  return report_of("platetally.order/1",
                   {{"job", pathed()},
                    {"machine", named()},
                    {"objective", text()},
                    {"colours", list_of(text())},
                    {"pairs", list_of(pair)},
                    {"outcomes", list_of(outcome)},
                    {"proof", proof},
                    {"plan", list_of(text())},
                    {"orders", list_of(list_of(integer()))},
                    {"assumptions", list_of(text())}},
                   {{"heads", heads}});
}

/// The section "totals" of the tally, of which a comparison shows a part.
Json totals_of_tally() {
  return Json::parse(tally_json_schema()).at("properties").at("totals").at("properties");
}

Json before_after() {
  const Json range = object_of({{"low", number()}, {"expected", number()}, {"high", number()}});
  const Json figure = object_of({{"key", text()},
                                 {"unit", text()},
                                 {"before", range},
                                 {"after", range},
                                 {"change", range},
                                 {"alike", flag()}});
  const Json amounts = object_of({{"time_s", number()},
                                  {"part_g", number()},
                                  {"purge_g", number()},
                                  {"energy_wh", number()},
                                  {"swaps", number()}});
  const Json height = object_of(
      {{"from_mm", number()}, {"to_mm", number()}, {"before", amounts}, {"after", amounts}});
  const Json large = object_of({{"height", count()},
                                {"from_mm", number()},
                                {"to_mm", number()},
                                {"what", text()},
                                {"before", number()},
                                {"after", number()},
                                {"share", number()}});
  return object_of(
      {{"figures", list_of(figure)}, {"heights", list_of(height)}, {"largest", list_of(large)}});
}

Json compare() {
  const Json all = totals_of_tally();
  Members totals;
  for (const char* key :
       {"time_s", "time_low_s", "time_high_s", "time_by", "swaps", "part_g", "purge_g", "energy_wh",
        "energy_low_wh", "energy_high_wh", "energy_by", "mean_power_w", "bed_zones_used"})
    totals.emplace_back(key, all.at(key));
  const Json verdict =
      object_of({{"grade", one_of(report::grade_names())}, {"reasons", list_of(verdict_reason())}});
  const Json machine = object_of({{"name", text()},
                                  {"verdict", verdict},
                                  {"replanned", flag()},
                                  {"totals", object_of(totals)},
                                  {"cost", maybe(number())},
                                  {"measured", list_of(text())},
                                  {"assumed", list_of(text())},
                                  {"misfits", list_of(text())}});
  const Json even = object_of({{"machine", text()},
                               {"swap_s", maybe(number())},
                               {"energy_per_kwh", maybe(number())},
                               {"copies", maybe(number())}});
  const Json plate = object_of({{"path", text()},
                                {"what_if", text()},
                                {"machines", list_of(machine)},
                                {"break_even", list_of(even)}});
  return report_of("platetally.compare/2",
                   {{"plates", list_of(plate)}, {"before_after", maybe(before_after())}});
}

Json payback() {
  const Json machine = object_of({{"name", text()},
                                  {"hours_needed", number()},
                                  {"hours_available", number()},
                                  {"machines", count()},
                                  {"waste_kg", number()},
                                  {"energy_kwh", number()},
                                  {"running_cost", number()},
                                  {"price", number()},
                                  {"cannot_print", list_of(text())}});
  const Json cause = object_of(
      {{"input", text()}, {"years_at_low", maybe(number())}, {"years_at_high", maybe(number())}});
  return report_of(
      "platetally.payback/1",
      {{"currency", text()},
       {"machines", tuple_of(machine, 2)},
       {"extra_price", number()},
       {"saving_a_year", number()},
       {"simple_years", maybe(number())},
       {"discounted_years", maybe(number())},
       {"net_present_value", number()},
       {"quantile_years",
        object_of({{"p5", maybe(number())}, {"p50", maybe(number())}, {"p95", maybe(number())}})},
       {"never_share", number()},
       {"causes", list_of(cause)},
       {"notes", list_of(text())}});
}

Json audit_row() {
  const Json breach = object_of({{"key", text()}, {"value", number()}, {"limit", number()}});
  Members totals;
  for (const std::string& key : audit_keys())
    totals.emplace_back(key.c_str(), maybe(number()));
  const Json plate = object_of({{"path", text()},
                                {"content_hash", maybe(text())},
                                {"member", text()},
                                {"error", typed("null")},
                                {"machine", text()},
                                {"verdict", one_of(report::grade_names())},
                                {"verdict_because", list_of(verdict_reason())},
                                {"sorted_by", maybe(number())},
                                {"totals", object_of(totals)},
                                {"purge_strip_g", list_of(number())},
                                {"findings", list_of(one_of(finding_codes()))},
                                {"left_out", count()},
                                {"warnings", count()},
                                {"unknown_words", count()},
                                {"partial", flag()},
                                {"over_limit", list_of(breach)},
                                {"limits_not_checked", list_of(text())},
                                {"fails_because", maybe(text())}});
  const Json failed = object_of(
      {{"path", text()}, {"content_hash", maybe(text())}, {"member", text()}, {"error", text()}});
  return {{"oneOf", Json::array({plate, failed})}};
}

Json audit() {
  Members sums;
  for (const std::string& key : audit_keys())
    sums.emplace_back(key.c_str(), maybe(number()));
  const Json finding = object_of({{"code", one_of(finding_codes())},
                                  {"plates", count()},
                                  {"saves_time_s", number()},
                                  {"saves_purge_g", number()},
                                  {"saves_energy_wh", number()},
                                  {"saves_money", maybe(number())}});
  Json date = text();
  date["pattern"] = "^[0-9]{4}-[0-9]{2}-[0-9]{2}$";
  const Json group = object_of({{"machine", maybe(text())},
                                {"machine_hash", maybe(text())},
                                {"version", maybe(text())},
                                {"options", text()},
                                {"currency", maybe(text())},
                                {"plates", count()},
                                {"totals", object_of(sums)}});
  const Json week = object_of({{"monday", date},
                               {"group", count()},
                               {"plates", count()},
                               {"swaps", count()},
                               {"hours", number()},
                               {"part_g", number()},
                               {"purge_g", number()},
                               {"energy_kwh", number()}});
  const Json printed = object_of({{"monday", date},
                                  {"machine", text()},
                                  {"prints", count()},
                                  {"failed", count()},
                                  {"good_parts", count()},
                                  {"prints_without_good_parts", count()},
                                  {"swaps", number()},
                                  {"hours", number()},
                                  {"part_g", number()},
                                  {"purge_g", number()},
                                  {"energy_kwh", number()},
                                  {"cost", maybe(number())},
                                  {"currency", maybe(text())}});
  return report_of(
      "platetally.audit/1",
      {{"machine", text()},
       {"sort", text()},
       {"value", text()},
       {"currency", maybe(text())},
       {"plates", count()},
       {"failed", count()},
       {"over_limit", count()},
       {"not_passed", count()},
       {"passed_over", count()},
       {"notes", list_of(text())},
       {"totals", object_of(sums)},
       {"findings", list_of(finding)},
       {"rows", list_of(audit_row())},
       {"unread", list_of(object_of({{"path", text()}, {"error", text()}}))}},
      {{"groups", list_of(group)}, {"weeks", list_of(week)}, {"printed_weeks", list_of(printed)}});
}

/// A line of --format jsonl.
Json audit_line() {
  const auto of_type = [](const char* type, Members members) {
    members.insert(members.begin(), {"type", Json{{"const", type}}});
    return object_of(members);
  };
  const Json limit{{"type", "array"},
                   {"prefixItems", Json::array({text(), number()})},
                   {"minItems", 2},
                   {"maxItems", 2}};
  const Json begin = of_type("begin", {{"schema", Json{{"const", "platetally.audit/1"}}},
                                       {"made_from", report::made_from_schema()},
                                       {"machine", text()},
                                       {"machine_hash", text()},
                                       {"version", text()},
                                       {"options", text()},
                                       {"setting", text()},
                                       {"files", count()},
                                       {"listing", text()},
                                       {"shard", count()},
                                       {"shards", count()},
                                       {"sort", text()},
                                       {"value", text()},
                                       {"partial", flag()},
                                       {"strict", flag()},
                                       {"limits", list_of(limit)}});
  const Json finding = object_of({{"code", one_of(finding_codes())},
                                  {"spoils", flag()},
                                  {"saves_time_s", number()},
                                  {"saves_purge_g", number()},
                                  {"saves_energy_wh", number()},
                                  {"saves_money", maybe(number())}});
  Json values = typed("object");
  values["additionalProperties"] = maybe(number());
  const Json plate = of_type("plate", {{"index", count()},
                                       {"path", text()},
                                       {"content_hash", text()},
                                       {"member", text()},
                                       {"machine", text()},
                                       {"machine_hash", text()},
                                       {"currency", text()},
                                       {"verdict", one_of(report::grade_names())},
                                       {"verdict_because", list_of(verdict_reason())},
                                       {"left_out", count()},
                                       {"warnings", count()},
                                       {"unknown_words", count()},
                                       {"findings", list_of(finding)},
                                       {"purge_strip_g", list_of(number())},
                                       {"values", values}});
  const Json failed = of_type("plate", {{"index", count()},
                                        {"path", text()},
                                        {"content_hash", text()},
                                        {"member", text()},
                                        {"error", text()}});
  const Json unread = of_type("unread", {{"path", text()}, {"error", text()}});
  const Json end = of_type("end", {{"plates", count()},
                                   {"failed", count()},
                                   {"over_limit", count()},
                                   {"not_passed", count()},
                                   {"passed_over", count()}});
  return {{"$schema", kDraft},
          {"$id", "urn:platetally:audit-line:1"},
          {"title", "platetally.audit/1, a line"},
          {"oneOf", Json::array({begin, plate, failed, unread, end})}};
}

Json finished_prints() {
  const Json errors = object_of({{"key", text()},
                                 {"prints", count()},
                                 {"plates", count()},
                                 {"before_median", number()},
                                 {"before_mean", number()},
                                 {"after_median", number()},
                                 {"after_mean", number()},
                                 {"left_out_median", number()},
                                 {"left_out_mean", number()}});
  const Json outcome = object_of({{"plate", text()},
                                  {"line", count()},
                                  {"key", text()},
                                  {"measured", number()},
                                  {"before", number()},
                                  {"after", number()},
                                  {"left_out", number()},
                                  {"weight", number()},
                                  {"is_outlier", flag()}});
  return object_of({{"file", text()},
                    {"file_hash", text()},
                    {"errors", list_of(errors)},
                    {"outcomes", list_of(outcome)}});
}

Json counted_changes() {
  const Json counted = object_of({{"kind", text()},
                                  {"machines", count()},
                                  {"changes", count()},
                                  {"low_s", number()},
                                  {"expected_s", number()},
                                  {"high_s", number()},
                                  {"stops", count()},
                                  {"stop_share", maybe(number())},
                                  {"stop_s", maybe(number())}});
  return object_of({{"file", text()}, {"file_hash", text()}, {"counted", list_of(counted)}});
}

Json calibrate() {
  const Json fitted = object_of({{"key", text()},
                                 {"unit", text()},
                                 {"before", number()},
                                 {"value", number()},
                                 {"low", number()},
                                 {"high", number()},
                                 {"at_bound", flag()},
                                 {"told_together", flag()}});
  const Json other = object_of({{"key", text()},
                                {"unit", text()},
                                {"before", number()},
                                {"value", number()},
                                {"low", number()},
                                {"high", number()},
                                {"settled_by", text()}});
  const Json experiment = object_of({{"experiment", text()},
                                     {"log", text()},
                                     {"log_hash", text()},
                                     {"offset_s", number()},
                                     {"measured_wh", number()},
                                     {"before_wh", number()},
                                     {"after_wh", number()},
                                     {"windows", list_of(tuple_of(number(), 5))}});
  return report_of("platetally.calibrate/1", {{"machine", text()},
                                              {"fitted", list_of(fitted)},
                                              {"not_identifiable", list_of(other)},
                                              {"rank", count()},
                                              {"condition", maybe(number())},
                                              {"rms_before_w", number()},
                                              {"rms_after_w", number()},
                                              {"converged", flag()},
                                              {"experiments", list_of(experiment)},
                                              {"prints", maybe(finished_prints())},
                                              {"changes", maybe(counted_changes())},
                                              {"notes", list_of(text())}});
}

Json calibrate_pairs() {
  const Json fitted =
      object_of({{"key", text()}, {"unit", text()}, {"before", number()}, {"value", number()}});
  const Json pair = object_of({{"from", text()},
                               {"to", text()},
                               {"measured_mm3", number()},
                               {"before_mm3", number()},
                               {"after_mm3", number()}});
  return report_of("platetally.calibrate-pairs/1", {{"machine", text()},
                                                    {"fitted", list_of(fitted)},
                                                    {"pairs", list_of(pair)},
                                                    {"notes", list_of(text())}});
}

Json reconcile() {
  const Json value = object_of({{"key", text()},
                                {"unit", text()},
                                {"predicted", maybe(number())},
                                {"measured", number()},
                                {"low", maybe(number())},
                                {"high", maybe(number())}});
  const Json phase = object_of({{"name", text()},
                                {"predicted_s", number()},
                                {"measured_s", number()},
                                {"predicted_wh", number()},
                                {"measured_wh", number()}});
  const Json explanation = object_of(
      {{"key", text()}, {"value", number()}, {"would_be", number()}, {"explains", number()}});
  return report_of("platetally.reconcile/1", {{"path", text()},
                                              {"machine", text()},
                                              {"log", text()},
                                              {"log_hash", text()},
                                              {"offset_s", number()},
                                              {"drift", number()},
                                              {"correlation", number()},
                                              {"smoothed_s", number()},
                                              {"values", list_of(value)},
                                              {"phases", list_of(phase)},
                                              {"power_error_wh", number()},
                                              {"time_error_wh", number()},
                                              {"explanations", list_of(explanation)},
                                              {"doubts", list_of(text())}});
}

Json circuit() {
  const Json machine = object_of({{"name", text()},
                                  {"count", count()},
                                  {"connected_load_w", number()},
                                  {"cold_start_peak_w", number()},
                                  {"heat_up_s", number()},
                                  {"printing_w", number()},
                                  {"burst_99_w", number()}});
  const Json staggered =
      object_of({{"stagger_s", number()}, {"peak_w", number()}, {"quarter_hour_w", number()}});
  return report_of(
      "platetally.circuit/1",
      {{"circuit_w", number()},
       {"continuous_w", number()},
       {"machines", list_of(machine)},
       {"connected_load_w", number()},
       {"together", object_of({{"peak_w", number()}, {"quarter_hour_w", number()}})},
       {"printing",
        object_of({{"mean_w", number()}, {"burst_95_w", number()}, {"burst_99_w", number()}})},
       {"staggered", maybe(staggered)},
       {"caution", text()}});
}

Json plan() {
  const Json sums = object_of({{"name", text()},
                               {"possible", flag()},
                               {"cost", maybe(number())},
                               {"finish", text()},
                               {"purge_g", number()},
                               {"energy_wh", number()},
                               {"manual_s", number()},
                               {"changes", count()},
                               {"late_jobs", count()},
                               {"late_h", number()}});
  const Json bound = object_of({{"measure", text()},
                                {"unit", text()},
                                {"value", number()},
                                {"bound", number()},
                                {"gap", number()}});
  const Json assignment =
      object_of({{"value", number()}, {"bound", number()}, {"proven", flag()}, {"nodes", count()}});
  const Json proof = object_of({{"bounds", list_of(bound)},
                                {"assignment", assignment},
                                {"steps", count()},
                                {"stopped", flag()}});
  const Json run = object_of({{"id", text()},
                              {"state", one_of({"planned", "printing", "done", "failed"})},
                              {"job", text()},
                              {"machine", text()},
                              {"instance", count()},
                              {"times", count()},
                              {"parts", count()},
                              {"setup", text()},
                              {"start", text()},
                              {"end", text()},
                              {"setup_s", integer()},
                              {"start_s", integer()},
                              {"end_s", integer()},
                              {"unattended_s", number()},
                              {"put_in", list_of(text())},
                              {"loaded", list_of(text())},
                              {"replanned", flag()},
                              {"swaps", count()},
                              {"swap_s", number()},
                              {"cost", maybe(number())},
                              {"purge_g", number()},
                              {"part_g", number()},
                              {"energy_wh", number()}});
  const Json job = object_of({{"name", text()},
                              {"plate", text()},
                              {"copies", count()},
                              {"parts", count()},
                              {"plates", count()},
                              {"done", maybe(text())},
                              {"due", maybe(text())},
                              {"late_s", number()},
                              {"cost", maybe(number())},
                              {"purge_g", number()},
                              {"energy_wh", number()},
                              {"manual_s", number()},
                              {"why_not", list_of(text())}});
  const Json machine = object_of({{"name", text()},
                                  {"instance", count()},
                                  {"plates", count()},
                                  {"printing_s", number()},
                                  {"unattended_s", number()},
                                  {"manual_s", number()},
                                  {"changes", count()},
                                  {"cost", maybe(number())},
                                  {"purge_g", number()},
                                  {"energy_wh", number()}});
  const Json batch = object_of({{"job", text()},
                                {"machine", text()},
                                {"times", count()},
                                {"parts", count()},
                                {"replanned", flag()},
                                {"impossible", text()},
                                {"time_s", number()},
                                {"swaps", count()},
                                {"cost", maybe(number())},
                                {"purge_g", number()},
                                {"energy_wh", number()}});
  const Json power = object_of({{"limit_w", maybe(number())},
                                {"start", text()},
                                {"step_s", count()},
                                {"highest_w", list_of(number())}});
  const Json aim = object_of(
      {{"cost", number()}, {"finish", number()}, {"waste", number()}, {"energy", number()}});
  return report_of("platetally.plan/1", {{"queue", text()},
                                         {"now", text()},
                                         {"now_s", integer()},
                                         {"asked", text()},
                                         {"aim", aim},
                                         {"currency", text()},
                                         {"sums", sums},
                                         {"rules", list_of(sums)},
                                         {"proof", proof},
                                         {"runs", list_of(run)},
                                         {"jobs", list_of(job)},
                                         {"machines", list_of(machine)},
                                         {"batches", list_of(batch)},
                                         {"power", power},
                                         {"assumed", list_of(text())},
                                         {"problems", list_of(text())},
                                         {"caution", text()}});
}

/// Several plates of one container.
Json tallies() {
  Json plate = Json::parse(tally_json_schema());
  plate.erase("$schema");
  plate.erase("$id");
  return report_of("platetally.tallies/1", {{"plates", list_of(plate)}});
}

struct Named {
  const char* name;
  Json (*schema)();
};
constexpr Named kSchemas[] = {{"tallies", tallies},
                              {"order", order},
                              {"compare", compare},
                              {"payback", payback},
                              {"audit", audit},
                              {"audit-line", audit_line},
                              {"calibrate", calibrate},
                              {"calibrate-pairs", calibrate_pairs},
                              {"reconcile", reconcile},
                              {"circuit", circuit},
                              {"plan", plan}};

}  // namespace

std::vector<std::string> json_schema_names() {
  std::vector<std::string> names{"tally"};
  for (const Named& one : kSchemas)
    names.emplace_back(one.name);
  return names;
}

std::string json_schema(std::string_view report) {
  if (report == "tally")
    return tally_json_schema();
  const auto* const found = std::ranges::find(kSchemas, report, &Named::name);
  return found == std::end(kSchemas) ? "" : found->schema().dump(1) + "\n";
}

}  // namespace platetally
