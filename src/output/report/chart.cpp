// Shapes are paths in a box of kUnits by kFine units a pixel of height, which is stretched to the
// width there is; words and grid lines lie outside that box and keep their size.
#include "output/report/chart.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>

#include "base/units.hpp"
#include "output/report/page.hpp"
#include "output/report/strings.hpp"

namespace platetally::report {

namespace {

constexpr double kUnits = 1000.0;
constexpr double kFine = 4.0;
constexpr std::size_t kMostBins = 500;  // two units each
constexpr int kLane_px = 15;
constexpr int kAxisTicks = 8;
constexpr double kUsualWidth_px = 600.0;  // of a plot beside a slim card
constexpr double kLetter_px = 7.0;        // at 11 pixels, about
constexpr double kNearEdge = 6.0;  // percent: a label in its middle would reach over the edge

struct Bins {
  std::vector<double> edges;
  std::vector<std::vector<double>> means;  // by series
};

/// Means of neighbouring values, weighed by width; not known counts as nothing.
Bins binned(const std::vector<double>& edges, const std::vector<const ChartSeries*>& series) {
  const std::size_t count = edges.size() - 1;
  const std::size_t step = std::max<std::size_t>(1, (count + kMostBins - 1) / kMostBins);
  Bins bins;
  for (std::size_t at = 0; at < count; at += step)
    bins.edges.push_back(edges[at]);
  bins.edges.push_back(edges.back());
  for (const ChartSeries* one : series) {
    std::vector<double> means;
    for (std::size_t at = 0; at < count; at += step) {
      double sum = 0.0;
      double width = 0.0;
      for (std::size_t i = at; i < std::min(at + step, count); ++i) {
        if (i >= one->values.size() || !std::isfinite(one->values[i]))
          continue;
        const double wide = std::max(edges[i + 1] - edges[i], 1e-9);
        sum += one->values[i] * wide;
        width += wide;
      }
      means.push_back(width > 0.0 ? sum / width : std::nan(""));
    }
    bins.means.push_back(std::move(means));
  }
  return bins;
}

/// What a panel's values are divided by for people, and the unit then.
struct ShownUnit {
  double per = 1.0;
  std::string unit;
};
ShownUnit shown_unit(const ChartPanel& panel, double shown) {
  if (panel.unit != "s")
    return {1.0, panel.unit};
  constexpr double kFew = 2.0;
  if (shown < kFew * base::kSecondsPerMinute)
    return {1.0, "s"};
  if (shown < kFew * base::kSecondsPerHour)
    return {base::kSecondsPerMinute, "min"};
  return {base::kSecondsPerHour, "h"};
}

class PanelDrawing {
 public:
  PanelDrawing(const Chart& chart, const ChartPanel& panel)
      : chart_(chart),
        panel_(panel),
        scale_(scale_of(panel, chart.edges)),
        from_(chart.edges.front()),
        to_(chart.edges.back()),
        high_px_(panel.lanes.empty() ? panel.height_px
                                     : kLane_px * static_cast<int>(panel.lanes.size())) {}

  std::string html() const {
    return fmt::format("<div class=\"panel\">{}{}{}</div>\n", names(), plot(), ticks());
  }

 private:
  int x(double value) const {
    return static_cast<int>(std::lround((value - from_) / std::max(to_ - from_, 1e-12) * kUnits));
  }
  double percent(double value) const {
    return 100.0 * (value - from_) / std::max(to_ - from_, 1e-12);
  }
  int y(double value) const {
    const double part = std::clamp(value / scale_.shown, 0.0, 1.0);
    return static_cast<int>(std::lround(kFine * high_px_ * (1.0 - part)));
  }
  double y_px(double value) const { return high_px_ * (1.0 - value / scale_.shown); }

  std::string names() const {
    if (panel_.lanes.empty()) {
      const ShownUnit shown = shown_unit(panel_, scale_.shown);
      return fmt::format("<div class=\"name\"><b>{}</b> <small>{}</small></div>",
                         html_text(panel_.title), html_text(shown.unit));
    }
    std::string out = fmt::format("<div class=\"name lanes\"><b>{}</b>", html_text(panel_.title));
    for (const ChartLane& lane : panel_.lanes)
      out += fmt::format("<small>{}</small>", html_text(lane.name));
    return out + "</div>";
  }

  std::string plot() const {
    std::string out =
        fmt::format("<svg class=\"plot\" height=\"{}\" aria-hidden=\"true\">", high_px_);
    for (const double tick : y_ticks())
      out += fmt::format("<line class=\"grid\" x2=\"100%\" y1=\"{0:.1f}\" y2=\"{0:.1f}\"/>",
                         std::min(y_px(tick), high_px_ - 0.5));
    out += fmt::format(
        "<svg class=\"shapes\" viewBox=\"0 0 {:.0f} {:.0f}\" preserveAspectRatio=\"none\" "
        "width=\"100%\" height=\"{}\">{}{}</svg>",
        kUnits, kFine * high_px_, high_px_, shapes(), lanes());
    return out + cuts() + marks() + lane_words() + "</svg>";
  }

  /// Stacked areas, the highest first so that lower ones lie before it; then bands, slopes, lines.
  std::string shapes() const {
    std::vector<const ChartSeries*> areas;
    for (const ChartSeries& series : panel_.series)
      if (series.shape == SeriesShape::area)
        areas.push_back(&series);
    std::string out;
    const Bins bins = binned(chart_.edges, areas);
    std::vector<double> top(bins.edges.size() - 1, 0.0);
    std::vector<std::string> paths;
    for (std::size_t s = 0; s < areas.size(); ++s) {
      for (std::size_t i = 0; i < top.size(); ++i)
        top[i] += std::isfinite(bins.means[s][i]) ? bins.means[s][i] : 0.0;
      paths.push_back(shape(*areas[s], steps(bins.edges, top, true)));
    }
    for (auto path = paths.rbegin(); path != paths.rend(); ++path)
      out += *path;
    for (const SeriesShape wanted : {SeriesShape::band, SeriesShape::slope, SeriesShape::line})
      for (const ChartSeries& series : panel_.series)
        if (series.shape == wanted)
          out += shape(series, path_of(series));
    return out;
  }
  std::string shape(const ChartSeries& series, const std::string& path) const {
    const bool is_filled = series.shape == SeriesShape::area || series.shape == SeriesShape::band;
    return fmt::format("<path class=\"{} {}\" data-s=\"{}\" d=\"{}\"/>",
                       is_filled ? (series.shape == SeriesShape::band ? "haze" : "fill") : "line",
                       css_of(series.hue), &series - panel_.series.data(), path);
  }
  std::string path_of(const ChartSeries& series) const {
    if (series.shape == SeriesShape::line) {
      const Bins bins = binned(chart_.edges, {&series});
      return steps(bins.edges, bins.means[0], false);
    }
    std::string path;
    const std::size_t count = std::min(series.values.size(), chart_.edges.size());
    for (std::size_t i = 0; i < count; ++i)
      path += fmt::format("{}{} {}", i == 0 ? "M" : "L", x(chart_.edges[i]), y(series.values[i]));
    if (series.shape == SeriesShape::band) {
      for (std::size_t i = std::min(count, series.low.size()); i-- > 0;)
        path += fmt::format("L{} {}", x(chart_.edges[i]), y(series.low[i]));
      path += "Z";
    }
    return path;
  }
  /// Steps; equal neighbours are one. `closed`: down to the foot at both ends.
  std::string steps(const std::vector<double>& edges, const std::vector<double>& values,
                    bool closed) const {
    const int foot = y(0.0);
    std::string path = closed ? fmt::format("M{} {}", x(edges.front()), foot) : "";
    int pen_x = x(edges.front());
    int pen_y = foot;
    bool is_down = closed;
    for (std::size_t i = 0; i < values.size(); ++i) {
      if (!std::isfinite(values[i])) {
        if (is_down && !closed)
          path += fmt::format("H{}", x(edges[i]));
        is_down = closed;
        continue;
      }
      const int at_x = x(edges[i]);
      const int at_y = y(values[i]);
      if (!is_down) {
        path += fmt::format("M{} {}", at_x, at_y);
        pen_x = at_x;
      } else if (at_y != pen_y) {
        path += at_x != pen_x ? fmt::format("h{}v{}", at_x - pen_x, at_y - pen_y)
                              : fmt::format("v{}", at_y - pen_y);
        pen_x = at_x;
      }
      pen_y = at_y;
      is_down = true;
    }
    if (is_down)
      path += fmt::format("H{}", x(edges.back()));
    return closed ? path + fmt::format("V{}Z", foot) : path;
  }

  std::string lanes() const {
    std::string out;
    for (std::size_t row = 0; row < panel_.lanes.size(); ++row)
      for (const LaneSpan& span : panel_.lanes[row].spans) {
        const int left = x(span.from);
        out += fmt::format(
            "<rect class=\"lane {}\" x=\"{}\" y=\"{:.0f}\" width=\"{}\" height=\"{:.0f}\"{}/>",
            span.paint.empty() ? css_of(span.hue) : "own", left,
            kFine * (kLane_px * static_cast<double>(row) + 2.0), std::max(1, x(span.to) - left),
            kFine * (kLane_px - 4.0),
            span.paint.empty() ? "" : fmt::format(" fill=\"{}\"", html_text(span.paint)));
      }
    return out;
  }

  /// What spans are, where it fits into them on a screen of usual width.
  std::string lane_words() const {
    std::string out;
    for (std::size_t row = 0; row < panel_.lanes.size(); ++row)
      for (const LaneSpan& span : panel_.lanes[row].spans) {
        const double wide_px = kUsualWidth_px * (percent(span.to) - percent(span.from)) / 100.0;
        if (span.words.empty() || display_width(span.words) * kLetter_px + 10.0 > wide_px)
          continue;
        out += fmt::format(
            "<text class=\"lane-words\" data-from=\"{:.10g}\" x=\"{:.2f}%\" dx=\"5\" "
            "y=\"{:.0f}\">{}</text>",
            span.from, percent(span.from), kLane_px * (static_cast<double>(row) + 1.0) - 4.0,
            html_text(span.words));
      }
    return out;
  }

  /// Where columns are cut off: how high they really are.
  std::string cuts() const {
    if (!scale_.is_cut())
      return "";
    std::size_t highest = 0;
    double most = -1.0;
    for (std::size_t i = 0; i + 1 < chart_.edges.size(); ++i) {
      double sum = 0.0;
      for (const ChartSeries& series : panel_.series)
        if (i < series.values.size() && std::isfinite(series.values[i]))
          sum = series.shape == SeriesShape::area ? sum + series.values[i]
                                                  : std::max(sum, series.values[i]);
      if (sum > most) {
        most = sum;
        highest = i;
      }
    }
    const double at = percent(0.5 * (chart_.edges[highest] + chart_.edges[highest + 1]));
    const bool is_right = at > 80.0;
    return fmt::format(
        "<text class=\"cut\" data-at=\"{}\" x=\"{:.2f}%\" dx=\"{}\" y=\"11\"{}>\xE2\x86\x91 "
        "{}</text>",
        highest, at, is_right ? -6 : 8, is_right ? " text-anchor=\"end\"" : "",
        html_prose(with_unit(most, panel_.unit)));
  }

  std::string marks() const {
    std::string out;
    for (const ChartMark& mark : chart_.marks)
      out += fmt::format("<line class=\"mark\" x1=\"{0:.2f}%\" x2=\"{0:.2f}%\" y2=\"100%\"/>",
                         percent(mark.at));
    return out;
  }

  std::vector<double> y_ticks() const {
    if (!panel_.lanes.empty())
      return {};
    const ShownUnit shown = shown_unit(panel_, scale_.shown);
    std::vector<double> ticks =
        ticks_up_to(scale_.shown / shown.per, panel_.height_px >= 100 ? 4 : 3);
    if (panel_.unit.empty())
      std::erase_if(ticks, [](double tick) { return tick != std::floor(tick); });
    for (double& tick : ticks)
      tick *= shown.per;
    return ticks;
  }
  std::string ticks() const {
    const ShownUnit shown = shown_unit(panel_, scale_.shown);
    std::string out =
        fmt::format("<svg class=\"ticks\" height=\"{}\" aria-hidden=\"true\">", high_px_);
    double above = 1e9;
    for (const double tick : y_ticks()) {
      const double at = std::clamp(y_px(tick) + 4.0, 9.0, high_px_ - 0.5);
      if (above - at < 11.0)
        continue;
      out += fmt::format("<text y=\"{:.1f}\">{:.6g}</text>", at, tick / shown.per);
      above = at;
    }
    return out + "</svg>";
  }

  const Chart& chart_;
  const ChartPanel& panel_;
  PanelScale scale_;
  double from_;
  double to_;
  int high_px_;
};

std::string_view name_of(ChartAxis axis) {
  switch (axis) {
    case ChartAxis::layer:
      return "layer";
    case ChartAxis::time:
      return "time";
    case ChartAxis::years:
      return "years";
    case ChartAxis::height:
      break;
  }
  return "height";
}

/// The row of labels below the panels; a second line says how high the layers are.
std::string axis_html(const Chart& chart) {
  const bool has_heights = chart.axis == ChartAxis::layer && !chart.layer_z_mm.empty();
  const double from = chart.edges.front();
  const double to = chart.edges.back();
  std::string out = fmt::format(
      "<div class=\"panel axis\"><div class=\"name\">{}{}</div><svg class=\"plot\" height=\"{}\" "
      "aria-hidden=\"true\">",
      chart.axis == ChartAxis::layer    ? "layer"
      : chart.axis == ChartAxis::time   ? name_of(time_labels(from, to))
      : chart.axis == ChartAxis::height ? "mm high"
                                        : "years",
      has_heights ? "<small>mm high</small>" : "", has_heights ? 32 : 17);
  const auto ticks = axis_ticks(chart, kAxisTicks);
  for (std::size_t i = 0; i < ticks.size(); ++i) {
    const bool is_last = i + 1 == ticks.size();
    // A layer's label stands below the middle of its column.
    const double half = chart.axis == ChartAxis::layer && !is_last ? 0.5 : 0.0;
    const double at = 100.0 * (ticks[i].first + half - from) / std::max(to - from, 1e-12);
    const char* anchor = is_last ? "end" : at < kNearEdge ? "start" : "middle";
    // Narrow screens show every other one.
    const char* css = i % 2 == 1 && !is_last ? " class=\"odd\"" : "";
    out += fmt::format("<text{} x=\"{:.2f}%\" y=\"12\" text-anchor=\"{}\">{}</text>", css, at,
                       anchor, ticks[i].second);
    if (!has_heights)
      continue;
    const auto column =
        static_cast<std::size_t>(std::clamp(is_last ? to - from - 1.0 : ticks[i].first - from, 0.0,
                                            static_cast<double>(chart.layer_z_mm.size()) - 1.0));
    out +=
        fmt::format("<text class=\"soft{}\" x=\"{:.2f}%\" y=\"27\" text-anchor=\"{}\">{}</text>",
                    *css == '\0' ? "" : " odd", at, anchor, significant(chart.layer_z_mm[column]));
  }
  return out + "</svg><div></div></div>\n";
}

/// An earlier panel has the same series, and one key stands for both.
bool is_keyed_before(const Chart& chart, const ChartPanel& panel) {
  for (const ChartPanel& earlier : chart.panels) {
    if (&earlier == &panel)
      return false;
    if (std::ranges::equal(earlier.series, panel.series, [](const auto& a, const auto& b) {
          return a.name == b.name && a.hue == b.hue;
        }))
      return true;
  }
  return false;
}

/// Swatches and names, panel by panel where several have more than one series.
std::string keys_html(const Chart& chart) {
  const auto has_key = [](const ChartPanel& panel) { return panel.series.size() > 1; };
  const bool are_several = std::ranges::count_if(chart.panels, has_key) > 1;
  std::string out;
  for (const ChartPanel& panel : chart.panels) {
    if (!has_key(panel) || is_keyed_before(chart, panel))
      continue;
    out += "<ul class=\"key\">";
    if (are_several)
      out += fmt::format("<li class=\"of\">{}</li>",
                         html_text(panel.key_title.empty() ? panel.title : panel.key_title));
    for (const ChartSeries& series : panel.series)
      out += fmt::format("<li><i class=\"{}\"></i>{}</li>", css_of(series.hue),
                         html_text(series.name));
    out += "</ul>\n";
  }
  return out;
}

/// What is cut off, in words.
std::string cut_words(const Chart& chart) {
  std::vector<std::string> cut;
  for (const ChartPanel& panel : chart.panels)
    if (scale_of(panel, chart.edges).is_cut())
      cut.push_back(panel.title);
  return cut.empty() ? ""
                     : fmt::format(
                           " Magnified: the highest columns of {} are cut off; the arrow says how "
                           "high they are.",
                           fmt::join(cut, ", "));
}

/// Six digits at most; whole numbers where they are large.
std::string numbers(const std::vector<double>& values) {
  std::string out = "[";
  for (const double value : values) {
    if (out.size() > 1)
      out += ',';
    if (!std::isfinite(value))
      out += "null";
    else
      out += fmt::format("{:.4g}", value == 0.0 ? 0.0 : value);
  }
  return out + "]";
}
std::string exact_numbers(const std::vector<double>& values) {
  std::string out = "[";
  for (const double value : values)
    out += fmt::format("{}{:.10g}", out.size() > 1 ? "," : "", value == 0.0 ? 0.0 : value);
  return out + "]";
}

std::string_view name_of(SeriesShape shape) {
  switch (shape) {
    case SeriesShape::area:
      return "area";
    case SeriesShape::line:
      return "line";
    case SeriesShape::slope:
      return "slope";
    case SeriesShape::band:
      break;
  }
  return "band";
}

std::string panel_json(const ChartPanel& panel, const Chart& chart) {
  std::vector<std::string> series;
  for (const ChartSeries& one : panel.series)
    series.push_back(
        fmt::format(R"({{"name":{},"hue":"{}","shape":"{}","values":{}{}}})", json_string(one.name),
                    css_of(one.hue), name_of(one.shape), numbers(one.values),
                    one.low.empty() ? "" : fmt::format(",\"low\":{}", numbers(one.low))));
  std::vector<std::string> lanes;
  for (const ChartLane& lane : panel.lanes) {
    std::vector<std::string> spans;
    for (const LaneSpan& span : lane.spans)
      spans.push_back(
          fmt::format("[{:.10g},{:.10g},{}]", span.from, span.to, json_string(span.words)));
    lanes.push_back(fmt::format(R"({{"name":{},"spans":[{}]}})", json_string(lane.name),
                                fmt::join(spans, ",")));
  }
  return fmt::format(R"({{"title":{},"unit":{},"shown":{:.6g},"series":[{}],"lanes":[{}]}})",
                     json_string(panel.title), json_string(panel.unit),
                     scale_of(panel, chart.edges).shown, fmt::join(series, ","),
                     fmt::join(lanes, ","));
}

}  // namespace

std::string json_of(const Chart& chart) {
  std::vector<std::string> panels;
  for (const ChartPanel& panel : chart.panels)
    panels.push_back(panel_json(panel, chart));
  return fmt::format(
      R"({{"id":{},"axis":"{}","edges":{},"index":{},"z_mm":{},"line":{},"start_s":{},"panels":[{}]}})",
      json_string(chart.id), name_of(chart.axis), exact_numbers(chart.edges),
      exact_numbers(chart.layer_index), numbers(chart.layer_z_mm),
      exact_numbers(chart.layer_first_line), exact_numbers(chart.layer_start_s),
      fmt::join(panels, ","));
}

std::string html_of(const Chart& chart) {
  std::string out = fmt::format(
      "<figure class=\"chart\" id=\"{}\" aria-label=\"{}\">\n<div "
      "class=\"panels\">\n",
      html_text(chart.id), html_text(chart.label));
  for (const ChartPanel& panel : chart.panels)
    out += PanelDrawing(chart, panel).html();
  out += axis_html(chart) + "</div>\n" + keys_html(chart);
  for (const ChartMark& mark : chart.marks)
    out += fmt::format("<p class=\"mark-words\">{}</p>\n", html_prose(mark.words));
  const std::string words = chart.caption + cut_words(chart);
  if (!words.empty())
    out += fmt::format("<figcaption>{}</figcaption>", html_prose(words));
  return out + "</figure>\n";
}

}  // namespace platetally::report
