#include "output/report/chart.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <limits>

#include "base/units.hpp"
#include "output/report/page.hpp"
#include "output/report/strings.hpp"
#include "platetally/account.hpp"

namespace platetally::report {

namespace {

constexpr double kLeft = 70.0;
constexpr double kWide = 780.0;
constexpr double kRight = 10.0;
constexpr double kPanel = 100.0;
constexpr double kStack = 220.0;
constexpr double kTitle = 24.0;
constexpr double kAxis = 40.0;
constexpr double kPixelsABin = 2.0;
constexpr int kColours = 7;

/// Means of neighbouring values, weighed by width, so that a bin is two pixels wide or more.
ChartColumns binned(const ChartColumns& columns) {
  const std::size_t count = columns.edges.size() - 1;
  const auto most = static_cast<std::size_t>(kWide / kPixelsABin);
  const std::size_t step = (count + most - 1) / most;
  if (step <= 1)
    return columns;
  ChartColumns bins;
  for (std::size_t at = 0; at < count; at += step)
    bins.edges.push_back(columns.edges[at]);
  bins.edges.push_back(columns.edges.back());
  for (const ChartSeries& series : columns.series) {
    ChartSeries means{series.name, series.unit, {}};
    for (std::size_t at = 0; at < count; at += step) {
      double sum = 0.0;
      double width = 0.0;
      for (std::size_t i = at; i < std::min(at + step, count); ++i) {
        if (!std::isfinite(series.values[i]))
          continue;
        const double wide = std::max(columns.edges[i + 1] - columns.edges[i], 1e-9);
        sum += series.values[i] * wide;
        width += wide;
      }
      means.values.push_back(width > 0.0 ? sum / width : 0.0);
    }
    bins.series.push_back(std::move(means));
  }
  return bins;
}

/// 1, 2 or 5 times a power of ten: about `count` of them up to `most`.
double step_of(double most, int count) {
  const double rough = most / count;
  const double power = std::pow(10.0, std::floor(std::log10(rough)));
  for (const double factor : {1.0, 2.0, 5.0})
    if (factor * power >= rough)
      return factor * power;
  return 10.0 * power;
}

class Drawing {
 public:
  Drawing(const ChartColumns& columns, double high)
      : edges_(columns.edges), high_(high + kAxis), from_(edges_.front()), to_(edges_.back()) {}

  double x(double value) const {
    return kLeft + (to_ > from_ ? (value - from_) / (to_ - from_) : 0.0) * kWide;
  }
  /// Grid lines of a panel whose foot lies at `foot`.
  void grid(double foot, double panel, double most) {
    const double step = step_of(most, 3);
    const auto lines = static_cast<std::size_t>(most * 1.0001 / step);
    for (std::size_t i = 0; i <= lines; ++i) {
      const double value = static_cast<double>(i) * step;
      const double y = foot - panel * value / most;
      body_ += fmt::format(
          "<path class=\"line\" d=\"M{:.1f} {:.1f}h{:.1f}\"/><text x=\"{:.1f}\" y=\"{:.1f}\" "
          "text-anchor=\"end\">{:g}</text>\n",
          kLeft, y, kWide, kLeft - 6.0, y + 4.0, value);
    }
  }
  /// An area between two rows of values, in steps.
  void area(std::span<const double> low, std::span<const double> high, double foot, double scale,
            std::string_view css) {
    std::string path = fmt::format("M{:.1f} {:.1f}", x(edges_[0]), foot - scale * low[0]);
    for (std::size_t i = 0; i < high.size(); ++i)
      path += fmt::format("V{:.1f}H{:.1f}", foot - scale * high[i], x(edges_[i + 1]));
    for (std::size_t i = low.size(); i-- > 0;)
      path += fmt::format("V{:.1f}H{:.1f}", foot - scale * low[i], x(edges_[i]));
    body_ += fmt::format("<path class=\"{}\" d=\"{}Z\"/>\n", css, path);
  }
  /// A line in steps.
  void line(std::span<const double> values, double foot, double scale) {
    std::string path;
    bool open = false;
    for (std::size_t i = 0; i < values.size(); ++i) {
      const bool known = std::isfinite(values[i]);
      if (known)
        path += fmt::format("{}{:.1f}H{:.1f}", open ? "V" : fmt::format("M{:.1f} ", x(edges_[i])),
                            foot - scale * values[i], x(edges_[i + 1]));
      open = known;
    }
    body_ += fmt::format("<path class=\"over\" d=\"{}\"/>\n", path);
  }
  void text(double at_x, double y, std::string_view words) {
    body_ += fmt::format("<text x=\"{:.1f}\" y=\"{:.1f}\">{}</text>\n", at_x, y, html_text(words));
  }
  std::string take(std::string_view axis, double scale) {
    const double foot = high_ - kAxis;
    const double step = step_of((to_ - from_) / scale, 8);
    const auto first = static_cast<std::int64_t>(std::ceil(from_ / scale / step));
    const auto last = static_cast<std::int64_t>(std::floor(to_ / scale * 1.0001 / step));
    for (std::int64_t i = first; i <= last; ++i) {
      const double value = static_cast<double>(i) * step;
      body_ += fmt::format("<text x=\"{:.1f}\" y=\"{:.1f}\" text-anchor=\"middle\">{:g}</text>\n",
                           x(value * scale), foot + 16.0, value);
    }
    text(kLeft, high_ - 4.0, axis);
    return fmt::format(
        "<svg viewBox=\"0 0 {0:.0f} {1:.0f}\" width=\"{0:.0f}\" height=\"{1:.0f}\" "
        "aria-hidden=\"true\">\n{2}</svg>\n",
        kLeft + kWide + kRight, high_, body_);
  }

 private:
  std::vector<double> edges_;
  double high_;
  double from_;
  double to_;
  std::string body_;
};

double most_of(std::span<const double> values) {
  double most = 0.0;
  for (const double value : values)
    most = std::isfinite(value) ? std::max(most, value) : most;
  return most > 0.0 ? most : 1.0;
}

void add_if_any(ChartColumns& columns, ChartSeries series) {
  if (std::any_of(series.values.begin(), series.values.end(),
                  [](double value) { return value != 0.0; }))
    columns.series.push_back(std::move(series));
}

}  // namespace

ChartColumns layer_columns(const Account& account) {
  ChartColumns columns;
  ChartSeries swaps{"swaps", "", {}};
  ChartSeries purge{"purge", "g", {}};
  ChartSeries energy{"energy", "Wh", {}};
  for (std::size_t i = 0; i < account.layers.size(); ++i) {
    const LayerAccount& layer = account.layers[i];
    columns.edges.push_back(static_cast<double>(i));
    swaps.values.push_back(static_cast<double>(layer.swaps));
    purge.values.push_back(layer.purge_g);
    energy.values.push_back(layer.energy_by.sum_wh());
  }
  if (account.layers.empty())
    return columns;
  columns.edges.push_back(static_cast<double>(account.layers.size()));
  for (ChartSeries* series : {&swaps, &purge, &energy})
    add_if_any(columns, std::move(*series));
  return columns;
}

ChartColumns power_columns(const Account& account) {
  struct Component {
    const char* name;
    double EnergyBy::*energy;
  };
  constexpr Component kComponents[] = {{"bed", &EnergyBy::bed_wh},
                                       {"hot ends", &EnergyBy::hot_ends_wh},
                                       {"enclosure", &EnergyBy::enclosure_wh},
                                       {"motors", &EnergyBy::motors_wh},
                                       {"fans", &EnergyBy::fans_wh},
                                       {"electronics", &EnergyBy::electronics_wh},
                                       {"supply loss", &EnergyBy::supply_loss_wh}};
  ChartColumns columns;
  if (account.power.empty())
    return columns;
  for (const PowerSample& sample : account.power)
    columns.edges.push_back(sample.start_s);
  columns.edges.push_back(account.power.back().start_s + account.power.back().duration_s);
  for (const Component& component : kComponents) {
    ChartSeries series{component.name, "W", {}};
    for (const PowerSample& sample : account.power)
      series.values.push_back(sample.duration_s > 0.0
                                  ? sample.energy.*component.energy * base::kJoulesPerWattHour /
                                        sample.duration_s
                                  : 0.0);
    add_if_any(columns, std::move(series));
  }
  return columns;
}

std::string json_of(std::span<const double> values) {
  std::vector<std::string> all;
  all.reserve(values.size());
  for (const double value : values)
    all.push_back(std::isfinite(value) ? fmt::format("{:.6g}", value == 0.0 ? 0.0 : value)
                                       : "null");
  return fmt::format("[{}]", fmt::join(all, ","));
}

std::string to_json(const ChartColumns& columns) {
  std::vector<std::string> series;
  for (const ChartSeries& one : columns.series)
    series.push_back(fmt::format("{{\"name\":{},\"unit\":{},\"values\":{}}}", json_string(one.name),
                                 json_string(one.unit), json_of(one.values)));
  return fmt::format("{{\"edges\":{},\"series\":[{}]}}", json_of(columns.edges),
                     fmt::join(series, ","));
}

std::string drawn_panels(const ChartColumns& columns, std::string_view axis, double scale) {
  const ChartColumns bins = binned(columns);
  Drawing drawing(bins, static_cast<double>(bins.series.size()) * (kPanel + kTitle));
  double foot = 0.0;
  for (std::size_t i = 0; i < bins.series.size(); ++i) {
    const ChartSeries& series = bins.series[i];
    foot += kPanel + kTitle;
    const double most = most_of(series.values);
    drawing.text(
        kLeft, foot - kPanel - 6.0,
        series.unit.empty() ? series.name : fmt::format("{}, {}", series.name, series.unit));
    drawing.grid(foot, kPanel, most);
    const std::vector<double> floor(series.values.size(), 0.0);
    drawing.area(floor, series.values, foot, kPanel / most, fmt::format("s{}", i % kColours + 1));
  }
  return drawing.take(axis, scale);
}

std::string drawn_overlay(const ChartColumns& columns, std::string_view axis, double scale) {
  const ChartColumns bins = binned(columns);
  Drawing drawing(bins, kTitle + kStack);
  const ChartSeries& under = bins.series[0];
  const ChartSeries& over = bins.series[1];
  const double most = std::max(most_of(under.values), most_of(over.values));
  const double foot = kTitle + kStack;
  drawing.text(kLeft, kTitle - 8.0,
               fmt::format("{} (filled) and {} (line), {}", under.name, over.name, under.unit));
  drawing.grid(foot, kStack, most);
  std::vector<double> known = under.values;
  std::ranges::replace_if(
      known, [](double value) { return !std::isfinite(value); }, 0.0);
  drawing.area(std::vector<double>(known.size(), 0.0), known, foot, kStack / most, "s1");
  drawing.line(over.values, foot, kStack / most);
  return drawing.take(axis, scale);
}

std::string drawn_stack(const ChartColumns& columns, std::string_view axis, double scale) {
  const ChartColumns bins = binned(columns);
  Drawing drawing(bins, kTitle + kStack);
  const std::size_t count = bins.edges.size() - 1;
  std::vector<std::vector<double>> tops{std::vector<double>(count, 0.0)};
  for (const ChartSeries& series : bins.series) {
    tops.push_back(tops.back());
    for (std::size_t i = 0; i < count; ++i)
      tops.back()[i] += std::isfinite(series.values[i]) ? series.values[i] : 0.0;
  }
  const double most = most_of(tops.back());
  const double foot = kTitle + kStack;
  drawing.text(
      kLeft, kTitle - 8.0,
      fmt::format("{}, one on top of the other", bins.series.empty() ? "" : bins.series[0].unit));
  drawing.grid(foot, kStack, most);
  for (std::size_t i = 0; i < bins.series.size(); ++i)
    drawing.area(tops[i], tops[i + 1], foot, kStack / most, fmt::format("s{}", i % kColours + 1));
  return drawing.take(axis, scale);
}

}  // namespace platetally::report
