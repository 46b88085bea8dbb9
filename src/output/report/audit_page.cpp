// An audit as a page: which plates are worst, and what would save most.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/counted.hpp"
#include "output/report/audit_columns.hpp"
#include "output/report/labels.hpp"
#include "output/report/page.hpp"
#include "output/report/page_parts.hpp"
#include "output/report/page_table.hpp"
#include "output/report/strings.hpp"
#include "platetally/audit.hpp"

namespace platetally {

namespace {

using report::duration;
using report::Figure;
using report::Hue;
using report::Row;
using report::with_unit;

constexpr std::size_t kWorstShown = 3;

double total(const std::vector<double>& totals, std::string_view key) {
  const auto& keys = audit_keys();
  const auto place = static_cast<std::size_t>(std::ranges::find(keys, key) - keys.begin());
  return place < totals.size() ? totals[place] : std::nan("");
}

std::string plate_name(const AuditLargest::Plate& plate) {
  AuditRow row;
  row.path = plate.path;
  row.member = plate.member;
  return report::short_name(report::name_of(row));
}

report::PageVerdict verdict_of(const AuditReport& report) {
  const std::uint64_t cannot = report.cannot;
  const std::uint64_t look = report.look;
  report::PageVerdict verdict;
  if (cannot > 0 || report.plates == 0)
    verdict.grade = Grade::cannot;
  else if (look + report.exceeded + report.failed > 0)
    verdict.grade = Grade::look;
  if (report.plates == 0)
    verdict.words = "No plate could be read";
  else if (cannot > 0)
    verdict.words =
        fmt::format("{} of {} cannot be printed", cannot, base::counted(report.plates, "plate"));
  else if (look > 0)
    verdict.words = fmt::format("Look at {} of {}", look, base::counted(report.plates, "plate"));
  else if (report.exceeded > 0)
    verdict.words = fmt::format("{} of {} over a limit", report.exceeded,
                                base::counted(report.plates, "plate"));
  else
    verdict.words = fmt::format("{} ready to print", base::counted(report.plates, "plate"));
  if (report.exceeded > 0)
    verdict.reasons.push_back(cannot + look > 0 ? fmt::format("{} over a limit", report.exceeded)
                                                : "all can be printed");
  if (cannot > 0 && look > 0)
    verdict.reasons.push_back(fmt::format("{} more to look at before printing", look));
  if (report.failed > 0)
    verdict.reasons.push_back(
        fmt::format("{} could not be read", base::counted(report.failed, "file")));
  for (const std::string& note : report.notes)
    verdict.reasons.push_back(note);
  verdict.link = "plates";
  verdict.link_words = "see the plates";
  return verdict;
}

/// A sum, and the plates that take most of it.
Figure sum_figure(const AuditReport& report, std::string name, std::string_view key,
                  std::string_view unit, Hue hue) {
  const double sum = total(report.totals, key);
  Figure figure{std::move(name), std::isnan(sum) ? "?" : with_unit(sum, unit), "", {}, {}, {}, ""};
  const auto largest = std::ranges::find(report.largest, key, &AuditLargest::key);
  if (largest == report.largest.end())
    return figure;
  for (std::size_t i = 0; i < std::min(kWorstShown, largest->plates.size()); ++i) {
    const double value = largest->plates[i].value;
    figure.beside.push_back({plate_name(largest->plates[i]), value,
                             key == "swaps" ? fmt::format("{:.0f}", value) : with_unit(value, unit),
                             hue});
  }
  if (largest->plates.size() > kWorstShown)
    figure.aside = "in all; the largest:";
  return figure;
}

std::vector<Figure> figures_of(const AuditReport& report) {
  std::vector<Figure> figures{
      sum_figure(report, "Time", "time_s", "s", Hue::print),
      sum_figure(report, "Purge", "purge_g", "g", Hue::purge),
      sum_figure(report, "Energy at the wall", "energy_wh", "Wh", Hue::bed)};
  const bool has_cost = !std::isnan(total(report.totals, "cost"));
  figures.push_back(has_cost ? sum_figure(report, "Cost", "cost", "", Hue::machine)
                             : sum_figure(report, "Swaps", "swaps", "", Hue::swap));
  if (has_cost)
    figures.back().value = fmt::format("{:.2f}", total(report.totals, "cost"));
  else
    figures.back().value = fmt::format("{:.0f}", total(report.totals, "swaps"));
  return figures;
}

std::vector<report::Lever> levers_of(const AuditReport& report) {
  std::vector<report::Lever> levers;
  for (const AuditFindingSum& entry : report.findings) {
    report::Lever lever;
    lever.advice = report::label_of_code(entry.sum.code);
    lever.why = fmt::format("on {}", base::counted(entry.plates, "plate"));
    lever.trial = fmt::format("'platetally explain {}' says more", entry.sum.code);
    const auto add = [&](double saves, const std::string& size) {
      if (std::isfinite(saves) && saves != 0.0 &&
          size.find_first_of("123456789") != std::string::npos)
        (saves > 0.0 ? lever.gains : lever.losses)
            .push_back((saves > 0.0 ? "\xE2\x88\x92" : "+") + size);
    };
    if (entry.sum.saves_money)
      add(*entry.sum.saves_money, fmt::format("{:.2f}", std::abs(*entry.sum.saves_money)));
    add(entry.sum.saves_time_s, duration(std::abs(entry.sum.saves_time_s)));
    add(entry.sum.saves_purge_g, with_unit(std::abs(entry.sum.saves_purge_g), "g"));
    add(entry.sum.saves_energy_wh, with_unit(std::abs(entry.sum.saves_energy_wh), "Wh"));
    lever.is_minor = lever.gains.empty();
    levers.push_back(std::move(lever));
  }
  return levers;
}

std::string over_limit(const AuditRow& row) {
  std::string words;
  if (row.limits_fail)
    words = row.fails_because;
  for (const LimitBreach& breach : row.breaches) {
    const std::string unit = report::unit_of_total(breach.key);
    words += fmt::format("{}{} {} over the limit of {}", words.empty() ? "" : "; ",
                         report::label_of_total(breach.key), with_unit(breach.value, unit),
                         with_unit(breach.limit, unit));
  }
  return words;
}

report::PageTable plates_of(const AuditReport& report) {
  const std::vector<report::AuditColumn> columns = report::audit_columns(report);
  report::PageTable table;
  table.caption = "plates, worst first";
  table.filter = "plates";
  table.is_sortable = true;
  table.columns = {report::names_column("plate"), report::words_column("verdict")};
  for (std::size_t i = 0; i < columns.size(); ++i)
    table.columns.push_back({columns[i].key == report::AuditColumn::npos
                                 ? report::label_of_total(columns[i].title)
                                 : columns[i].title,
                             columns[i].unit == "s" ? "" : columns[i].unit, false, i == 0});
  table.columns.push_back(
      {"purge, first to last layer, each plate to its own scale", "", false, false, true});
  for (const AuditRow& row : report.rows) {
    if (!row.error.empty())
      continue;
    report::TableRow made;
    made.cells = {{report::name_of(row)},
                  {row.verdict == "look"     ? "look first"
                   : row.verdict == "cannot" ? "cannot"
                                             : row.verdict}};
    for (const report::AuditColumn& column : columns) {
      const double value = report::value_of(row, column);
      made.cells.push_back({report::shown(value, column.unit), value});
    }
    made.cells.push_back({"", {}, row.purge_strip_g});
    made.mark = over_limit(row);
    if (made.mark.empty() && row.verdict == "cannot")
      made.mark = "cannot be printed as it is";
    table.rows.push_back(std::move(made));
  }
  return table;
}

}  // namespace

std::string to_html(const AuditReport& report, const PageStamp& stamp) {
  report::Page page({fmt::format("{} on {}", base::counted(report.plates, "plate"), report.machine),
                     "Audit: which plates are worst, and what would save most",
                     {fmt::format("worst first by {}", report::label_of_total(report.sort))},
                     stamp});
  page.verdict(verdict_of(report));
  page.figures(figures_of(report));
  page.begin_row(Row::wide_slim);
  page.begin_card("Plates", fmt::format("worst first by {}", report::label_of_total(report.sort)),
                  "plates");
  if (report.rows_in_all > report.rows.size())
    page.paragraph(fmt::format("The worst of {}, and those that do not pass; --format csv has all.",
                               base::counted(report.plates, "plate")));
  page.table(plates_of(report));
  page.end_card();
  page.begin_card("What would save most", "over all plates", "levers");
  page.levers(levers_of(report), "Nothing was found that costs more than it has to.", 4);
  page.end_card();
  page.end_row();
  std::vector<std::string> lines;
  for (const AuditRow& row : report.rows)
    if (!row.error.empty())
      lines.push_back(fmt::format("{}: {}", report::name_of(row), row.error));
  for (const auto& [path, error] : report.faults)
    lines.push_back(fmt::format("{}: {}", path, error));
  if (report.rows_in_all > report.rows.size() && report.failed > lines.size())
    lines.push_back(fmt::format("{} failed in all; --format csv has them", report.failed));
  if (!lines.empty()) {
    page.begin_row(Row::one);
    page.begin_card("Failed", "not in the sums", "failed");
    page.list(lines);
    page.end_card();
    page.end_row();
  }
  return page.take();
}

}  // namespace platetally
