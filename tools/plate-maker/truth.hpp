// What a generated plate really contains, counted from the values written to the file.
#pragma once

#include <array>
#include <cstdint>
#include <map>
#include <string>
#include <utility>
#include <vector>

namespace plate_maker {

inline constexpr int kMostTools = 8;

struct LayerTruth {
  double z_mm = 0.0;
  std::vector<int> order;  // tools by first appearance
  std::uint64_t swaps = 0;
  double part_mm3 = 0.0;
  double purge_mm3 = 0.0;
};

struct Truth {
  std::vector<LayerTruth> layers;  // by height, lowest first; material before the first is in none
  std::uint64_t swaps = 0;
  std::uint64_t tool_selects = 0;
  std::array<double, kMostTools> filament_mm{};  // net: retractions and their returns cancel
  std::array<double, kMostTools> purge_mm3{};
  double start_up_mm3 = 0.0;
  std::map<std::pair<int, int>, std::uint64_t> pairs;
  double x_min_mm = 1e9, x_max_mm = -1e9, y_min_mm = 1e9, y_max_mm = -1e9;  // of the part
  std::uint64_t lines = 0;
};

std::string to_json(const Truth& truth);

}  // namespace plate_maker
