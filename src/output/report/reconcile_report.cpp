// Prediction against measurement for people and as JSON.
#include <fmt/format.h>
#include <fmt/ranges.h>

#include <cmath>

#include "base/units.hpp"
#include "output/report/cautions.hpp"
#include "output/report/strings.hpp"
#include "platetally/reconcile.hpp"
#include "platetally/report.hpp"

namespace platetally {

namespace {

using report::duration;
using report::exact_number;
using report::json_string;
using report::rounded;
using report::Value;

std::string with_unit(double value, const std::string& unit) {
  if (!std::isfinite(value))
    return "?";
  if (unit == "s")
    return duration(value);
  return fmt::format("{}{}{}", rounded(Value(value), unit), unit.empty() ? "" : " ", unit);
}

std::string percent(double predicted, double measured) {
  if (!std::isfinite(predicted) || predicted == 0.0)
    return "";
  return fmt::format("{:+.1f} %", 100.0 * (measured / predicted - 1.0));
}

double watts(double wh, double s) {
  return s > 0.0 ? wh * base::kJoulesPerWattHour / s : 0.0;
}

bool has_log(const ReconcileReport& report) {
  return !report.log_path.empty();
}

std::string measured_by(const ReconcileReport& report) {
  return has_log(report) ? report.log_path : "what was weighed or timed";
}

std::string verdict(const ReconcileReport& report) {
  if (report.explanations.empty())
    return "No entry of the machine file explains more than a twentieth of the difference.";
  const Explanation& best = report.explanations.front();
  return fmt::format(
      "{} explains most: {:.4g} instead of {:.4g} would take away {:.0f} % of the "
      "squared difference; calibrate before you change it by hand",
      best.key, best.would_be, best.value, 100.0 * best.explains);
}

std::vector<std::vector<std::string>> value_rows(const ReconcileReport& report) {
  std::vector<std::vector<std::string>> rows;
  for (const ReconciledValue& one : report.values)
    rows.push_back({one.key, with_unit(one.predicted, one.unit), with_unit(one.measured, one.unit),
                    percent(one.predicted, one.measured)});
  return rows;
}

/// What was weighed and has a band: whether it lies in it.
std::vector<std::string> bands(const ReconcileReport& report) {
  std::vector<std::string> lines;
  for (const ReconciledValue& one : report.values)
    if (std::isfinite(one.low) && std::isfinite(one.high))
      lines.push_back(fmt::format("{}: predicted between {} and {}; what was measured lies {}",
                                  one.key, with_unit(one.low, one.unit),
                                  with_unit(one.high, one.unit),
                                  one.measured < one.low    ? "below"
                                  : one.measured > one.high ? "above"
                                                            : "within"));
  return lines;
}

std::vector<std::vector<std::string>> phase_rows(const ReconcileReport& report) {
  std::vector<std::vector<std::string>> rows;
  for (const ReconciledPhase& one : report.phases)
    rows.push_back({one.name, duration(one.predicted_s), duration(one.measured_s),
                    fmt::format("{:.0f}", watts(one.predicted_wh, one.predicted_s)),
                    fmt::format("{:.0f}", watts(one.measured_wh, one.measured_s)),
                    fmt::format("{:.1f}", one.predicted_wh), fmt::format("{:.1f}", one.measured_wh),
                    percent(one.predicted_wh, one.measured_wh)});
  return rows;
}

}  // namespace

std::string to_text(const ReconcileReport& report) {
  std::string out =
      fmt::format("{} on {} against {}\n", report::printable(report.path),
                  report::printable(report.machine), report::printable(measured_by(report)));
  if (has_log(report))
    out += fmt::format("  begins {:.0f} s into the log; correlation {:.3f}{}\n", report.offset_s,
                       report.correlation,
                       report.smoothed_s > 0.0
                           ? fmt::format(" of power smoothed over {:.0f} s", report.smoothed_s)
                           : "");
  out += fmt::format("\n  {:<22} {:>20} {:>20} {:>9}\n", "", "predicted", "measured", "off by");
  for (const auto& row : value_rows(report))
    out += fmt::format("  {:<22} {:>20} {:>20} {:>9}\n", row[0], row[1], row[2], row[3]);
  for (const std::string& line : bands(report))
    out += fmt::format("  {}\n", line);
  if (!has_log(report))
    return out;
  out += fmt::format("\n  {:+.1f} Wh from power, {:+.1f} Wh from time\n  {}\n",
                     report.power_error_wh, report.time_error_wh, verdict(report));
  for (std::size_t i = 1; i < report.explanations.size(); ++i)
    out += fmt::format("  then {}: {:.4g} instead of {:.4g}, {:.0f} %\n",
                       report.explanations[i].key, report.explanations[i].would_be,
                       report.explanations[i].value, 100.0 * report.explanations[i].explains);
  out += fmt::format("\n  {:<18} {:>18} {:>18} {:>6} {:>6} {:>8} {:>8}\n", "phase", "predicted",
                     "measured", "W", "W", "Wh", "Wh");
  for (const auto& row : phase_rows(report))
    out += fmt::format("  {:<18} {:>18} {:>18} {:>6} {:>6} {:>8} {:>8} {}\n", row[0], row[1],
                       row[2], row[3], row[4], row[5], row[6], row[7]);
  if (!report.doubts.empty())
    out += "\nnote\n";
  for (const std::string& doubt : report.doubts)
    out += fmt::format("  {}\n", report::printable(doubt));
  return out + fmt::format("\n{}\n", report::kMeterCaution);
}

std::string to_json(const ReconcileReport& report) {
  std::vector<std::string> values;
  for (const ReconciledValue& one : report.values)
    values.push_back(fmt::format(
        R"({{"key": {}, "unit": {}, "predicted": {}, "measured": {}, "low": {}, "high": {}}})",
        json_string(one.key), json_string(one.unit), exact_number(one.predicted),
        exact_number(one.measured), exact_number(one.low), exact_number(one.high)));
  std::vector<std::string> phases;
  for (const ReconciledPhase& one : report.phases)
    phases.push_back(fmt::format(
        R"({{"name": {}, "predicted_s": {}, "measured_s": {}, "predicted_wh": {}, "measured_wh": {}}})",
        json_string(one.name), exact_number(one.predicted_s), exact_number(one.measured_s),
        exact_number(one.predicted_wh), exact_number(one.measured_wh)));
  std::vector<std::string> explanations;
  for (const Explanation& one : report.explanations)
    explanations.push_back(fmt::format(
        R"({{"key": {}, "value": {}, "would_be": {}, "explains": {}}})", json_string(one.key),
        exact_number(one.value), exact_number(one.would_be), exact_number(one.explains)));
  std::vector<std::string> doubts;
  for (const std::string& doubt : report.doubts)
    doubts.push_back(json_string(doubt));
  return fmt::format(
      "{{\n  \"schema\": \"platetally.reconcile/1\",\n  \"made_from\": {},\n  \"path\": {},\n  "
      "\"machine\": {},\n  "
      "\"log\": "
      "{},\n  \"log_hash\": {},\n  \"offset_s\": {},\n  \"drift\": {},\n  \"correlation\": {},\n  "
      "\"smoothed_s\": {},\n  "
      "\"values\": [\n    {}\n  ],\n  \"phases\": [\n    {}\n  ],\n  \"power_error_wh\": {},\n  "
      "\"time_error_wh\": {},\n  \"explanations\": [{}],\n  \"doubts\": [{}]\n}}\n",
      to_json(report.made_from), json_string(report.path), json_string(report.machine),
      json_string(report.log_path), json_string(report.log_hash), exact_number(report.offset_s),
      exact_number(report.drift), exact_number(report.correlation), exact_number(report.smoothed_s),
      fmt::join(values, ",\n    "), fmt::join(phases, ",\n    "),
      exact_number(report.power_error_wh), exact_number(report.time_error_wh),
      fmt::join(explanations, ", "), fmt::join(doubts, ", "));
}

std::string to_text(const AccuracyBook& book) {
  std::string out = "past predictions, measured over predicted less one\n";
  for (const AccuracyEntry& entry : book)
    out += fmt::format("  {:<22} {:>4} plates   mean {:+.1f} %   spread {:.1f} %\n", entry.key,
                       entry.plates, 100.0 * entry.mean, 100.0 * entry.spread);
  return book.empty() ? out + "  none yet\n" : out;
}

}  // namespace platetally
