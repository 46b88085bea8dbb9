#include "output/audit/lines.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <nlohmann/json.hpp>
#include <stdexcept>

#include "output/report/lookup.hpp"
#include "output/report/strings.hpp"
#include "platetally/report.hpp"

namespace platetally::audit_stage {

using nlohmann::json;
using report::json_string;

std::string line_of(const Begin& begin) {
  std::vector<std::string> limits;
  for (const auto& [key, limit] : begin.wanted.limits)
    limits.push_back(fmt::format("[{}, {}]", json_string(key), report::exact_number(limit)));
  return fmt::format(
      R"({{"type": "begin", "schema": "{}", "made_from": {}, "machine": {}, "machine_hash": {}, "version": {}, "options": {}, "setting": {}, "files": {}, "listing": {}, "shard": {}, "shards": {}, "sort": {}, "value": {}, "partial": {}, "strict": {}, "limits": [{}]}})",
      kAuditSchema, to_json(begin.made_from), json_string(begin.setting.machine),
      json_string(begin.setting.machine_hash), json_string(begin.setting.version),
      json_string(begin.setting.options), json_string(begin.setting.hash), begin.files,
      json_string(begin.listing), begin.shard, begin.shards, json_string(begin.wanted.sort),
      json_string(begin.wanted.value ? name_of(*begin.wanted.value) : ""), begin.wanted.partial,
      begin.wanted.strict, fmt::join(limits, ", "));
}

Begin begin_of(std::string_view line) {
  const auto record = nlohmann::ordered_json::parse(line, nullptr, false);
  if (!record.is_object() || record.value("type", nlohmann::ordered_json()) != "begin")
    throw std::invalid_argument("expected the beginning of an audit in JSON lines");
  if (record.value("schema", nlohmann::ordered_json()) != kAuditSchema)
    throw std::invalid_argument(fmt::format("expected the schema {}", kAuditSchema));
  try {
    Begin begin;
    for (const auto& machine : record.at("made_from").at("machines"))
      begin.made_from.add(MachineUsed{machine.at("name").get<std::string>(),
                                      machine.at("hash").get<std::string>()});
    for (const auto& [name, value] : record.at("made_from").at("options").items())
      begin.made_from.set(name, value.get<std::string>());
    begin.setting = {
        record.at("setting").get<std::string>(), record.at("machine").get<std::string>(),
        record.at("machine_hash").get<std::string>(), record.at("version").get<std::string>(),
        record.at("options").get<std::string>()};
    begin.files = record.at("files").get<std::uint64_t>();
    begin.listing = record.at("listing").get<std::string>();
    begin.wanted.value = aim_named(record.at("value").get<std::string>());
    begin.wanted.partial = record.at("partial").get<bool>();
    begin.wanted.strict = record.at("strict").get<bool>();
    begin.shard = record.at("shard").get<int>();
    begin.shards = record.at("shards").get<int>();
    begin.wanted.sort = report::full_key(record.at("sort").get<std::string>());
    for (const auto& limit : record.at("limits"))
      begin.wanted.limits.emplace_back(report::full_key(limit.at(0).get<std::string>()),
                                       limit.at(1).get<double>());
    return begin;
  } catch (const json::exception&) {
    throw std::invalid_argument("the beginning of the audit is not as platetally writes it");
  }
}

std::string line_of_fault(const std::string& path, const std::string& error) {
  return fmt::format(R"({{"type": "unread", "path": {}, "error": {}}})", json_string(path),
                     json_string(error));
}

std::string line_of_end(const AuditReport& report) {
  return fmt::format(
      R"({{"type": "end", "plates": {}, "failed": {}, "over_limit": {}, "not_passed": {}, "passed_over": {}}})",
      report.plates, report.failed, report.exceeded, report.not_passed, report.passed_over);
}

}  // namespace platetally::audit_stage
