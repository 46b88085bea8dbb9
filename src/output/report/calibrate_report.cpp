// A calibration for people and as JSON.
#include <fmt/format.h>
#include <fmt/ranges.h>

#include "base/counted.hpp"
#include "output/report/cautions.hpp"
#include "output/report/prints_report.hpp"
#include "output/report/strings.hpp"
#include "platetally/calibrate.hpp"
#include "platetally/report.hpp"

namespace platetally {

namespace {

using report::exact_number;
using report::json_string;
using report::printable;

std::vector<std::vector<std::string>> energy_rows(const CalibrationReport& report) {
  std::vector<std::vector<std::string>> rows;
  for (const CalibratedExperiment& one : report.experiments)
    if (one.measured_wh > 0.0)
      rows.push_back({printable(one.log_path), fmt::format("{:.1f}", one.measured_wh),
                      fmt::format("{:.1f}", one.before_wh), fmt::format("{:.1f}", one.after_wh),
                      fmt::format("{:+.1f} %", 100.0 * (one.after_wh / one.measured_wh - 1.0))});
  return rows;
}

std::string energy_table(const CalibrationReport& report) {
  const std::vector<std::vector<std::string>> rows = energy_rows(report);
  if (rows.empty())
    return "";
  std::string out = fmt::format(
      "\nenergy of the logs in Wh: the band of a print is now {:.0f} % wide to either side\n",
      100.0 * report.machine.supply.energy_spread);
  out += fmt::format("  {:<34} {:>10} {:>10} {:>10}   {}\n", "log", "measured", "before", "now",
                     "off by");
  for (const auto& row : rows)
    out +=
        fmt::format("  {:<34} {:>10} {:>10} {:>10}   {}\n", row[0], row[1], row[2], row[3], row[4]);
  return out;
}

const char* told_by(const CalibrationReport& report) {
  return !report.prints ? "logs" : report.experiments.empty() ? "prints" : "logs and prints";
}

}  // namespace

std::string to_text(const CalibrationReport& report) {
  std::string out = fmt::format("{}: {} fitted to {}\n", printable(report.machine.name),
                                base::counted(report.fitted.size(), "entry", "entries"),
                                report::evidence_of(report));
  if (!report.experiments.empty())
    out += fmt::format(
        "  windows off by {:.2f} W before and {:.2f} W after (root mean square); rank {}, "
        "condition {:.0f}\n",
        report.rms_before_w, report.rms_after_w, report.rank, report.condition);
  out += report::print_errors_text(report);
  if (!report.fitted.empty())
    out +=
        fmt::format("\n  {:<34} {:>10} {:>10}   {}\n", "entry", "before", "now", "95 % interval");
  for (const FittedParameter& one : report.fitted)
    out += fmt::format("  {:<34} {:>10.4g} {:>10.4g}   {:.4g} to {:.4g}{}{}{}\n", one.key,
                       one.before, one.value, one.low, one.high, one.unit.empty() ? "" : " ",
                       one.unit, one.told_together ? " (only together with others)" : "");
  if (!report.not_identifiable.empty()) {
    out += fmt::format(
        "\nhardly told by these {}; about as they were, and as uncertain as such figures are\n",
        told_by(report));
    for (const UnfittedParameter& one : report.not_identifiable)
      out +=
          fmt::format("  {:<34} {:>10.4g} {:>10.4g}   {:.4g} to {:.4g} {}; told by: {}\n", one.key,
                      one.before, one.value, one.low, one.high, one.unit, one.settled_by);
  }
  out += energy_table(report);
  if (!report.experiments.empty())
    out += "\nlogs\n";
  for (const CalibratedExperiment& one : report.experiments)
    out += fmt::format("  {} as {}: begins {:.1f} s into the log, {} windows\n",
                       printable(one.log_path), printable(one.experiment), one.offset_s,
                       one.windows.size());
  out += report::prints_text(report);
  const std::vector<std::string> lines = report::remarks_of(report);
  if (!lines.empty())
    out += "\nnote\n";
  for (const std::string& line : lines)
    out += fmt::format("  {}\n", printable(line));
  return out + fmt::format("\n{}\n", report::kMeterCaution);
}

std::string to_json(const CalibrationReport& report) {
  std::vector<std::string> fitted;
  for (const FittedParameter& one : report.fitted)
    fitted.push_back(fmt::format(
        R"({{"key": {}, "unit": {}, "before": {}, "value": {}, "low": {}, "high": {}, "at_bound": {}, "told_together": {}}})",
        json_string(one.key), json_string(one.unit), exact_number(one.before),
        exact_number(one.value), exact_number(one.low), exact_number(one.high), one.at_bound,
        one.told_together));
  std::vector<std::string> others;
  for (const UnfittedParameter& one : report.not_identifiable)
    others.push_back(fmt::format(
        R"({{"key": {}, "unit": {}, "before": {}, "value": {}, "low": {}, "high": {}, "settled_by": {}}})",
        json_string(one.key), json_string(one.unit), exact_number(one.before),
        exact_number(one.value), exact_number(one.low), exact_number(one.high),
        json_string(one.settled_by)));
  std::vector<std::string> experiments;
  for (const CalibratedExperiment& one : report.experiments) {
    std::vector<std::string> windows;
    for (const CalibrationWindow& window : one.windows)
      windows.push_back(fmt::format("[{}, {}, {}, {}, {}]", exact_number(window.from_s),
                                    exact_number(window.to_s), exact_number(window.measured_w),
                                    exact_number(window.before_w), exact_number(window.after_w)));
    experiments.push_back(fmt::format(
        R"({{"experiment": {}, "log": {}, "log_hash": {}, "offset_s": {}, "measured_wh": {}, "before_wh": {}, "after_wh": {}, "windows": [{}]}})",
        json_string(one.experiment), json_string(one.log_path), json_string(one.log_hash),
        exact_number(one.offset_s), exact_number(one.measured_wh), exact_number(one.before_wh),
        exact_number(one.after_wh), fmt::join(windows, ", ")));
  }
  std::vector<std::string> lines;
  for (const std::string& line : report::remarks_of(report))
    lines.push_back(json_string(line));
  return fmt::format(
      "{{\n  \"schema\": \"platetally.calibrate/1\",\n  \"made_from\": {},\n  \"machine\": {},\n  "
      "\"fitted\": [\n    "
      "{}\n  ],\n  \"not_identifiable\": [\n    {}\n  ],\n  \"rank\": {},\n  \"condition\": {},\n  "
      "\"rms_before_w\": {},\n  \"rms_after_w\": {},\n  \"converged\": {},\n  \"experiments\": [\n "
      "   "
      "{}\n  ],\n  \"prints\": {},\n  \"changes\": {},\n  \"notes\": [{}]\n}}\n",
      to_json(report.made_from), json_string(report.machine.name), fmt::join(fitted, ",\n    "),
      fmt::join(others, ",\n    "), report.rank, exact_number(report.condition),
      exact_number(report.rms_before_w), exact_number(report.rms_after_w), report.converged,
      fmt::join(experiments, ",\n    "), report::prints_json(report), report::changes_json(report),
      fmt::join(lines, ", "));
}

}  // namespace platetally
