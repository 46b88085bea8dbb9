#include "truth.hpp"

#include <fmt/format.h>

#include <nlohmann/json.hpp>

namespace plate_maker {

namespace {

/// Nine decimals: the same text from every compiler's last bit.
double rounded(double value) {
  return std::stod(fmt::format("{:.9f}", value));
}

}  // namespace

std::string to_json(const Truth& truth) {
  nlohmann::ordered_json json;
  json["lines"] = truth.lines;
  json["layers"] = truth.layers.size();
  json["swaps"] = truth.swaps;
  json["tool_selects"] = truth.tool_selects;
  json["start_up_mm3"] = rounded(truth.start_up_mm3);
  json["part_box_mm"] = {rounded(truth.x_min_mm), rounded(truth.x_max_mm), rounded(truth.y_min_mm),
                         rounded(truth.y_max_mm)};
  double purge_mm3 = 0.0;
  for (int tool = 0; tool < kMostTools; ++tool) {
    const auto index = static_cast<std::size_t>(tool);
    purge_mm3 += truth.purge_mm3[index];
    if (truth.filament_mm[index] != 0.0)
      json["tools"].push_back({{"tool", tool},
                               {"filament_mm", rounded(truth.filament_mm[index])},
                               {"purge_mm3", rounded(truth.purge_mm3[index])}});
  }
  json["purge_mm3"] = rounded(purge_mm3);
  json["pairs"] = nlohmann::ordered_json::array();
  for (const auto& [pair, count] : truth.pairs)
    json["pairs"].push_back({{"from", pair.first}, {"to", pair.second}, {"count", count}});
  json["by_layer"] = nlohmann::ordered_json::array();
  for (const LayerTruth& layer : truth.layers)
    json["by_layer"].push_back({{"z_mm", rounded(layer.z_mm)},
                                {"order", layer.order},
                                {"swaps", layer.swaps},
                                {"part_mm3", rounded(layer.part_mm3)},
                                {"purge_mm3", rounded(layer.purge_mm3)}});
  return json.dump(1) + "\n";
}

}  // namespace plate_maker
