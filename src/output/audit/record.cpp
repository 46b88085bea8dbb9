#include "output/audit/record.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <nlohmann/json.hpp>

#include "output/report/fields.hpp"
#include "output/report/flat.hpp"
#include "output/report/strings.hpp"
#include "platetally/account.hpp"

namespace platetally::audit_stage {

namespace {

using nlohmann::json;
using report::exact_number;
using report::json_string;

constexpr std::size_t kStripParts = 24;
constexpr double kNotKnown = std::numeric_limits<double>::quiet_NaN();

/// Purge along the plate; a layer that lies over the border of two parts counts to both by share.
std::vector<double> strip_of(const std::vector<LayerAccount>& layers) {
  const std::size_t parts = std::min(kStripParts, layers.size());
  std::vector<double> strip(parts, 0.0);
  for (std::size_t i = 0; i < layers.size(); ++i) {
    const double from = static_cast<double>(i * parts) / static_cast<double>(layers.size());
    const double to = static_cast<double>((i + 1) * parts) / static_cast<double>(layers.size());
    const auto first = static_cast<std::size_t>(from);
    const double inside = std::min(to, static_cast<double>(first + 1)) - from;
    strip[first] += layers[i].purge_g * inside / (to - from);
    if (first + 1 < parts)
      strip[first + 1] += layers[i].purge_g * (1.0 - inside / (to - from));
  }
  return strip;
}

std::string finding_json(const Finding& finding) {
  return fmt::format(
      R"({{"code": {}, "spoils": {}, "saves_time_s": {}, "saves_purge_g": {}, "saves_energy_wh": {}, "saves_money": {}}})",
      json_string(finding.code), finding.severity != Severity::note,
      exact_number(finding.saves_time_s), exact_number(finding.saves_purge_g),
      exact_number(finding.saves_energy_wh),
      finding.saves_money ? exact_number(*finding.saves_money) : "null");
}

std::string reason_json(const VerdictReason& reason) {
  return fmt::format(R"({{"code": {}, "grade": {}, "text": {}}})", json_string(reason.code),
                     json_string(name_of(reason.grade)), json_string(reason.text));
}

double number_in(const json& object, const std::string& key) {
  const auto found = object.find(key);
  return found != object.end() && found->is_number() ? found->get<double>() : kNotKnown;
}

std::string text_in(const json& object, const char* key) {
  const auto found = object.find(key);
  return found != object.end() && found->is_string() ? found->get<std::string>() : "";
}

std::uint64_t count_in(const json& object, const char* key) {
  const auto found = object.find(key);
  return found != object.end() && found->is_number_unsigned() ? found->get<std::uint64_t>() : 0;
}

/// The value under a key with its section; rows that are not there count as zero.
std::optional<double> wanted_number(const json& values, const std::string& key) {
  const auto found = values.find(key);
  if (found != values.end())
    return found->is_number() ? std::optional(found->get<double>()) : std::nullopt;
  if (!report::is_flat(key) || key.starts_with("totals.") || key.starts_with("job."))
    return std::nullopt;
  return 0.0;
}

void read_findings(const json& record, AuditRow& row) {
  const auto list = record.find("findings");
  if (list == record.end() || !list->is_array())
    return;
  for (const json& entry : *list) {
    if (!entry.is_object())
      continue;
    AuditFinding finding;
    finding.code = text_in(entry, "code");
    finding.spoils = entry.value("spoils", json()) == true;
    const auto saving = [&](const char* key) {
      const double value = number_in(entry, key);
      return std::isnan(value) ? 0.0 : value;
    };
    finding.saves_time_s = saving("saves_time_s");
    finding.saves_purge_g = saving("saves_purge_g");
    finding.saves_energy_wh = saving("saves_energy_wh");
    if (const double money = number_in(entry, "saves_money"); !std::isnan(money))
      finding.saves_money = money;
    row.findings.push_back(std::move(finding));
  }
}

void read_reasons(const json& record, AuditRow& row) {
  const auto list = record.find("verdict_because");
  if (list == record.end() || !list->is_array())
    return;
  for (const json& entry : *list) {
    if (!entry.is_object())
      continue;
    const std::string grade = text_in(entry, "grade");
    row.reasons.push_back({text_in(entry, "code"),
                           grade == name_of(Grade::cannot) ? Grade::cannot
                           : grade == name_of(Grade::look) ? Grade::look
                                                           : Grade::ready,
                           text_in(entry, "text")});
  }
}

std::string times(std::uint64_t count, std::string_view one, std::string_view many) {
  return fmt::format("{} {}", count, count == 1 ? one : many);
}

/// Why a plate does not pass, limits apart.
std::string failure_of(const AuditRow& row, const Wanted& wanted) {
  if (row.partial && !wanted.limits.empty())
    return "is a part of a plate; no limit passes on it";
  if (row.left_out > 0 && !wanted.partial)
    return times(row.left_out, "thing was", "things were") +
           " left out of the account; --partial lets it pass";
  if (row.warnings > 0 && wanted.strict)
    return times(row.warnings, "warning", "warnings") + "; --strict lets none pass";
  return {};
}

void read_values(const json& values, const Wanted& wanted, AuditRow& row) {
  for (const std::string& key : audit_keys())
    row.totals.push_back(number_in(values, "totals." + key));
  row.partial = number_in(values, "reading.partial") == 1.0;
  row.sort_value = wanted_number(values, wanted.sort);
  for (const auto& [key, limit] : wanted.limits) {
    const std::optional<double> value = wanted_number(values, key);
    if (!value)
      row.limit_errors.push_back(
          fmt::format("the limit {} of '{}' cannot be checked: its value is not known",
                      exact_number(limit), key));
    else if (*value > limit)
      row.breaches.push_back({key, *value, limit});
  }
}

}  // namespace

std::vector<std::string> Wanted::keys() const {
  std::vector<std::string> all{sort};
  for (const auto& [key, limit] : limits)
    all.push_back(key);
  std::sort(all.begin(), all.end());
  all.erase(std::unique(all.begin(), all.end()), all.end());
  return all;
}

std::string body_of(const Account& account, const std::string& member,
                    const std::vector<std::string>& keys, const std::string& machine_hash) {
  std::vector<std::string> strip;
  for (const double purge_g : strip_of(account.layers))
    strip.push_back(exact_number(purge_g));
  std::vector<std::string> findings;
  for (const Finding& finding : account.findings)
    findings.push_back(finding_json(finding));
  std::vector<std::string> reasons;
  for (const VerdictReason& reason : account.verdict.reasons)
    reasons.push_back(reason_json(reason));
  std::uint64_t left_out = 0;
  std::uint64_t warnings = 0;
  for (const Diagnostic& diagnostic : account.diagnostics) {
    left_out += diagnostic.severity == Severity::error ? diagnostic.count : 0;
    warnings += diagnostic.severity == Severity::warning ? diagnostic.count : 0;
  }
  std::uint64_t unknown = 0;
  for (const UnaccountedWord& word : account.unaccounted)
    unknown += word.count;
  return fmt::format(
      R"({{"member": {}, "machine": {}, "machine_hash": {}, "content_hash": {}, "currency": {}, "verdict": {}, "verdict_because": [{}], "left_out": {}, "warnings": {}, "unknown_words": {}, "findings": [{}], "purge_strip_g": [{}], "values": {}}})",
      json_string(member), json_string(account.machine), json_string(machine_hash),
      json_string(account.made_from.plates.empty() ? "" : account.made_from.plates.front().hash),
      json_string(account.cost ? account.cost->currency : ""),
      json_string(name_of(account.verdict.grade)), fmt::join(reasons, ", "), left_out, warnings,
      unknown, fmt::join(findings, ", "), fmt::join(strip, ", "), report::flat_json(account, keys));
}

std::string body_of_error(const std::string& member, const std::string& error) {
  return fmt::format(R"({{"member": {}, "error": {}}})", json_string(member), json_string(error));
}

std::string line_of(std::uint64_t index, const std::string& path, const std::string& body) {
  return fmt::format(R"({{"type": "plate", "index": {}, "path": {}, {})", index, json_string(path),
                     body.substr(1));
}

std::optional<AuditRow> row_of(std::string_view line, const Wanted& wanted) {
  const json record = json::parse(line, nullptr, false);
  if (!record.is_object() || text_in(record, "type") != "plate")
    return std::nullopt;
  AuditRow row;
  row.index = count_in(record, "index");
  row.path = text_in(record, "path");
  row.member = text_in(record, "member");
  row.error = text_in(record, "error");
  row.verdict = text_in(record, "verdict");
  read_reasons(record, row);
  row.machine = text_in(record, "machine");
  row.machine_hash = text_in(record, "machine_hash");
  row.content_hash = text_in(record, "content_hash");
  row.currency = text_in(record, "currency");
  const auto values = record.find("values");
  if (values != record.end() && values->is_object())
    read_values(*values, wanted, row);
  else if (row.error.empty())
    return std::nullopt;
  if (const auto strip = record.find("purge_strip_g"); strip != record.end() && strip->is_array())
    for (std::size_t i = 0; i < std::min(strip->size(), kStripParts); ++i)
      row.purge_strip_g.push_back((*strip)[i].is_number() ? (*strip)[i].get<double>() : 0.0);
  read_findings(record, row);
  row.left_out = count_in(record, "left_out");
  row.warnings = count_in(record, "warnings");
  row.unknown_words = count_in(record, "unknown_words");
  row.fails_because = row.error.empty() ? failure_of(row, wanted) : "";
  row.limits_fail = !row.fails_because.empty();
  return row;
}

bool holds_all(std::string_view body, const Wanted& wanted) {
  const std::vector<std::string> keys = wanted.keys();
  return std::all_of(keys.begin(), keys.end(), [&](const std::string& key) {
    return report::is_flat(key) || body.find(json_string(key) + ": ") != std::string_view::npos;
  });
}

}  // namespace platetally::audit_stage
