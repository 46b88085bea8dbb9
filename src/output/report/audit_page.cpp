// An audit as a page.
#include <fmt/format.h>

#include <cmath>

#include "output/report/audit_columns.hpp"
#include "output/report/page.hpp"
#include "output/report/strings.hpp"
#include "platetally/audit.hpp"

namespace platetally {

std::string to_html(const AuditReport& report) {
  report::Page page(fmt::format("Audit: {} plates", report.plates),
                    fmt::format("on {}; {} failed, {} over a limit",
                                report::printable(report.machine), report.failed, report.exceeded));
  std::vector<std::pair<std::string, std::string>> figures;
  for (const report::AuditSum& sum : report::audit_sums(report))
    figures.emplace_back(sum.figure, sum.meaning);
  page.figures(figures);
  page.list(report.notes);
  page.heading("What would save most", "over all plates; 'platetally explain CODE' says more");
  std::vector<std::vector<std::string>> rows;
  for (const AuditFindingSum& entry : report.findings)
    rows.push_back({entry.sum.code, fmt::format("{}", entry.plates),
                    report::shown(entry.sum.saves_purge_g, "g"),
                    report::shown(entry.sum.saves_time_s, "s"),
                    report::shown(entry.sum.saves_energy_wh, "Wh"),
                    entry.sum.saves_money ? fmt::format("{:.2f}", *entry.sum.saves_money) : "-"});
  page.table({"finding", "plates", "purge g", "time", "energy Wh", "money"}, rows, 1);

  page.heading("Plates, worst first", fmt::format("by {}", report.sort));
  const std::vector<report::AuditColumn> columns = report::audit_columns(report);
  std::vector<std::string> head{"plate", "purge from first to last layer"};
  for (const report::AuditColumn& column : columns)
    head.push_back(column.unit.empty() || column.unit == "s"
                       ? column.title
                       : fmt::format("{} {}", column.title, column.unit));
  page.begin_plate_table(head);
  for (const AuditRow& row : report.rows) {
    if (!row.error.empty())
      continue;
    std::vector<std::pair<std::string, double>> cells;
    for (const report::AuditColumn& column : columns) {
      const double value = report::value_of(row, column);
      cells.emplace_back(report::shown(value, column.unit), value);
    }
    page.plate_row(report::name_of(row), row.purge_strip_g, cells);
  }
  page.end_plate_table();

  std::vector<std::string> lines;
  for (const AuditRow& row : report.rows) {
    if (row.limits_fail)
      lines.push_back(fmt::format("{}: {}", report::name_of(row), row.fails_because));
    for (const LimitBreach& breach : row.breaches)
      lines.push_back(fmt::format("{}: {} is {}, over the limit {}", report::name_of(row),
                                  breach.key, report::exact_number(breach.value),
                                  report::exact_number(breach.limit)));
  }
  if (!lines.empty()) {
    page.heading("Over a limit");
    page.list(lines);
  }
  lines.clear();
  for (const AuditRow& row : report.rows)
    if (!row.error.empty())
      lines.push_back(fmt::format("{}: {}", report::name_of(row), row.error));
  for (const auto& [path, error] : report.faults)
    lines.push_back(fmt::format("{}: {}", path, error));
  if (!lines.empty()) {
    page.heading("Failed");
    page.list(lines);
  }
  return page.take();
}

}  // namespace platetally
