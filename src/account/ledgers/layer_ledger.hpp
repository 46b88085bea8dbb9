// Swaps, the order of tools and the deepest retraction, layer by layer. What is laid in a layer
// stands in material/swaps/material_book.hpp.
#pragma once

#include <cstdint>
#include <vector>

#include "material/swaps/material_book.hpp"
#include "motion/timeline/swap_watch.hpp"
#include "reading/interpreter/record.hpp"

namespace platetally::ledgers {

/// The most filament that was drawn back at once.
struct DeepestRetraction {
  double e_mm = 0.0;
  std::uint64_t line = 0;
  void take(double drawn_mm, std::uint64_t at_line) {
    if (drawn_mm < e_mm) {
      e_mm = drawn_mm;
      line = at_line;
    }
  }
};

struct LayerRow {
  std::uint64_t swaps = 0;
  std::vector<int> order;  ///< tools by first appearance
  DeepestRetraction deepest;
};

/// What is laid in a layer, in grams of each tool's material.
struct LayerGrams {
  double part_g = 0.0;   ///< net: retractions and their returns cancel
  double purge_g = 0.0;  ///< hidden purge included
  double start_up_g = 0.0;
  double drawn_g = 0.0;  ///< in part_g: retractions and returns
  /// What it has drawn back is returned in another layer, by the usual lengths.
  bool owes_only_retraction(const DeepestRetraction& deepest) const {
    return part_g - drawn_g >= -1e-6 && deepest.e_mm > -kLongestUsualRetraction_mm;
  }
  /// Of tubes of a metre, and tools that are unloaded; common practice, no source.
  static constexpr double kLongestUsualRetraction_mm = 100.0;
};

/// `g_per_mm`: of filament, by tool number.
LayerGrams grams_of_layer(const swaps::MaterialBook& material, std::uint32_t layer,
                          const std::vector<double>& g_per_mm);

class LayerLedger {
 public:
  explicit LayerLedger(std::size_t tools) : deepest_(tools) {}

  void add(const interpreter::Record& record, const timeline::Swap& swap);

  /// Of a tool, over the plate.
  const DeepestRetraction& deepest(std::size_t tool) const { return deepest_[tool]; }
  /// By layer ordinal.
  const std::vector<LayerRow>& layers() const { return layers_; }

 private:
  std::vector<LayerRow> layers_;
  std::vector<DeepestRetraction> deepest_;  ///< by tool
};

}  // namespace platetally::ledgers
