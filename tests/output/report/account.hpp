// A hand-made account: a tray of plant labels, small enough to check by eye.
#pragma once

#include "platetally/account.hpp"

namespace platetally::test {

inline LayerAccount layer_of_labels(std::uint64_t index) {
  const auto i = static_cast<double>(index);
  LayerAccount layer;
  layer.index = index;
  layer.z_mm = 0.2 * i;
  layer.start_s = index == 0 ? 0.0 : 400.0 + 500.0 * (i - 1.0);
  layer.time_by = index == 0 ? TimeBy{0, 10, 0, 330, 60} : TimeBy{300, 80, 100, 10, 10};
  layer.swaps = index == 0 ? 0 : 2;
  layer.order = index == 0 ? std::vector<int>{} : std::vector<int>{0, 1, 4};
  layer.part_g = index == 0 ? 0.0 : 4.0 + 0.25 * i;
  layer.purge_g = index == 0 ? 0.0 : 0.5 / i;
  layer.start_up_g = index == 0 ? 0.125 : 0.0;
  layer.energy_by = {20.0, 10.0, 0.0, 2.5, 1.25, 3.0, 4.0};
  layer.bed_zones_active = 2;
  layer.bed_zones_warm = 1;
  return layer;
}

inline SwapPairAccount pair_of_labels(int from, int to, std::uint64_t count, double purge_g,
                                      std::optional<double> needed_g = std::nullopt) {
  SwapPairAccount pair;
  pair.from = from;
  pair.to = to;
  pair.count = count;
  pair.purge_g = purge_g;
  pair.needed_g = needed_g;
  return pair;
}

inline std::vector<Diagnostic> diagnostics_of_labels() {
  Diagnostic number;
  number.code = "number-malformed";
  number.severity = Severity::error;
  number.line = 812;
  number.column = 9;
  number.message = "'1..5' is no number; expected digits with one point; the line was left out";
  number.help = "write the file again";
  number.count = 4212;
  number.excerpt = "G1 X2 Y1..5 E.3";
  Diagnostic unit;
  unit.code = "extrusion-mode-assumed";
  unit.severity = Severity::note;
  unit.message = "the file does not say whether E is absolute; taken as absolute";
  return {unit, number};
}

inline Account labels_account() {
  Account account;
  account.path = "plant-labels.gcode";
  account.bytes = 6712345;
  account.made_from.add(PlateUsed{"plant-labels.gcode", "0123456789abcdef0123456789abcdef"});
  account.made_from.add(PlateUsed{"-", ""});
  account.made_from.add(MachineUsed{"changer-5", "fedcba9876543210fedcba9876543210"});
  account.made_from.set("copies", "2");
  account.made_from.set("colours", "0=\"black\"");
  account.made_from.set("copies", "3");
  account.lines = 218904;
  account.machine = "changer-5";
  for (std::uint64_t index = 0; index <= 3; ++index)
    account.layers.push_back(layer_of_labels(index));
  Totals& totals = account.totals;
  for (const LayerAccount& layer : account.layers) {
    totals.time.expected += layer.time_by.sum_s();
    totals.part_g += layer.part_g;
    totals.purge_g += layer.purge_g;
  }
  totals.time = {1810.0, totals.time.expected, 2085.5};
  totals.time_by = {900, 250, 300, 360, 90};
  totals.time_band = {{"probing", 60, 150}, {"swap", 30, 35.5}};
  totals.pause_s = 12.0;
  totals.layers = 3;
  totals.tool_selects = 8;
  totals.swaps = 6;
  totals.purge_low_g = totals.purge_g;
  totals.purge_high_g = totals.purge_g + 0.25;
  totals.purge_by = {0, 0, 0, totals.purge_g, 0};
  totals.start_up_g = 0.125;
  totals.energy_by = {80.0, 40.0, 0.0, 10.0, 5.0, 12.0, 16.0};
  totals.energy_wh = totals.energy_by.sum_wh();
  totals.energy_low_wh = 155.0;
  totals.energy_high_wh = 179.5;
  totals.mean_power_w = 308.8;
  totals.peak_power_w = 655.0;
  totals.peak_quarter_hour_w = 402.0;
  totals.connected_load_w = 910.0;
  totals.bed_zones_used = 2;
  totals.energy_residual = 3e-16;
  account.tower = {"tower", "a column that every swap visits first.", 10, 40, 200, 220, 0.9};
  account.tools = {{0, "moss green", 4, 1305.61, 5.0, 0.25, 0.125, {}, {}, 600, 900, 20.5},
                   {1, "white", 2, 812.5, 4.0, 0.5, 0, {}, {}, 400, 1100, 12.0},
                   {4, "", 2, 700.25, 4.5, 0.1666, 0, {}, {}, 300, 0, 7.5}};
  account.swap_pairs = {pair_of_labels(0, 1, 2, 0.5), pair_of_labels(1, 4, 3, 0.25, 0.2),
                        pair_of_labels(4, 0, 1, 0.1666, 0.1)};
  account.bed_zones = {{0, 0, 1500, 0, 40.25, 60.4},
                       {0, 1, 1500, 0, 38.5, 60.2},
                       {1, 0, 0, 1500, 9.75, 41.0},
                       {1, 1, 0, 0, 0, 27.0}};
  Finding finding;
  finding.code = "cheaper-order";
  finding.severity = Severity::warning;
  finding.message = "every layer begins with the same tool; carrying a tool over saves a swap";
  finding.advice = "let every layer begin with the tool in hand";
  finding.assumes = "all changes cost alike";
  finding.saves_time_s = 75.0;
  finding.saves_purge_g = 0.3;
  finding.layers = {2, 3};
  account.findings = {finding};
  account.diagnostics = diagnostics_of_labels();
  account.unaccounted = {{"M7401.3", 12, 4, "", ""}, {"WARM_SHELF", 40, 9, "", ""}};
  return account;
}

}  // namespace platetally::test
