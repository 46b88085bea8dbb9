// Where axes are labelled and how far they reach. The script labels zoomed axes by the same rules
// (html/src/axis.ts); testdata/axis-ticks.json holds both to the same.
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "base/units.hpp"
#include "output/report/chart.hpp"

namespace platetally::report {

namespace {

constexpr double kCutAbove = 2.0;     // times what the steady part needs: below that nothing is cut
constexpr double kSteadyShare = 0.9;  // of the axis, that counts as steady
constexpr double kRoomAboveCut = 1.4;
constexpr double kRoom = 1.06;
constexpr double kSecondsShownBelow_s = 600.0;
constexpr double kNear = 1.3;  // of the usual distance of ticks: closer to the end they would touch

/// 1, 2 or 5 times a power of ten.
double step_of(double rough) {
  const double power = std::pow(10.0, std::floor(std::log10(rough)));
  for (const double factor : {1.0, 2.0, 5.0})
    if (factor * power >= rough * (1.0 - 1e-9))
      return factor * power;
  return 10.0 * power;
}

double time_step(double rough_s) {
  constexpr std::array<double, 23> kSteps_s{
      1,    2,    5,     10,    15,    30,    60,     120,    300,    600,     900,    1800,
      3600, 7200, 10800, 21600, 43200, 86400, 172800, 432000, 864000, 1728000, 8640000};
  for (const double step : kSteps_s)
    if (step >= rough_s)
      return step;
  return step_of(rough_s);
}

std::string short_number(double value) {
  return fmt::format("{:.6g}", value == 0.0 ? 0.0 : value);
}

/// Of the stack at column i, and of everything that is not stacked.
double highest_at(const ChartPanel& panel, std::size_t i) {
  double stack = 0.0;
  double most = 0.0;
  for (const ChartSeries& series : panel.series) {
    if (i >= series.values.size() || !std::isfinite(series.values[i]))
      continue;
    if (series.shape == SeriesShape::area)
      stack += series.values[i];
    else
      most = std::max(most, series.values[i]);
  }
  return std::max(most, stack);
}

}  // namespace

void add_if_any(ChartPanel& panel, ChartSeries series) {
  if (std::ranges::any_of(series.values, [](double value) { return value != 0.0; }))
    panel.series.push_back(std::move(series));
}

std::vector<double> edges_of(const std::vector<ChartLane>& lanes) {
  std::vector<double> edges;
  for (const ChartLane& lane : lanes)
    for (const LaneSpan& span : lane.spans) {
      edges.push_back(span.from);
      edges.push_back(span.to);
    }
  std::ranges::sort(edges);
  edges.erase(std::unique(edges.begin(), edges.end()), edges.end());
  return edges;
}

PanelScale scale_of(const ChartPanel& panel, const std::vector<double>& edges) {
  std::vector<std::pair<double, double>> columns;  // height, width
  double width = 0.0;
  double most = 0.0;
  for (std::size_t i = 0; i + 1 < edges.size(); ++i) {
    columns.emplace_back(highest_at(panel, i), edges[i + 1] - edges[i]);
    width += columns.back().second;
    most = std::max(most, columns.back().first);
  }
  most = edges.empty() ? most : std::max(most, highest_at(panel, edges.size() - 1));
  if (most <= 0.0)
    return panel.shown > 0.0 ? PanelScale{0.0, panel.shown} : PanelScale{};
  std::ranges::sort(columns);
  double passed = 0.0;
  double steady = most;
  for (const auto& [high, wide] : columns) {
    passed += wide;
    if (passed >= kSteadyShare * width) {
      steady = high;
      break;
    }
  }
  if (panel.shown > 0.0)
    return {most, panel.shown};
  const bool is_cut = steady > 0.0 && most > kCutAbove * steady;
  return {most, is_cut ? kRoomAboveCut * steady : kRoom * most};
}

void put_on_one_scale(const std::vector<ChartPanel*>& panels, const std::vector<double>& edges) {
  double shown = 0.0;
  for (const ChartPanel* panel : panels)
    if (!panel->series.empty())
      shown = std::max(shown, scale_of(*panel, edges).shown);
  for (ChartPanel* panel : panels)
    panel->shown = shown;
}

std::vector<double> ticks_up_to(double most, int count) {
  std::vector<double> ticks{0.0};
  if (!(most > 0.0) || !std::isfinite(most))
    return ticks;
  const double step = step_of(most / count);
  for (int i = 1; i <= 4 * count && i * step <= most; ++i)
    ticks.push_back(i * step);
  return ticks;
}

TimeLabels time_labels(double from_s, double to_s) {
  if (to_s - from_s >= kSecondsShownBelow_s)
    return TimeLabels::hours_minutes;
  return to_s < base::kSecondsPerHour ? TimeLabels::minutes_seconds : TimeLabels::all;
}

std::string_view name_of(TimeLabels labels) {
  return labels == TimeLabels::hours_minutes     ? "h:min"
         : labels == TimeLabels::minutes_seconds ? "min:s"
                                                 : "h:min:s";
}

std::string time_words(double seconds, TimeLabels labels) {
  constexpr std::int64_t kSixty = 60;  // of minutes as of seconds
  if (labels == TimeLabels::hours_minutes) {
    const auto minutes = static_cast<std::int64_t>(std::llround(seconds / base::kSecondsPerMinute));
    return fmt::format("{}:{:02}", minutes / kSixty, minutes % kSixty);
  }
  const auto whole = static_cast<std::int64_t>(std::llround(seconds));
  const std::int64_t minutes = whole / kSixty;
  if (labels == TimeLabels::minutes_seconds)
    return fmt::format("{}:{:02}", minutes, whole % kSixty);
  return fmt::format("{}:{:02}:{:02}", minutes / kSixty, minutes % kSixty, whole % kSixty);
}

namespace {

/// Ticks of the axis without its end.
std::vector<std::pair<double, std::string>> inner_ticks(const Chart& chart, int count) {
  std::vector<std::pair<double, std::string>> ticks;
  const double from = chart.edges.front();
  const double to = chart.edges.back();
  if (chart.axis == ChartAxis::layer) {
    const double step = std::max(1.0, step_of((to - from) / count));
    for (std::size_t i = 0; i < chart.layer_index.size(); ++i) {
      const double layer = chart.layer_index[i];
      if (layer == 1.0 || (layer > 0.0 && std::fmod(layer, step) == 0.0))
        ticks.emplace_back(chart.edges[i], short_number(layer));
    }
    // The first layer and the tick behind it must not touch.
    if (ticks.size() > 1 && ticks[1].first - ticks[0].first < 0.6 * step)
      ticks.erase(ticks.begin() + 1);
  } else {
    const double step =
        chart.axis == ChartAxis::time
            ? time_step((to - from) / count)
            : std::max(chart.axis == ChartAxis::height ? 0.0 : 1.0, step_of((to - from) / count));
    const TimeLabels labels = time_labels(from, to);
    const double first = std::ceil(from / step);
    for (double i = 0.0; (first + i) * step < to; i += 1.0) {
      const double at = (first + i) * step;
      ticks.emplace_back(at,
                         chart.axis == ChartAxis::time ? time_words(at, labels) : short_number(at));
    }
  }
  return ticks;
}

}  // namespace

std::vector<std::pair<double, std::string>> axis_ticks(const Chart& chart, int count) {
  if (chart.edges.size() < 2)
    return {};
  std::vector<std::pair<double, std::string>> ticks = inner_ticks(chart, count);
  const double from = chart.edges.front();
  const double to = chart.edges.back();
  // The end is always named; what would touch it is not.
  const double near = kNear * (to - from) / count;
  while (ticks.size() > 1 && to - ticks.back().first < near)
    ticks.pop_back();
  if (chart.axis == ChartAxis::layer) {
    if (!chart.layer_index.empty() &&
        (ticks.empty() || ticks.back().second != short_number(chart.layer_index.back())))
      ticks.emplace_back(to, short_number(chart.layer_index.back()));
  } else {
    ticks.emplace_back(to, chart.axis == ChartAxis::time ? time_words(to, time_labels(from, to))
                                                         : short_number(to));
  }
  return ticks;
}

}  // namespace platetally::report
