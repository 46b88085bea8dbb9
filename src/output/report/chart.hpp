// Values over a common axis, as a drawing and as data for the page's script.
#pragma once

#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace platetally {
struct Account;
}

namespace platetally::report {

struct ChartSeries {
  std::string name;
  std::string unit;
  std::vector<double> values;  ///< [i] lies over edges[i] .. edges[i + 1]; NaN: not known
};

struct ChartColumns {
  std::vector<double> edges;  ///< one more than values; ascending
  std::vector<ChartSeries> series;
};

/// Swaps, purge and watt-hours by layer; empty series where nothing is other than zero are left
/// out.
ChartColumns layer_columns(const Account& account);

/// Mean watts by component over time in seconds.
ChartColumns power_columns(const Account& account);

/// {"edges": [...], "series": [{"name": ..., "unit": ..., "values": [...]}]}; `<` is escaped, what
/// is not finite is null, six significant digits.
std::string to_json(const ChartColumns& columns);
std::string json_of(std::span<const double> values);

/// An SVG with a panel a series, in steps; means over at least two pixels. `axis` names the x axis,
/// `scale` divides its values for people.
std::string drawn_panels(const ChartColumns& columns, std::string_view axis, double scale);

/// An SVG of all series, one on top of the other.
std::string drawn_stack(const ChartColumns& columns, std::string_view axis, double scale);

/// An SVG of the first series as an area and the second as a line over it; a gap where a value is
/// not known.
std::string drawn_overlay(const ChartColumns& columns, std::string_view axis, double scale);

}  // namespace platetally::report
