// An audit as JSON and as comma-separated values.
#include <fmt/format.h>
#include <fmt/ranges.h>

#include "output/report/strings.hpp"
#include "platetally/audit.hpp"
#include "platetally/report.hpp"

namespace platetally {

namespace {

using report::exact_number;
using report::json_string;

std::string numbers(const std::vector<double>& values) {
  std::vector<std::string> all;
  all.reserve(values.size());
  for (const double value : values)
    all.push_back(exact_number(value));
  return fmt::format("[{}]", fmt::join(all, ", "));
}

std::string totals_json(const std::vector<double>& totals) {
  const std::vector<std::string>& keys = audit_keys();
  std::vector<std::string> all;
  for (std::size_t i = 0; i < keys.size() && i < totals.size(); ++i)
    all.push_back(fmt::format("{}: {}", json_string(keys[i]), exact_number(totals[i])));
  return fmt::format("{{{}}}", fmt::join(all, ", "));
}

std::string strings(const std::vector<std::string>& values) {
  std::vector<std::string> all;
  all.reserve(values.size());
  for (const std::string& value : values)
    all.push_back(json_string(value));
  return fmt::format("[{}]", fmt::join(all, ", "));
}

/// A text, or null where it is not known.
std::string known(const std::string& text) {
  return text.empty() ? "null" : json_string(text);
}

std::string row_json(const AuditRow& row) {
  if (!row.error.empty())
    return fmt::format(R"({{"path": {}, "content_hash": {}, "member": {}, "error": {}}})",
                       json_string(row.path), known(row.content_hash), json_string(row.member),
                       json_string(row.error));
  std::vector<std::string> codes;
  for (const AuditFinding& finding : row.findings)
    codes.push_back(finding.code);
  std::vector<std::string> reasons;
  for (const VerdictReason& reason : row.reasons)
    reasons.push_back(fmt::format(R"({{"code": {}, "grade": {}, "text": {}}})",
                                  json_string(reason.code), json_string(name_of(reason.grade)),
                                  json_string(reason.text)));
  std::vector<std::string> breaches;
  for (const LimitBreach& breach : row.breaches)
    breaches.push_back(fmt::format(R"({{"key": {}, "value": {}, "limit": {}}})",
                                   json_string(breach.key), exact_number(breach.value),
                                   exact_number(breach.limit)));
  return fmt::format(
      R"({{"path": {}, "content_hash": {}, "member": {}, "error": null, "machine": {}, "verdict": {}, "verdict_because": [{}], )"
      R"("sorted_by": {}, "totals": {}, )"
      R"("purge_strip_g": {}, "findings": {}, "left_out": {}, "warnings": {}, )"
      R"("unknown_words": {}, "partial": {}, "over_limit": [{}], "limits_not_checked": {}, )"
      R"("fails_because": {}}})",
      json_string(row.path), known(row.content_hash), json_string(row.member),
      json_string(row.machine), json_string(row.verdict), fmt::join(reasons, ", "),
      row.sort_value ? exact_number(*row.sort_value) : "null", totals_json(row.totals),
      numbers(row.purge_strip_g), strings(codes), row.left_out, row.warnings, row.unknown_words,
      row.partial, fmt::join(breaches, ", "), strings(row.limit_errors),
      row.fails_because.empty() ? "null" : json_string(row.fails_because));
}

std::string finding_json(const AuditFindingSum& entry) {
  return fmt::format(R"({{"code": {}, "plates": {}, "saves_time_s": {}, "saves_purge_g": {}, )"
                     R"("saves_energy_wh": {}, "saves_money": {}}})",
                     json_string(entry.sum.code), entry.plates,
                     exact_number(entry.sum.saves_time_s), exact_number(entry.sum.saves_purge_g),
                     exact_number(entry.sum.saves_energy_wh),
                     entry.sum.saves_money ? exact_number(*entry.sum.saves_money) : "null");
}

std::string list(const std::vector<std::string>& rows) {
  return rows.empty() ? "[]" : fmt::format("[\n    {}\n  ]", fmt::join(rows, ",\n    "));
}

std::string faults_json(const AuditReport& report) {
  std::vector<std::string> faults;
  for (const auto& [path, error] : report.faults)
    faults.push_back(
        fmt::format(R"({{"path": {}, "error": {}}})", json_string(path), json_string(error)));
  return list(faults);
}

std::vector<std::string> groups_json(const HistoryReport& report) {
  std::vector<std::string> groups;
  for (const HistoryGroup& group : report.groups)
    groups.push_back(fmt::format(
        R"({{"machine": {}, "machine_hash": {}, "version": {}, "options": {}, "currency": {}, )"
        R"("plates": {}, "totals": {}}})",
        known(group.machine), known(group.machine_hash), known(group.version),
        json_string(group.options), known(group.currency), group.plates,
        totals_json(group.totals)));
  return groups;
}

std::vector<std::string> printed_json(const HistoryReport& report) {
  std::vector<std::string> weeks;
  for (const PrintedWeek& week : report.printed)
    weeks.push_back(fmt::format(
        R"({{"monday": "{}", "machine": {}, "prints": {}, "failed": {}, "good_parts": {}, )"
        R"("prints_without_good_parts": {}, "swaps": {}, "hours": {}, "part_g": {}, )"
        R"("purge_g": {}, "energy_kwh": {}, "cost": {}, "currency": {}}})",
        week.monday, json_string(week.machine), week.prints, week.failed, week.good_parts,
        week.without_good, exact_number(week.swaps), exact_number(week.hours),
        exact_number(week.part_g), exact_number(week.purge_g), exact_number(week.energy_kwh),
        week.cost ? exact_number(*week.cost) : "null", known(week.currency)));
  return weeks;
}

using report::csv_text;

}  // namespace

std::string json_head(const AuditReport& report) {
  std::vector<std::string> findings;
  for (const AuditFindingSum& entry : report.findings)
    findings.push_back(finding_json(entry));
  return fmt::format(
      "{{\n  \"schema\": \"platetally.audit/1\",\n  \"made_from\": {},\n  \"machine\": {},\n  "
      "\"sort\": {},\n  "
      "\"value\": {},\n  \"currency\": {},\n  \"plates\": {},\n  \"failed\": {},\n  "
      "\"over_limit\": {},\n  \"not_passed\": {},\n  \"passed_over\": {},\n  \"notes\": {},\n  "
      "\"totals\": {},\n  \"findings\": {},\n  \"rows\": [",
      to_json(report.made_from), json_string(report.machine), json_string(report.sort),
      json_string(report.value ? name_of(*report.value) : ""),
      report.currency.empty() ? "null" : json_string(report.currency), report.plates, report.failed,
      report.exceeded, report.not_passed, report.passed_over, strings(report.notes),
      totals_json(report.totals), list(findings));
}

std::string json_row(const AuditRow& row, bool is_first) {
  return (is_first ? "\n    " : ",\n    ") + row_json(row);
}

std::string json_tail(const AuditReport& report, bool has_rows) {
  return fmt::format("{}],\n  \"unread\": {}\n}}\n", has_rows ? "\n  " : "", faults_json(report));
}

std::string to_json(const AuditReport& report) {
  std::string out = json_head(report);
  for (const AuditRow& row : report.rows)
    out += json_row(row, &row == &report.rows.front());
  return out + json_tail(report, !report.rows.empty());
}

std::string to_json(const HistoryReport& report) {
  std::vector<std::string> weeks;
  for (const HistoryWeek& week : report.weeks)
    weeks.push_back(fmt::format(
        R"({{"monday": "{}", "group": {}, "plates": {}, "swaps": {}, "hours": {}, "part_g": {}, "purge_g": {}, "energy_kwh": {}}})",
        week.monday, week.group, week.plates, week.swaps, exact_number(week.hours),
        exact_number(week.part_g), exact_number(week.purge_g), exact_number(week.energy_kwh)));
  std::string out = to_json(report.audit);
  out.resize(out.rfind("\n}"));
  return out + fmt::format(",\n  \"groups\": {},\n  \"weeks\": {},\n  \"printed_weeks\": {}\n}}\n",
                           list(groups_json(report)), list(weeks), list(printed_json(report)));
}

std::string csv_head() {
  std::string out =
      "path,member,error,verdict,verdict_because,left_out,warnings,unknown_words,partial,over_"
      "limit,"
      "fails_because";
  for (const std::string& key : audit_keys())
    out += ',' + key;
  return out + '\n';
}

std::string csv_row(const AuditRow& row) {
  std::vector<std::string> reasons;
  for (const VerdictReason& reason : row.reasons)
    reasons.push_back(reason.code);
  std::vector<std::string> over;
  for (const LimitBreach& breach : row.breaches)
    over.push_back(breach.key);
  std::string out =
      fmt::format("{},{},{},{},{},{},{},{},{:d},{},{}", csv_text(row.path), csv_text(row.member),
                  csv_text(row.error), csv_text(row.verdict),
                  csv_text(fmt::format("{}", fmt::join(reasons, " "))), row.left_out, row.warnings,
                  row.unknown_words, row.partial, csv_text(fmt::format("{}", fmt::join(over, " "))),
                  csv_text(row.fails_because));
  for (std::size_t i = 0; i < audit_keys().size(); ++i) {
    const std::string value = i < row.totals.size() ? exact_number(row.totals[i]) : "null";
    out += ',' + (value == "null" ? "" : value);
  }
  return out + '\n';
}

std::string csv_tail(const AuditReport& report) {
  // What was not looked into has a row, too.
  std::string out;
  for (const auto& [path, error] : report.faults)
    out += fmt::format("{},,{},,,0,0,0,0,,{}\n", csv_text(path), csv_text(error),
                       std::string(audit_keys().size(), ','));
  return out;
}

std::string to_csv(const AuditReport& report) {
  std::string out = csv_head();
  for (const AuditRow& row : report.rows)
    out += csv_row(row);
  return out + csv_tail(report);
}

}  // namespace platetally
