#include "output/report/prints_report.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>

#include "output/report/strings.hpp"

namespace platetally::report {

namespace {

std::string counted(std::size_t count, const char* one, const char* several) {
  return fmt::format("{} {}", count, count == 1 ? one : several);
}

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

/// Measured over predicted of every print as dots about a line at 1, before above and after below.
class RatioDrawing {
 public:
  explicit RatioDrawing(const std::vector<PrintOutcome>& outcomes) : outcomes_(outcomes) {
    for (const PrintOutcome& one : outcomes)
      for (const double predicted : {one.before, one.after, one.left_out})
        most_ = std::max(most_, std::abs(std::log(one.measured / predicted)));
    most_ = std::min(most_, kMostShown);
  }

  std::string svg() const {
    std::string out =
        fmt::format(R"(<svg viewBox="0 0 {} {}" role="img" aria-label="measured over predicted">)",
                    kWidth, kTop + 3 * kRow + kBottom);
    out +=
        fmt::format(R"(<line x1="{0:.1f}" x2="{0:.1f}" y1="{1}" y2="{2}" stroke="currentColor"/>)",
                    x_of(1.0), kTop - 6, kTop + 3 * kRow);
    const double tick = std::exp(most_);
    for (const double ratio : {1.0 / tick, std::sqrt(1.0 / tick), 1.0, std::sqrt(tick), tick})
      out += fmt::format(R"(<text x="{:.1f}" y="{}" text-anchor="middle">{:.2f}</text>)",
                         x_of(ratio), kTop + 3 * kRow + 14, ratio);
    row(out, 0, "before", &PrintOutcome::before);
    row(out, 1, "after", &PrintOutcome::after);
    row(out, 2, "left out", &PrintOutcome::left_out);
    return out + "</svg>";
  }

 private:
  static constexpr int kWidth = 720, kTop = 14, kRow = 34, kBottom = 22, kNames = 80;
  static constexpr double kMostShown = 1.1;  // of a logarithm; what is farther lies at the edge

  double x_of(double ratio) const {
    const double half = 0.5 * (kWidth - kNames) - 30.0;
    const double at = most_ > 0.0 ? std::log(ratio) / most_ : 0.0;
    return kNames + 0.5 * (kWidth - kNames) + half * std::clamp(at, -1.0, 1.0);
  }
  void row(std::string& out, int number, const char* name, double PrintOutcome::*predicted) const {
    const int y = kTop + number * kRow + kRow / 2;
    out += fmt::format(R"(<text x="0" y="{}">{}</text>)", y + 4, name);
    for (const PrintOutcome& one : outcomes_)
      out += fmt::format(
          R"(<circle cx="{:.1f}" cy="{}" r="4" fill="{}" stroke="currentColor"><title>{}</title></circle>)",
          x_of(one.measured / one.*predicted), y, one.is_outlier ? "none" : "currentColor",
          html_text(
              fmt::format("{}: {}", printable(one.plate), over(one.measured, one.*predicted))));
  }

  const std::vector<PrintOutcome>& outcomes_;
  double most_ = 0.0;
};

void add_outcomes(const PrintsFit& fit, std::string_view unit, const char* title, Page& page) {
  std::vector<PrintOutcome> outcomes;
  std::copy_if(fit.outcomes.begin(), fit.outcomes.end(), std::back_inserter(outcomes),
               [&](const PrintOutcome& one) { return unit_of(one) == unit; });
  if (outcomes.empty())
    return;
  page.heading(title, "measured over predicted, less one");
  page.figure("", RatioDrawing(outcomes).svg(),
              "Measured over predicted of each print: by the machine as it was, by the fitted one, "
              "and by one fitted to all other plates. A hollow dot disagrees with the others by "
              "far and counts little.");
  std::vector<std::vector<std::string>> rows;
  for (const PrintOutcome& one : outcomes)
    rows.push_back({one.plate, one.is_outlier ? "disagrees by far" : "",
                    fmt::format("{:.0f} {}", one.measured, unit_of(one)),
                    over(one.measured, one.before), over(one.measured, one.after),
                    over(one.measured, one.left_out)});
  page.table({"plate", "note", "measured", "before", "after", "left out"}, rows, 2);
}

}  // namespace

std::string evidence_of(const CalibrationReport& report) {
  std::vector<std::string> parts;
  if (!report.experiments.empty() || (!report.prints && !report.changes))
    parts.push_back(counted(report.experiments.size(), "log", "logs"));
  if (report.prints) {
    std::size_t prints = 0;
    for (const PrintErrors& one : report.prints->errors)
      prints = std::max(prints, one.prints);
    parts.push_back(counted(prints, "print", "prints"));
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
        one.key, counted(one.prints, "print", "prints"), counted(one.plates, "plate", "plates"),
        percent(one.before_median), percent(one.before_mean), percent(one.after_median),
        percent(one.after_mean), percent(one.left_out_median), percent(one.left_out_mean));
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
    page.heading("Changes that were counted");
    std::vector<std::string> lines;
    for (const CountedChanges& one : report.changes->counted)
      lines.push_back(changes_line(one));
    page.list(lines);
  }
  if (!report.prints)
    return;
  add_outcomes(*report.prints, "s", "Seconds of the prints", page);
  add_outcomes(*report.prints, "Wh", "Watt-hours of the prints", page);
  add_outcomes(*report.prints, "g", "Grams of the prints", page);
}

}  // namespace platetally::report
