#include "output/report/prints_report.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <array>

#include "base/counted.hpp"
#include "output/report/page_parts.hpp"
#include "output/report/page_table.hpp"
#include "output/report/strings.hpp"

namespace platetally::report {

namespace {

std::string percent(double share) {
  return fmt::format("{:.2f} %", 100.0 * share);
}

/// "+3.2 %": measured over predicted, less one.
std::string over(double measured, double predicted) {
  return fmt::format("{:+.2f} %", 100.0 * (measured / predicted - 1.0));
}

std::string_view name_of(SwapKind kind) {
  return kind == SwapKind::head_change ? "head" : "filament";
}

const char* unit_of(const PrintOutcome& one) {
  return one.key == "energy_wh" ? "Wh" : one.key == "grams" ? "g" : "s";
}

std::string changes_line(const CountedChanges& one) {
  std::string line =
      fmt::format("{} changes of {}{}: {:.1f} s ({:.1f} to {:.1f})", one.changes, name_of(one.kind),
                  one.machines > 1 ? fmt::format(" on {} machines", one.machines) : "",
                  one.seconds.expected, one.seconds.low, one.seconds.high);
  if (one.stop_share)
    line += fmt::format(", stops {:.1f} in 100", 100.0 * *one.stop_share);
  if (one.stop_s)
    line += fmt::format(" of {:.0f} s", *one.stop_s);
  return line;
}

void add_outcomes(const PrintsFit& fit, std::string_view unit, const char* title, Page& page) {
  std::vector<DotRow> rows{{"before", {}}, {"after", {}}, {"left out", {}}};
  PageTable table;
  table.caption = title;
  table.is_sortable = true;
  table.columns = {
      words_column("plate"), {"measured", std::string(unit)}, {"before"}, {"after"}, {"left out"}};
  for (const PrintOutcome& one : fit.outcomes) {
    if (unit_of(one) != unit)
      continue;
    TableRow row{{{one.plate}, {significant(one.measured), one.measured}}};
    const std::array<double, 3> predicted{one.before, one.after, one.left_out};
    for (std::size_t i = 0; i < rows.size(); ++i) {
      const double ratio = one.measured / predicted[i];
      rows[i].dots.push_back({ratio,
                              fmt::format("{}: {}", one.plate, over(one.measured, predicted[i])),
                              one.is_outlier});
      row.cells.push_back({over(one.measured, predicted[i]), ratio - 1.0});
    }
    if (one.is_outlier)
      row.mark = "disagrees with the others by far, and counts little";
    table.rows.push_back(std::move(row));
  }
  if (table.rows.empty())
    return;
  page.begin_row(Row::one);
  page.begin_card(title, "measured over predicted");
  page.dots(rows, "measured over predicted",
            "Measured over predicted of each print: by the machine as it was, by the fitted one, "
            "and by one fitted to all other plates. A hollow dot disagrees with the others by far "
            "and counts little.");
  page.table(table);
  page.end_card();
  page.end_row();
}

}  // namespace

std::vector<std::string> remarks_of(const CalibrationReport& report) {
  std::vector<std::string> lines = report.notes;
  for (const FittedParameter& one : report.fitted)
    if (one.at_bound)
      lines.push_back(
          fmt::format("{} ended at the edge of what is allowed; do not trust it", one.key));
  for (const CalibratedExperiment& one : report.experiments)
    for (const std::string& doubt : one.doubts)
      lines.push_back(fmt::format("{}: {}", one.log_path, doubt));
  return lines;
}

std::string evidence_of(const CalibrationReport& report) {
  std::vector<std::string> parts;
  if (!report.experiments.empty() || (!report.prints && !report.changes))
    parts.push_back(base::counted(report.experiments.size(), "log", "logs"));
  if (report.prints) {
    std::size_t prints = 0;
    for (const PrintErrors& one : report.prints->errors)
      prints = std::max(prints, one.prints);
    parts.push_back(base::counted(prints, "print", "prints"));
  }
  if (report.changes)
    parts.emplace_back("counted changes");
  std::string text = parts.front();
  for (std::size_t i = 1; i < parts.size(); ++i)
    text += (i + 1 == parts.size() ? " and " : ", ") + parts[i];
  return text;
}

std::string print_errors_text(const CalibrationReport& report) {
  std::string out;
  if (!report.prints)
    return out;
  for (const PrintErrors& one : report.prints->errors)
    out += fmt::format(
        "  {} of {} ({}), off by, median and mean: {}, {} before; {}, {} after; {}, {} where the "
        "plate was left out of the fit\n",
        one.key, base::counted(one.prints, "print", "prints"),
        base::counted(one.plates, "plate", "plates"), percent(one.before_median),
        percent(one.before_mean), percent(one.after_median), percent(one.after_mean),
        percent(one.left_out_median), percent(one.left_out_mean));
  return out;
}

std::string prints_text(const CalibrationReport& report) {
  std::string out;
  if (report.changes) {
    out += "\nchanges that were counted\n";
    for (const CountedChanges& one : report.changes->counted)
      out += fmt::format("  {}\n", changes_line(one));
  }
  if (!report.prints)
    return out;
  out += fmt::format("\n{:<32} {:>12} {:>10} {:>10} {:>10}\n", "prints, measured over predicted",
                     "measured", "before", "after", "left out");
  for (const PrintOutcome& one : report.prints->outcomes)
    out += fmt::format("  {:<30} {:>9.0f} {:<2} {:>10} {:>10} {:>10}{}\n", printable(one.plate),
                       one.measured, unit_of(one), over(one.measured, one.before),
                       over(one.measured, one.after), over(one.measured, one.left_out),
                       one.is_outlier ? "   disagrees by far" : "");
  if (std::ranges::any_of(report.prints->errors,
                          [](const PrintErrors& one) { return one.key == "energy"; }))
    out += fmt::format("  the band of a print's energy is now {:.0f} % wide to either side\n",
                       100.0 * report.machine.supply.energy_spread);
  return out;
}

std::string prints_json(const CalibrationReport& report) {
  if (!report.prints)
    return "null";
  std::vector<std::string> errors, outcomes;
  for (const PrintErrors& one : report.prints->errors)
    errors.push_back(fmt::format(
        R"({{"key": {}, "prints": {}, "plates": {}, "before_median": {}, "before_mean": {}, "after_median": {}, "after_mean": {}, "left_out_median": {}, "left_out_mean": {}}})",
        json_string(one.key), one.prints, one.plates, exact_number(one.before_median),
        exact_number(one.before_mean), exact_number(one.after_median), exact_number(one.after_mean),
        exact_number(one.left_out_median), exact_number(one.left_out_mean)));
  for (const PrintOutcome& one : report.prints->outcomes)
    outcomes.push_back(fmt::format(
        R"({{"plate": {}, "line": {}, "key": {}, "measured": {}, "before": {}, "after": {}, "left_out": {}, "weight": {}, "is_outlier": {}}})",
        json_string(one.plate), one.line, json_string(one.key), exact_number(one.measured),
        exact_number(one.before), exact_number(one.after), exact_number(one.left_out),
        exact_number(one.weight), one.is_outlier));
  return fmt::format(
      "{{\"file\": {}, \"file_hash\": {}, \"errors\": [\n    {}\n  ], \"outcomes\": [\n    {}\n  "
      "]}}",
      json_string(report.prints->path), json_string(report.prints->hash),
      fmt::join(errors, ",\n    "), fmt::join(outcomes, ",\n    "));
}

std::string changes_json(const CalibrationReport& report) {
  if (!report.changes)
    return "null";
  const auto or_null = [](const std::optional<double>& value) {
    return value ? exact_number(*value) : std::string("null");
  };
  std::vector<std::string> kinds;
  for (const CountedChanges& one : report.changes->counted)
    kinds.push_back(fmt::format(
        R"({{"kind": "{}", "machines": {}, "changes": {}, "low_s": {}, "expected_s": {}, "high_s": {}, "stops": {}, "stop_share": {}, "stop_s": {}}})",
        name_of(one.kind), one.machines, one.changes, exact_number(one.seconds.low),
        exact_number(one.seconds.expected), exact_number(one.seconds.high), one.stops,
        or_null(one.stop_share), or_null(one.stop_s)));
  return fmt::format(R"({{"file": {}, "file_hash": {}, "counted": [{}]}})",
                     json_string(report.changes->path), json_string(report.changes->hash),
                     fmt::join(kinds, ", "));
}

void add_prints(const CalibrationReport& report, Page& page) {
  if (report.changes) {
    std::vector<std::string> lines;
    for (const CountedChanges& one : report.changes->counted)
      lines.push_back(changes_line(one));
    page.begin_row(Row::one);
    page.begin_card("Changes that were counted");
    page.list(lines);
    page.end_card();
    page.end_row();
  }
  if (!report.prints)
    return;
  add_outcomes(*report.prints, "s", "Seconds of the prints", page);
  add_outcomes(*report.prints, "Wh", "Watt-hours of the prints", page);
  add_outcomes(*report.prints, "g", "Grams of the prints", page);
}

}  // namespace platetally::report
