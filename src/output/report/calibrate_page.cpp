// A calibration as a page: how well the machine file is known now, and what was learned.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/counted.hpp"
#include "output/report/cautions.hpp"
#include "output/report/chart.hpp"
#include "output/report/labels.hpp"
#include "output/report/page.hpp"
#include "output/report/page_parts.hpp"
#include "output/report/page_table.hpp"
#include "output/report/prints_report.hpp"
#include "output/report/strings.hpp"
#include "platetally/calibrate.hpp"

namespace platetally {

namespace {

using report::Figure;
using report::Hue;
using report::Row;
using report::significant;
using report::with_unit;
using report::words_column;

std::string entries(std::size_t count) {
  return base::counted(count, "entry", "entries");
}

report::PageVerdict verdict_of(const CalibrationReport& report) {
  report::PageVerdict verdict;
  const bool has_bound =
      std::ranges::any_of(report.fitted, [](const FittedParameter& one) { return one.at_bound; });
  if (report.fitted.empty())
    verdict.grade = Grade::look;
  else if (!report.converged || has_bound)
    verdict.grade = Grade::look;
  verdict.words = report.fitted.empty()
                      ? "Nothing was learned"
                      : fmt::format("{} of the machine file fitted", entries(report.fitted.size()));
  if (!report.experiments.empty())
    verdict.reasons.push_back(fmt::format("predicted power is off by {}, {} before",
                                          with_unit(report.rms_after_w, "W"),
                                          with_unit(report.rms_before_w, "W")));
  if (has_bound)
    verdict.reasons.emplace_back("an entry ended at the edge of what is allowed: do not trust it");
  if (report.prints)
    for (const PrintErrors& one : report.prints->errors)
      verdict.reasons.push_back(fmt::format(
          "{} of a plate that it has not seen: off by {:.1f} % in the median, {:.1f} % before",
          report::label_of_total(one.key), 100.0 * one.left_out_median, 100.0 * one.before_median));
  if (!report.not_identifiable.empty())
    verdict.reasons.push_back(
        fmt::format("{} stay about as they were", entries(report.not_identifiable.size())));
  return verdict;
}

Figure before_and_after(std::string name, double before, double after, std::string_view unit) {
  Figure figure{std::move(name), with_unit(after, unit), "after the fit", {}, {}, {}, ""};
  figure.beside = {{"before", before, with_unit(before, unit), Hue::other},
                   {"after", after, with_unit(after, unit), Hue::measured}};
  return figure;
}

std::vector<Figure> figures_of(const CalibrationReport& report) {
  std::vector<Figure> figures;
  if (!report.experiments.empty())
    figures.push_back(
        before_and_after("Power off by", report.rms_before_w, report.rms_after_w, "W"));
  double measured_wh = 0.0, before_wh = 0.0, after_wh = 0.0;
  for (const CalibratedExperiment& one : report.experiments) {
    measured_wh += one.measured_wh;
    before_wh += one.measured_wh > 0.0 ? one.before_wh : 0.0;
    after_wh += one.measured_wh > 0.0 ? one.after_wh : 0.0;
  }
  if (measured_wh > 0.0) {
    Figure energy{"Energy of the logs", with_unit(measured_wh, "Wh"), "measured", {}, {}, {}, ""};
    energy.beside = {{"predicted before", before_wh, with_unit(before_wh, "Wh"), Hue::other},
                     {"predicted now", after_wh, with_unit(after_wh, "Wh"), Hue::predicted},
                     {"measured", measured_wh, with_unit(measured_wh, "Wh"), Hue::measured}};
    energy.remark = fmt::format("a print's energy is now known to {:.0f} %",
                                100.0 * report.machine.supply.energy_spread);
    figures.push_back(std::move(energy));
  }
  if (report.prints)
    for (const PrintErrors& one : report.prints->errors) {
      Figure figure{report::capital(report::label_of_total(one.key)) + " off by",
                    fmt::format("{:.1f} %", 100.0 * one.left_out_median),
                    "in the median, plate left out",
                    {},
                    {},
                    {},
                    ""};
      const auto part = [](const char* name, double share, Hue hue) {
        return report::FigurePart{name, share, fmt::format("{:.1f} %", 100.0 * share), hue};
      };
      figure.beside = {part("before", one.before_median, Hue::other),
                       part("after", one.after_median, Hue::predicted),
                       part("left out", one.left_out_median, Hue::measured)};
      figures.push_back(std::move(figure));
    }
  Figure count{"Entries fitted", fmt::format("{}", report.fitted.size()), "", {}, {}, {}, ""};
  count.parts = {{"fitted", static_cast<double>(report.fitted.size()),
                  fmt::format("{}", report.fitted.size()), Hue::measured},
                 {"hardly told", static_cast<double>(report.not_identifiable.size()),
                  fmt::format("{}", report.not_identifiable.size()), Hue::other}};
  figures.push_back(std::move(count));
  return figures;
}

std::string interval(double low, double high) {
  return fmt::format("{} to {}", significant(low), significant(high));
}

report::PageTable fitted_of(const CalibrationReport& report) {
  report::PageTable table;
  table.caption = "what was fitted";
  table.is_sortable = report.fitted.size() > 8;
  table.columns = {words_column("entry"), {"before"},          {"now"}, {"change"},
                   {"95 % interval"},     words_column("unit")};
  for (const FittedParameter& one : report.fitted) {
    const double change = one.before != 0.0 ? one.value / one.before - 1.0 : 0.0;
    report::TableRow row;
    row.cells = {{report::label_of_entry(one.key), {}, {}, one.key},
                 {significant(one.before)},
                 {significant(one.value)},
                 {one.before != 0.0 ? fmt::format("{:+.0f} %", 100.0 * change) : "", change},
                 {interval(one.low, one.high)},
                 {one.unit}};
    if (one.at_bound)
      row.mark = "at the edge of what is allowed: do not trust it";
    else if (one.told_together)
      row.mark = "only together with others";
    table.rows.push_back(std::move(row));
  }
  return table;
}

report::PageTable unfitted_of(const CalibrationReport& report) {
  report::PageTable table;
  table.caption = "what is hardly told";
  table.columns = {words_column("entry"), words_column("told by"), {"before"}, {"now"},
                   {"95 % interval"},     words_column("unit")};
  for (const UnfittedParameter& one : report.not_identifiable)
    table.rows.push_back({{{report::label_of_entry(one.key), {}, {}, one.key},
                           {one.settled_by},
                           {significant(one.before)},
                           {significant(one.value)},
                           {interval(one.low, one.high)},
                           {one.unit}}});
  return table;
}

/// What would tell the rest, as things to do: each experiment once, with what it tells.
std::vector<report::Lever> experiments_to_do(const CalibrationReport& report) {
  std::vector<report::Lever> levers;
  for (const UnfittedParameter& one : report.not_identifiable) {
    const auto known = std::ranges::find(levers, one.settled_by, &report::Lever::advice);
    report::Lever& lever = known != levers.end() ? *known : levers.emplace_back();
    lever.advice = one.settled_by;
    lever.why += (lever.why.empty() ? "tells " : ", ") + report::label_of_entry(one.key);
  }
  return levers;
}

report::Chart experiment_chart(const CalibratedExperiment& one, std::size_t number) {
  report::Chart chart;
  chart.id = fmt::format("experiment-{}", number);
  chart.label = fmt::format("watts measured and predicted, {}", one.log_path);
  chart.axis = report::ChartAxis::time;
  report::ChartSeries measured{"measured", Hue::measured, {}};
  report::ChartSeries predicted{"predicted", Hue::predicted, {}, report::SeriesShape::line};
  report::ChartSeries above{"measured is more", Hue::swap, {}};
  report::ChartSeries below{"measured is less", Hue::hot_ends, {}};
  for (const CalibrationWindow& window : one.windows) {
    chart.edges.push_back(window.from_s);
    measured.values.push_back(window.measured_w);
    predicted.values.push_back(window.after_w);
    above.values.push_back(std::max(0.0, window.measured_w - window.after_w));
    below.values.push_back(std::max(0.0, window.after_w - window.measured_w));
  }
  if (one.windows.empty())
    return chart;
  chart.edges.push_back(one.windows.back().to_s);
  chart.panels = {{"power", "W", {measured, predicted}, {}, 110},
                  {"off by", "W", {above, below}, {}, 48}};
  return chart;
}

}  // namespace

std::string to_html(const CalibrationReport& report, const PageStamp& stamp) {
  report::Page page({report.machine.name,
                     "Calibration: how well the machine is known",
                     {report::evidence_of(report)},
                     stamp});
  page.verdict(verdict_of(report));
  page.figures(figures_of(report));
  page.begin_row(Row::wide_slim);
  page.begin_card("What was fitted", "entries of the machine file");
  page.table(fitted_of(report));
  page.end_card();
  page.begin_card("What would tell more", "experiments", "levers");
  page.levers(experiments_to_do(report), "Nothing is left that an experiment would tell.");
  page.end_card();
  page.end_row();
  for (std::size_t i = 0; i < report.experiments.size(); ++i) {
    const CalibratedExperiment& one = report.experiments[i];
    const report::Chart chart = experiment_chart(one, i + 1);
    if (!chart.has_something())
      continue;
    page.begin_row(Row::one);
    page.begin_card(fmt::format("{} as {}", report::short_name(one.log_path), one.experiment),
                    one.measured_wh > 0.0
                        ? fmt::format("{} measured, {} predicted", with_unit(one.measured_wh, "Wh"),
                                      with_unit(one.after_wh, "Wh"))
                        : "");
    page.chart(chart);
    page.end_card();
    page.end_row();
  }
  report::add_prints(report, page);
  page.begin_row(Row::one);
  if (!report.not_identifiable.empty()) {
    page.begin_card("What these measurements hardly tell");
    page.table(unfitted_of(report));
    page.end_card();
  }
  page.begin_card("Note");
  page.list(report::remarks_of(report));
  page.note(report::kMeterCaution);
  page.end_card();
  page.end_row();
  return page.take();
}

}  // namespace platetally
