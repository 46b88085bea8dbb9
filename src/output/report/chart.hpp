// Panels below each other on one shared axis, as a drawing and as data for the page's script.
//
// The drawing needs no script and fits any width: shapes are stretched, words are not. The script
// adds a cursor, a tooltip and zoom to the same drawing (html/src/chart.ts).
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "output/report/hue.hpp"

namespace platetally::report {

/// How the values of a series are drawn.
enum class SeriesShape : std::uint8_t {
  area,   ///< values[i] over edges[i] .. edges[i + 1]; areas of a panel are stacked, first lowest
  line,   ///< the same as a line in steps, not stacked
  slope,  ///< values[i] at edges[i], joined by straight lines
  band,   ///< low[i] .. values[i] at edges[i], filled
};

struct ChartSeries {
  std::string name;
  Hue hue = Hue::other;
  std::vector<double> values;  ///< NaN: not known
  SeriesShape shape = SeriesShape::area;
  std::vector<double> low = {};  ///< of a band
};

/// Something that lasts, in a lane.
struct LaneSpan {
  double from = 0.0, to = 0.0;  ///< on the axis
  std::string words;            ///< what it is: written into it where there is room; may be empty
  Hue hue = Hue::first;
  std::string paint = {};  ///< a colour of its own, "#f0c814" or a plain word, such as a filament's
};
struct ChartLane {
  std::string name;
  std::vector<LaneSpan> spans;  ///< in order
};

/// A panel has series or lanes.
struct ChartPanel {
  std::string title;
  std::string unit;  ///< of the values: "s", "g", "Wh", "W", "" for counts, a currency
  std::vector<ChartSeries> series = {};
  std::vector<ChartLane> lanes = {};
  int height_px = 56;
  std::string key_title = {};  ///< of a key that stands for several panels; empty: the title
  double shown = 0.0;  ///< at its upper edge, where panels are read against each other; 0: its own
};
/// Gives panels one scale, which shows as much as the one that needs most.
void put_on_one_scale(const std::vector<ChartPanel*>& panels, const std::vector<double>& edges);

/// A line across all panels: a moment that matters.
struct ChartMark {
  double at = 0.0;
  std::string words;
};

enum class ChartAxis : std::uint8_t {
  layer,   ///< edges count layers
  time,    ///< edges are seconds; labels h:min
  years,   ///< edges are years
  height,  ///< edges are mm above the bed
};

struct Chart {
  std::string id;       ///< of its element, unique in the page
  std::string label;    ///< what it shows, for those who cannot see it
  std::string caption;  ///< below it
  ChartAxis axis = ChartAxis::layer;
  std::vector<double> edges;  ///< ascending
  std::vector<ChartPanel> panels;
  std::vector<ChartMark> marks = {};
  // Of layers: what each column is. On a time axis layer_start_s tells the layer of a moment.
  std::vector<double> layer_index = {};
  std::vector<double> layer_z_mm = {};
  std::vector<double> layer_first_line = {};
  std::vector<double> layer_start_s = {};

  bool has_something() const { return edges.size() > 1 && !panels.empty(); }
};

/// Adds a series unless all of it is zero.
void add_if_any(ChartPanel& panel, ChartSeries series);

/// Where any span begins or ends, ascending: edges for a chart of lanes alone.
std::vector<double> edges_of(const std::vector<ChartLane>& lanes);

/// The largest value that a panel shows: all of them, unless a short spike (above twice what nine
/// tenths of the axis stay below) would flatten the rest. Then what is above is cut off, and said.
struct PanelScale {
  double most = 1.0;   ///< of all that the panel holds
  double shown = 1.0;  ///< at its upper edge
  bool is_cut() const { return shown < most; }
};
PanelScale scale_of(const ChartPanel& panel, const std::vector<double>& edges);

/// Values of ticks: 1, 2 or 5 times a power of ten, about `count` of them up to `most`, 0 first.
std::vector<double> ticks_up_to(double most, int count);
/// Where the axis is labelled, and how: (value, words). The last is the end of the axis.
std::vector<std::pair<double, std::string>> axis_ticks(const Chart& chart, int count);
/// How moments are written: "12:30" in hours and minutes; below ten minutes with seconds.
enum class TimeLabels : std::uint8_t { hours_minutes, minutes_seconds, all };
TimeLabels time_labels(double from_s, double to_s);
/// "h:min", "min:s" or "h:min:s".
std::string_view name_of(TimeLabels labels);
std::string time_words(double seconds, TimeLabels labels);

/// Its HTML, and its data as JSON with six significant digits at most.
std::string html_of(const Chart& chart);
std::string json_of(const Chart& chart);

}  // namespace platetally::report
