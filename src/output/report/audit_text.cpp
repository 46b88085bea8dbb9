// An audit for people: totals, the worst plates, findings, what failed.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "output/report/audit_columns.hpp"
#include "output/report/strings.hpp"
#include "output/report/text_table.hpp"
#include "platetally/audit.hpp"

namespace platetally {

namespace {

using report::flush_right;

constexpr int kWide = 100;      // columns of a line, where the last cell can be broken
constexpr int kNarrowest = 32;  // of the last cell, however much stands before it

/// A word that is wider than a line is shortened in its middle.
std::string shortened(const std::string& word, int room) {
  if (report::display_width(word) <= room)
    return word;
  const auto is_inside = [](char c) { return (static_cast<unsigned char>(c) & 0xC0U) == 0x80U; };
  const auto half = static_cast<std::size_t>((room - 3) / 2);
  std::size_t front = half;
  while (front > 0 && is_inside(word[front]))
    --front;
  std::size_t back = word.size() - half;
  while (back < word.size() && is_inside(word[back]))
    ++back;
  return word.substr(0, front) + "..." + word.substr(back);
}

/// In lines of at most `room` columns: a line ends behind / - or _, or where a line end stands; one
/// that is not needed becomes a blank.
std::vector<std::string> wrapped(const std::string& text, int room) {
  std::vector<std::string> lines{""};
  bool is_parted = false;
  for (std::size_t from = 0; from < text.size();) {
    const std::size_t end = std::min(text.find_first_of("/-_\n", from), text.size() - 1) + 1;
    const bool parts = text[end - 1] == '\n';
    const std::string word = shortened(text.substr(from, end - from - (parts ? 1 : 0)), room);
    const int width = report::display_width(word) + (is_parted ? 1 : 0);
    if (!lines.back().empty() && report::display_width(lines.back()) + width > room)
      lines.emplace_back();
    else if (is_parted)
      lines.back() += ' ';
    lines.back() += word;
    is_parted = parts;
    from = end;
  }
  return lines;
}

/// Columns as wide as they have to be; the last one is flush left, and goes on below where a line
/// would be too wide.
std::string laid_out(const std::vector<std::vector<std::string>>& lines) {
  std::vector<int> widths;
  for (const auto& line : lines)
    for (std::size_t i = 0; i < line.size(); ++i) {
      if (i >= widths.size())
        widths.push_back(0);
      widths[i] = std::max(widths[i], report::display_width(line[i]));
    }
  int before = 2;
  for (std::size_t i = 0; i + 1 < widths.size(); ++i)
    before += widths[i] + 2;
  std::string out;
  const auto end_line = [&] {
    out.erase(out.find_last_not_of(' ') + 1);
    out += '\n';
  };
  for (const auto& line : lines) {
    for (std::size_t i = 0; i + 1 < line.size(); ++i)
      out += "  " + flush_right(line[i], widths[i]);
    std::string lead = "  ";
    for (const std::string& part : wrapped(line.back(), std::max(kNarrowest, kWide - before))) {
      out += lead + part;
      end_line();
      lead = std::string(static_cast<std::size_t>(before), ' ');
    }
  }
  return out;
}

std::string plural(std::uint64_t count, const char* one, const char* many) {
  return fmt::format("{} {}", count, count == 1 ? one : many);
}

std::string sum_line(const AuditReport& report, const char* parted = ", ") {
  std::string out;
  for (const report::AuditSum& sum : report::audit_sums(report))
    out += fmt::format("{}{} {}", out.empty() ? "" : parted, sum.figure, sum.meaning);
  return out;
}

/// What is wrong with a plate, behind its name; each on a line of its own where there is no room.
std::string marks_of(const AuditRow& row) {
  std::string marks = row.verdict == name_of(Grade::cannot) ? "\nCANNOT BE PRINTED" : "";
  if (!row.breaches.empty())
    marks += "\nOVER THE LIMIT";
  if (row.partial)
    marks += "\n(a part of it)";
  else if (row.left_out > 0)
    marks += "\n(something left out)";
  return marks;
}

std::string worst(const AuditReport& report, std::size_t most) {
  const std::vector<report::AuditColumn> columns = report::audit_columns(report);
  std::vector<std::vector<std::string>> lines(2);
  for (const report::AuditColumn& column : columns) {
    lines[0].push_back(column.title);
    lines[1].push_back(column.unit == "s" ? "" : column.unit);
  }
  for (const char* title : {"verdict", "plate"}) {
    lines[0].emplace_back(title);
    lines[1].emplace_back("");
  }
  const bool several = std::ranges::any_of(report.rows, [&](const AuditRow& row) {
    return row.error.empty() && row.machine != report.rows.front().machine;
  });
  for (const AuditRow& row : report.rows) {
    if (!row.error.empty() || (most > 0 && lines.size() == most + 2))
      continue;
    std::vector<std::string> line;
    line.reserve(columns.size() + 2);
    for (const report::AuditColumn& column : columns)
      line.push_back(report::shown(report::value_of(row, column), column.unit));
    line.push_back(row.verdict);
    line.push_back(report::name_of(row) +
                   (several ? "\non " + report::printable(row.machine) : "") + marks_of(row));
    lines.push_back(std::move(line));
  }
  std::string out = laid_out(lines);
  if (most > 0 && report.plates > most)
    out += fmt::format("  and {} more\n", report.plates - most);
  return out;
}

std::string findings(const AuditReport& report) {
  std::vector<std::vector<std::string>> lines{
      {"plates", "purge", "time", "energy", "money", ""},
      {"", "g", "", "Wh", report::printable(report.currency), ""}};
  for (const AuditFindingSum& entry : report.findings)
    lines.push_back({fmt::format("{}", entry.plates), report::shown(entry.sum.saves_purge_g, "g"),
                     report::shown(entry.sum.saves_time_s, "s"),
                     report::shown(entry.sum.saves_energy_wh, "Wh"),
                     entry.sum.saves_money ? fmt::format("{:.2f}", *entry.sum.saves_money) : "-",
                     report::printable(entry.sum.code)});
  return laid_out(lines);
}

/// How many of what is listed here the report did not keep.
std::string and_more(std::uint64_t in_all, std::uint64_t listed) {
  return in_all > listed
             ? fmt::format("  and {} more; --format csv or json has all\n", in_all - listed)
             : "";
}

std::string faults(const AuditReport& report) {
  std::string out;
  std::uint64_t listed = report.faults.size();
  for (const AuditRow& row : report.rows) {
    listed += !row.error.empty() || !row.limit_errors.empty();
    if (!row.error.empty())
      out += fmt::format("  {}: {}\n", report::name_of(row), report::printable(row.error));
    for (const std::string& error : row.limit_errors)
      out += fmt::format("  {}: {}\n", report::name_of(row), report::printable(error));
  }
  for (const auto& [path, error] : report.faults)
    out += fmt::format("  {}: {}\n", report::printable(path), report::printable(error));
  return out + and_more(report.failed, listed);
}

std::string breaches(const AuditReport& report) {
  std::string out;
  std::uint64_t listed = 0;
  for (const AuditRow& row : report.rows) {
    listed += row.limits_fail || !row.breaches.empty();
    if (row.limits_fail)
      out += fmt::format("  {}: {}\n", report::name_of(row), row.fails_because);
    for (const LimitBreach& breach : row.breaches)
      out += fmt::format("  {}: {} is {}, {} over the limit {}\n", report::name_of(row),
                         report::printable(breach.key), report::exact_number(breach.value),
                         report::exact_number(breach.value - breach.limit),
                         report::exact_number(breach.limit));
  }
  return out + and_more(report.exceeded + report.not_passed, listed);
}

/// Machine, version and options of a group, as far as they are known.
std::string name_of_group(const HistoryGroup& group) {
  constexpr std::size_t kShort = 8;
  std::string name = group.machine.empty() ? "machine not known" : report::printable(group.machine);
  if (!group.machine_hash.empty())
    name += fmt::format(" {}", group.machine_hash.substr(0, kShort));
  name += group.version.empty() ? ", version not known"
                                : fmt::format(", version {}", report::printable(group.version));
  return name +
         (group.options.empty() ? "" : fmt::format(", {}", report::printable(group.options)));
}

std::string groups(const HistoryReport& report) {
  std::vector<std::vector<std::string>> lines;
  for (std::size_t i = 0; i < report.groups.size(); ++i) {
    AuditReport sums;
    sums.totals = report.groups[i].totals;
    sums.currency = report.groups[i].currency;
    lines.push_back(
        {fmt::format("{}", i + 1), plural(report.groups[i].plates, "plate", "plates"),
         fmt::format("{}:\n{}", name_of_group(report.groups[i]), sum_line(sums, ",\n"))});
  }
  return laid_out(lines);
}

std::string weeks(const HistoryReport& report) {
  std::vector<std::vector<std::string>> lines{
      {"plates", "swaps", "hours", "part", "purge", "energy", "purge a plate", "week from"},
      {"", "", "", "g", "g", "kWh", "g", ""}};
  for (const HistoryWeek& week : report.weeks)
    lines.push_back({fmt::format("{}", week.plates), fmt::format("{}", week.swaps),
                     fmt::format("{:.1f}", week.hours), fmt::format("{:.1f}", week.part_g),
                     fmt::format("{:.1f}", week.purge_g), fmt::format("{:.2f}", week.energy_kwh),
                     fmt::format("{:.1f}", week.purge_g / static_cast<double>(week.plates)),
                     report.groups.size() > 1
                         ? fmt::format("{} group {}", week.monday, week.group + 1)
                         : week.monday});
  return laid_out(lines);
}

std::string printed(const HistoryReport& report) {
  std::vector<std::vector<std::string>> lines{{"prints", "failed", "good", "swaps", "hours", "part",
                                               "purge", "energy", "cost", "week from"},
                                              {"", "", "parts", "", "", "g", "g", "kWh", "", ""}};
  for (const PrintedWeek& week : report.printed)
    lines.push_back(
        {fmt::format("{}", week.prints), fmt::format("{}", week.failed),
         week.without_good == week.prints
             ? "?"
             : fmt::format("{}{}", week.good_parts, week.without_good > 0 ? " or more" : ""),
         fmt::format("{:.0f}", week.swaps), fmt::format("{:.1f}", week.hours),
         fmt::format("{:.1f}", week.part_g), fmt::format("{:.1f}", week.purge_g),
         fmt::format("{:.2f}", week.energy_kwh),
         week.cost ? fmt::format("{:.2f} {}", *week.cost, report::printable(week.currency)) : "-",
         fmt::format("{} {}", week.monday, report::printable(week.machine))});
  return laid_out(lines);
}

void add_part(std::string& out, std::string_view heading, const std::string& text) {
  if (!text.empty())
    out += fmt::format("\n{}\n{}", heading, text);
}

}  // namespace

std::string to_text(const AuditReport& report, std::size_t most) {
  std::string out = fmt::format(
      "audit of {} on {}: {} failed, {} over a limit{}\n", plural(report.plates, "plate", "plates"),
      report::printable(report.machine), report.failed, report.exceeded,
      report.not_passed > 0 ? fmt::format(", {} not passed", report.not_passed) : "");
  if (const std::string sums = sum_line(report); report.plates > 0 && !sums.empty())
    out += fmt::format("  {}\n", sums);
  if (report.passed_over > 0)
    out += fmt::format("  {} skipped: not plates by their names\n",
                       plural(report.passed_over, "other file", "other files"));
  for (const std::string& note : report.notes)
    out += fmt::format("  {}\n", report::printable(note));
  if (report.plates > 0)
    add_part(out, fmt::format("worst first, by {}", report.sort), worst(report, most));
  if (!report.findings.empty())
    add_part(out,
             fmt::format("what to change, by the {} that it saves over all plates (platetally "
                         "explain CODE)",
                         name_of(report.value.value_or(Aim::time))),
             findings(report));
  add_part(out, report.not_passed > 0 ? "over a limit, or not passed" : "over a limit",
           breaches(report));
  add_part(out, "failed", faults(report));
  return out + "\nPredicted, not measured. A hot machine is attended; local codes apply.\n";
}

std::string to_text(const HistoryReport& report, std::size_t most) {
  std::string out = to_text(report.audit, most);
  if (report.groups.size() > 1)
    add_part(out, "groups that do not add up", groups(report));
  add_part(out, "by week, as first tallied (plates, whether printed or not)",
           report.weeks.empty() ? "" : weeks(report));
  if (report.weeks.empty() && report.printed.empty())
    return out;
  add_part(
      out, "by week, as printed (a failed print counts whole, unless its share was given)",
      report.printed.empty() ? "  no print is logged (platetally printed)\n" : printed(report));
  return out;
}

}  // namespace platetally
