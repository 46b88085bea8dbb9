// Prediction against measurement as a page: is my prediction right, and what is off.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/units.hpp"
#include "output/report/cautions.hpp"
#include "output/report/chart.hpp"
#include "output/report/labels.hpp"
#include "output/report/page.hpp"
#include "output/report/page_parts.hpp"
#include "output/report/page_table.hpp"
#include "output/report/strings.hpp"
#include "platetally/reconcile.hpp"

namespace platetally {

namespace {

using report::duration;
using report::Figure;
using report::Hue;
using report::Row;
using report::significant;
using report::with_unit;

constexpr double kRight = 0.1;  // off by less: right, as far as such a model goes; assumed

bool is_known(const ReconciledValue& value) {
  return std::isfinite(value.predicted) && value.predicted != 0.0 && std::isfinite(value.measured);
}

double off_by(const ReconciledValue& value) {
  return value.measured / value.predicted - 1.0;
}

std::string percent(double share) {
  return fmt::format("{}{:.1f} %", share < 0.0 ? "\xE2\x88\x92" : "+", 100.0 * std::abs(share));
}

/// "12.0 % more"
std::string more_or_less(double share) {
  const double size = 100.0 * std::abs(share);
  constexpr double kWhole = 10.0;  // from here on without decimals
  return fmt::format("{:.{}f} % {}", size, size < kWhole ? 1 : 0, share < 0.0 ? "less" : "more");
}

/// In words: "12 % more energy than predicted".
std::string words_of(const ReconciledValue& value) {
  const double off = off_by(value);
  return fmt::format("{}: {:.0f} % {} than predicted", report::label_of_total(value.key),
                     100.0 * std::abs(off), off < 0.0 ? "less" : "more");
}

bool has_band(const ReconciledValue& value) {
  return std::isfinite(value.low) && std::isfinite(value.high) && value.low < value.high;
}

/// Further off than counts as right, and not where the prediction said that it may be.
bool is_outside(const ReconciledValue& value) {
  return std::abs(off_by(value)) > kRight &&
         !(has_band(value) && value.measured >= value.low && value.measured <= value.high);
}

/// Of those that may be looked at, the one that is off most; null without any.
template <typename Look>
const ReconciledValue* worst_of(const ReconcileReport& report, Look may_look) {
  const ReconciledValue* worst = nullptr;
  for (const ReconciledValue& value : report.values)
    if (is_known(value) && may_look(value) &&
        (worst == nullptr || std::abs(off_by(value)) > std::abs(off_by(*worst))))
      worst = &value;
  return worst;
}

report::PageVerdict verdict_of(const ReconcileReport& report) {
  const ReconciledValue* worst = worst_of(report, [](const ReconciledValue&) { return true; });
  report::PageVerdict verdict;
  if (worst == nullptr) {
    verdict.grade = Grade::look;
    verdict.words = "Nothing to hold it against";
    return verdict;
  }
  if (std::abs(off_by(*worst)) <= kRight) {
    verdict.words = "The prediction is right";
    verdict.reasons.push_back(fmt::format("nothing is off by more than {:.0f} %", 100.0 * kRight));
  } else if (const ReconciledValue* outside = worst_of(report, is_outside); outside == nullptr) {
    verdict.words = "Within what was predicted";
    verdict.reasons.push_back(words_of(*worst));
  } else {
    verdict.grade = Grade::look;
    verdict.words = "The prediction is off";
    verdict.reasons.push_back(words_of(*outside));
  }
  if (!report.log_path.empty())
    verdict.reasons.push_back(fmt::format("{} because of power, {} because of time",
                                          fmt::format("{:+.1f} Wh", report.power_error_wh),
                                          fmt::format("{:+.1f} Wh", report.time_error_wh)));
  return verdict;
}

std::vector<Figure> figures_of(const ReconcileReport& report) {
  std::vector<Figure> figures;
  for (const ReconciledValue& value : report.values) {
    Figure figure{report::capital(report::label_of_total(value.key)),
                  is_known(value) ? more_or_less(off_by(value)) : "?",
                  "than predicted",
                  {},
                  {},
                  {},
                  ""};
    figure.beside = {
        {"predicted", value.predicted, with_unit(value.predicted, value.unit), Hue::predicted},
        {"measured", value.measured, with_unit(value.measured, value.unit), Hue::measured}};
    if (std::isfinite(value.low) && std::isfinite(value.high))
      figure.remark =
          fmt::format("{} {}",
                      value.measured < value.low    ? "below"
                      : value.measured > value.high ? "above"
                                                    : "within",
                      value.low == value.high
                          ? "the prediction, which has no band"
                          : fmt::format("the band of {} to {}", with_unit(value.low, value.unit),
                                        with_unit(value.high, value.unit)));
    figures.push_back(std::move(figure));
  }
  return figures;
}

report::Chart overlay(const ReconcileReport& report) {
  report::Chart chart;
  chart.id = "overlay";
  chart.label = "watts measured and predicted, over time";
  chart.caption = fmt::format("The plate begins {} into the log.", duration(report.offset_s));
  chart.axis = report::ChartAxis::time;
  chart.edges = report.overlay_s;
  report::ChartPanel panel{"power", "W", {}, {}, 190};
  panel.series = {
      {"measured", Hue::measured, report.overlay_measured_w},
      {"predicted", Hue::predicted, report.overlay_predicted_w, report::SeriesShape::line}};
  if (chart.edges.size() > 1)
    chart.panels.push_back(std::move(panel));
  return chart;
}

std::vector<report::Lever> levers_of(const ReconcileReport& report) {
  std::vector<report::Lever> levers;
  for (const Explanation& one : report.explanations) {
    report::Lever lever;
    lever.advice = fmt::format("{}: {} instead of {}", report::label_of_entry(one.key),
                               significant(one.would_be), significant(one.value));
    lever.why =
        fmt::format("{} in the machine file; calibrate before you change it by hand", one.key);
    lever.facts = {fmt::format("explains {:.0f} %", 100.0 * one.explains)};
    levers.push_back(std::move(lever));
  }
  return levers;
}

double watts(double wh, double s) {
  return s > 0.0 ? wh * base::kJoulesPerWattHour / s : 0.0;
}

report::PageTable phases_of(const ReconcileReport& report) {
  report::PageTable table;
  table.caption = "phase by phase";
  table.columns = {report::words_column("phase"),
                   {"predicted"},
                   {"measured"},
                   {"predicted", "W"},
                   {"measured", "W"},
                   {"predicted", "Wh"},
                   {"measured", "Wh", false, true},
                   {"off by"}};
  for (const ReconciledPhase& one : report.phases) {
    const double off = one.predicted_wh > 0.0 ? one.measured_wh / one.predicted_wh - 1.0 : 0.0;
    report::TableRow row;
    row.cells = {{one.name},
                 {duration(one.predicted_s)},
                 {duration(one.measured_s)},
                 {significant(watts(one.predicted_wh, one.predicted_s))},
                 {significant(watts(one.measured_wh, one.measured_s))},
                 {significant(one.predicted_wh)},
                 {significant(one.measured_wh), one.measured_wh},
                 {one.predicted_wh > 0.0 ? percent(off) : ""}};
    table.rows.push_back(std::move(row));
  }
  return table;
}

}  // namespace

std::string to_html(const ReconcileReport& report, const PageStamp& stamp) {
  const bool has_log = !report.log_path.empty();
  report::Page page(
      {report::short_name(report.path),
       "Predicted and measured",
       {report.machine,
        has_log ? fmt::format("log {}", report::short_name(report.log_path)) : "weighed or timed"},
       stamp});
  page.verdict(verdict_of(report));
  page.figures(figures_of(report));
  if (has_log) {
    page.begin_row(Row::wide_slim);
    page.begin_card("Over time", "watts from the wall");
    page.chart(overlay(report));
    page.end_card();
    page.begin_card("What would explain it", "share of the squared difference that goes away",
                    "levers");
    page.levers(levers_of(report),
                "No entry of the machine file explains more than a twentieth of the difference.");
    page.end_card();
    page.end_row();
    page.begin_row(Row::one);
    page.begin_card("Phase by phase");
    page.table(phases_of(report));
    page.end_card();
    page.end_row();
  }
  page.begin_row(Row::one);
  page.begin_card("Note");
  page.list(report.doubts);
  page.note(report::kMeterCaution);
  page.end_card();
  page.end_row();
  return page.take();
}

}  // namespace platetally
