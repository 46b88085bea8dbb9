#include "account/ledgers/heat_rows.hpp"

#include <algorithm>
#include <bit>

namespace platetally::ledgers {

namespace {

std::uint64_t count_of(std::uint64_t bits) {
  return static_cast<std::uint64_t>(std::popcount(bits));
}

void write_layers(const heat::HeatResult& heat, const std::vector<std::size_t>& ordinals,
                  const std::vector<std::uint32_t>& start_layers, Account& account) {
  for (std::size_t i = 0; i < account.layers.size(); ++i) {
    const heat::LayerHeat row =
        ordinals[i] < heat.layers.size() ? heat.layers[ordinals[i]] : heat::LayerHeat{};
    LayerAccount& layer = account.layers[i];
    layer.start_s = std::max(0.0, row.start_s);
    layer.time_by.heat_wait_s = row.wait_s;
    layer.energy_by = row.energy;
    layer.bed_zones_active = count_of(row.zones_active);
    layer.bed_zones_warm = count_of(row.zones_warm);
  }
  for (const std::uint32_t ordinal : start_layers) {
    if (ordinal >= heat.layers.size() || account.layers.empty())
      continue;
    const heat::LayerHeat& row = heat.layers[ordinal];
    LayerAccount& before = account.layers.front();
    before.time_by.heat_wait_s += row.wait_s;
    before.energy_by += row.energy;
    before.bed_zones_active = std::max(before.bed_zones_active, count_of(row.zones_active));
    before.bed_zones_warm = std::max(before.bed_zones_warm, count_of(row.zones_warm));
  }
}

void write_tools(const heat::HeatResult& heat, Account& account) {
  for (ToolAccount& tool : account.tools) {
    const auto number = static_cast<std::size_t>(tool.tool);
    const heat::ToolHeat row = number < heat.tools.size() ? heat.tools[number] : heat::ToolHeat{};
    tool.active_s = row.active_s;
    tool.standby_s = row.standby_s;
    tool.energy_wh = row.energy_wh;
  }
}

void write_zones(const heat::HeatResult& heat, const Bed& bed, Account& account) {
  account.bed_zones.clear();
  for (int row = 0; row < bed.rows; ++row)
    for (int column = 0; column < bed.columns; ++column) {
      const auto place = static_cast<std::size_t>(row * bed.columns + column);
      const heat::ZoneHeat zone = place < heat.zones.size() ? heat.zones[place] : heat::ZoneHeat{};
      account.bed_zones.push_back(
          {row, column, zone.active_s, zone.neighbour_s, zone.energy_wh, zone.peak_c});
    }
}

}  // namespace

void write_heat_rows(const heat::HeatResult& heat, const std::vector<std::size_t>& ordinals,
                     const Machine& machine, Account& account,
                     const std::vector<std::uint32_t>& start_layers) {
  write_layers(heat, ordinals, start_layers, account);
  write_tools(heat, account);
  write_zones(heat, machine.bed, account);
  Totals& totals = account.totals;
  totals.peak_power_w = heat.peak_power_w;
  totals.peak_quarter_hour_w = heat.peak_quarter_hour_w;
  totals.connected_load_w = heat.connected_load_w;
  totals.bed_zones_used = count_of(heat.zones_used);
  totals.energy_residual = heat.book_residual;
}

void sum_layers(Account& account) {
  Totals& totals = account.totals;
  totals.time_by = {};
  totals.energy_by = {};
  totals.part_g = totals.purge_g = totals.start_up_g = 0.0;
  totals.swaps = 0;
  for (const LayerAccount& layer : account.layers) {
    totals.time_by += layer.time_by;
    totals.energy_by += layer.energy_by;
    totals.part_g += layer.part_g;
    totals.purge_g += layer.purge_g;
    totals.start_up_g += layer.start_up_g;
    totals.swaps += layer.swaps;
  }
  totals.energy_wh = totals.energy_by.sum_wh();
  totals.layers = account.layers.empty() ? 0 : account.layers.size() - 1;
}

}  // namespace platetally::ledgers
