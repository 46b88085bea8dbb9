#include "output/report/tally_charts.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "base/units.hpp"

namespace platetally::report {

namespace {

constexpr std::size_t kMostPowerColumns = 1500;  // of a page's data; neighbours are joined

struct TimePart {
  const char* name;
  double TimeBy::*seconds;
  Hue hue;
};
constexpr TimePart kTimeParts[] = {{"print", &TimeBy::print_s, Hue::print},
                                   {"swaps", &TimeBy::swap_s, Hue::swap},
                                   {"travel", &TimeBy::travel_s, Hue::travel},
                                   {"heat waits", &TimeBy::heat_wait_s, Hue::wait},
                                   {"other", &TimeBy::other_s, Hue::other}};

struct EnergyPart {
  const char* name;
  double EnergyBy::*wh;
  Hue hue;
};
constexpr EnergyPart kEnergyParts[] = {
    {"bed", &EnergyBy::bed_wh, Hue::bed},
    {"hot ends", &EnergyBy::hot_ends_wh, Hue::hot_ends},
    {"enclosure", &EnergyBy::enclosure_wh, Hue::enclosure},
    {"motors", &EnergyBy::motors_wh, Hue::motors},
    {"fans", &EnergyBy::fans_wh, Hue::fans},
    {"electronics", &EnergyBy::electronics_wh, Hue::electronics},
    {"supply loss", &EnergyBy::supply_loss_wh, Hue::supply_loss}};

template <typename Get>
ChartSeries over_layers(const Account& account, std::string name, Hue hue, Get get) {
  ChartSeries series{std::move(name), hue, {}};
  for (const LayerAccount& layer : account.layers)
    series.values.push_back(get(layer));
  return series;
}

/// Layers in a row that a tool prints in are one span.
ChartPanel tools_panel(const Account& account) {
  ChartPanel panel{"tools", ""};
  for (const ToolAccount& tool : account.tools) {
    ChartLane lane{tool_name(account, tool.tool), {}};
    const std::string paint = paint_of(tool.colour);
    for (std::size_t i = 0; i < account.layers.size(); ++i) {
      const std::vector<int>& order = account.layers[i].order;
      if (std::ranges::find(order, tool.tool) == order.end())
        continue;
      const auto at = static_cast<double>(i);
      if (!lane.spans.empty() && lane.spans.back().to == at)
        lane.spans.back().to = at + 1.0;
      else
        lane.spans.push_back({at, at + 1.0, "", hue_of_index(panel.lanes.size()), paint});
    }
    if (!lane.spans.empty())
      panel.lanes.push_back(std::move(lane));
  }
  return panel;
}

}  // namespace

std::string tool_name(const Account& account, int tool) {
  for (const ToolAccount& one : account.tools)
    if (one.tool == tool && !one.colour.empty())
      return fmt::format("{} {}", tool, one.colour);
  return fmt::format("{}", tool);
}

std::string paint_of(std::string_view colour) {
  constexpr std::array<std::string_view, 24> kNames{
      "black", "white", "red",    "green",     "blue", "yellow",  "orange", "purple",
      "pink",  "brown", "grey",   "gray",      "cyan", "magenta", "silver", "gold",
      "beige", "ivory", "violet", "turquoise", "navy", "olive",   "teal",   "maroon"};
  if (std::ranges::find(kNames, colour) != kNames.end())
    return std::string(colour);
  const bool is_hex =
      colour.size() == 7 && colour.front() == '#' &&
      colour.find_first_not_of("0123456789abcdefABCDEF", 1) == std::string_view::npos;
  return is_hex ? std::string(colour) : "";
}

Chart layer_chart(const Account& account) {
  Chart chart;
  chart.id = "layers";
  chart.label = "time, swaps, purge, energy and tools by layer";
  chart.axis = ChartAxis::layer;
  if (account.layers.empty())
    return chart;
  for (std::size_t i = 0; i <= account.layers.size(); ++i)
    chart.edges.push_back(static_cast<double>(i));
  for (const LayerAccount& layer : account.layers) {
    chart.layer_index.push_back(static_cast<double>(layer.index));
    chart.layer_z_mm.push_back(layer.z_mm);
    chart.layer_first_line.push_back(static_cast<double>(layer.first_line));
  }
  ChartPanel time{"time", "s"};
  for (const TimePart& part : kTimeParts)
    add_if_any(time, over_layers(account, part.name, part.hue, [&](const LayerAccount& layer) {
                 return layer.time_by.*part.seconds;
               }));
  ChartPanel swaps{"swaps", "", {}, {}, 40};
  add_if_any(swaps, over_layers(account, "swaps", Hue::swap, [](const LayerAccount& layer) {
               return static_cast<double>(layer.swaps);
             }));
  ChartPanel purge{"purge", "g", {}, {}, 40};
  add_if_any(purge, over_layers(account, "purge", Hue::purge,
                                [](const LayerAccount& layer) { return layer.purge_g; }));
  ChartPanel energy{"energy", "Wh"};
  for (const EnergyPart& part : kEnergyParts)
    add_if_any(energy, over_layers(account, part.name, part.hue, [&](const LayerAccount& layer) {
                 return layer.energy_by.*part.wh;
               }));
  for (ChartPanel* panel : {&time, &swaps, &purge, &energy})
    if (!panel->series.empty())
      chart.panels.push_back(std::move(*panel));
  if (ChartPanel tools = tools_panel(account); tools.lanes.size() > 1)
    chart.panels.push_back(std::move(tools));
  return chart;
}

Chart power_chart(const Account& account) {
  Chart chart;
  chart.id = "power";
  chart.label = "watts from the wall over time";
  chart.axis = ChartAxis::time;
  if (account.power.empty())
    return chart;
  const std::size_t count = account.power.size();
  const std::size_t step = (count + kMostPowerColumns - 1) / kMostPowerColumns;
  ChartPanel panel{"power", "W", {}, {}, 220};
  for (std::size_t at = 0; at < count; at += step)
    chart.edges.push_back(account.power[at].start_s);
  chart.edges.push_back(account.power.back().start_s + account.power.back().duration_s);
  for (const EnergyPart& part : kEnergyParts) {
    ChartSeries series{part.name, part.hue, {}};
    for (std::size_t at = 0; at < count; at += step) {
      double wh = 0.0;
      double seconds = 0.0;
      for (std::size_t i = at; i < std::min(at + step, count); ++i) {
        wh += account.power[i].energy.*part.wh;
        seconds += account.power[i].duration_s;
      }
      series.values.push_back(seconds > 0.0 ? wh * base::kJoulesPerWattHour / seconds : 0.0);
    }
    add_if_any(panel, std::move(series));
  }
  if (!panel.series.empty())
    chart.panels.push_back(std::move(panel));
  for (const LayerAccount& layer : account.layers) {
    chart.layer_index.push_back(static_cast<double>(layer.index));
    chart.layer_start_s.push_back(layer.start_s);
  }
  return chart;
}

}  // namespace platetally::report
