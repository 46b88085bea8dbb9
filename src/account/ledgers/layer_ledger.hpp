// Grams, swaps and the order of tools, layer by layer.
#pragma once

#include <cstdint>
#include <vector>

#include "material/swaps/purge_book.hpp"
#include "motion/planning/timed_record.hpp"
#include "motion/timeline/swap_watch.hpp"

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
  double fed_g = 0.0;    ///< net: retractions and their returns cancel
  double purge_g = 0.0;  ///< hidden purge included
  double start_up_g = 0.0;
  std::uint64_t swaps = 0;
  std::vector<int> order;  ///< tools by first appearance
  double hidden_g = 0.0;   ///< in purge_g, not in fed_g
  double drawn_g = 0.0;    ///< net grams of E-only and travelling moves: retractions and returns
  DeepestRetraction deepest;
  std::uint64_t first_line = 0;  ///< that lays material; 0: none
  void begin_by(std::uint64_t line) {
    if (line > 0 && (first_line == 0 || line < first_line))
      first_line = line;
  }
  /// Of all tools: laid or fed at rest, but for retractions and their returns.
  double laid_g() const { return fed_g - drawn_g; }
  double part_g() const { return fed_g - (purge_g - hidden_g) - start_up_g; }
  /// What it has drawn back is returned in another layer, by the usual lengths.
  bool owes_only_retraction() const {
    return part_g() - drawn_g >= -1e-6 && deepest.e_mm > -kLongestUsualRetraction_mm;
  }
  /// Of tubes of a metre, and tools that are unloaded; common practice, no source.
  static constexpr double kLongestUsualRetraction_mm = 100.0;
};

class LayerLedger {
 public:
  /// Grams per mm of filament and hidden purge per swap (mm), both by tool number.
  LayerLedger(std::vector<double> g_per_mm, std::vector<double> hidden_mm);

  void add(const motion::TimedRecord& timed, const timeline::Swap& swap, const swaps::Feed& feed);

  /// Strokes of the part, of a tool that has laid in that layer before.
  void add_strokes(std::uint32_t layer, std::size_t tool, double e_mm) {
    layers_[layer].fed_g += e_mm * g_per_mm_[tool];
  }

  /// Counts filament that was added to a layer as one use as another after all.
  void recount(std::uint32_t layer, std::size_t tool, swaps::Use from, swaps::Use to, double mm);

  /// The order of tools in a layer of both: this ledger's, then what the other adds.
  void merge(const LayerLedger& other);

  /// Of a tool, over the plate.
  const DeepestRetraction& deepest(std::size_t tool) const { return deepest_[tool]; }
  /// By layer ordinal.
  const std::vector<LayerRow>& layers() const { return layers_; }

 private:
  std::vector<double> g_per_mm_;
  std::vector<double> hidden_mm_;
  std::vector<LayerRow> layers_;
  std::vector<DeepestRetraction> deepest_;  ///< by tool
};

}  // namespace platetally::ledgers
