// Filament in mm by layer, tool and use: the one place where it is counted. Grams and mm3 are
// worked out where they are shown, and a verdict moves filament from one use to another here.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <vector>

#include "material/swaps/use.hpp"

namespace platetally::swaps {

class MaterialBook {
 public:
  explicit MaterialBook(std::size_t tools) : tools_(tools) {}

  /// Filament that a move feeds, or draws back (below 0).
  void add(std::uint32_t layer, std::size_t tool, Use use, double mm) {
    cell(layer, tool).by_use_mm[static_cast<std::size_t>(use)] += mm;
  }
  /// Counts filament that was added as one use as another after all.
  void move(std::uint32_t layer, std::size_t tool, Use from, Use to, double mm) {
    add(layer, tool, from, -mm);
    add(layer, tool, to, mm);
  }
  /// Purged by the machine's own macro: not fed by E words, and in no use.
  void add_hidden(std::uint32_t layer, std::size_t tool, double mm) {
    cell(layer, tool).hidden_mm += mm;
  }

  /// What a tool got in a layer; nothing where the plate has no such layer.
  struct Cell {
    std::array<double, kUses> by_use_mm{};
    double hidden_mm = 0.0;
    double of(Use use) const { return by_use_mm[static_cast<std::size_t>(use)]; }
    /// Net: what is drawn back and what is returned cancel.
    double fed_mm() const { return laid_mm() + of(Use::none); }
    /// Laid or fed at rest, but for retractions and their returns.
    double laid_mm() const { return of(Use::part) + of(Use::purge) + of(Use::start_up); }
    double part_mm() const { return of(Use::part) + of(Use::none); }
    Cell& operator+=(const Cell& other) {
      for (std::size_t use = 0; use < kUses; ++use)
        by_use_mm[use] += other.by_use_mm[use];
      hidden_mm += other.hidden_mm;
      return *this;
    }
  };
  Cell at(std::uint32_t layer, std::size_t tool) const {
    const std::size_t index = layer * tools_ + tool;
    return index < cells_.size() ? cells_[index] : Cell{};
  }
  /// Of a tool, over the plate.
  Cell of_tool(std::size_t tool) const {
    Cell sum;
    for (std::size_t index = tool; index < cells_.size(); index += tools_)
      sum += cells_[index];
    return sum;
  }
  /// Of all tools, in a layer.
  Cell of_layer(std::uint32_t layer) const {
    Cell sum;
    for (std::size_t tool = 0; tool < tools_; ++tool)
      sum += at(layer, tool);
    return sum;
  }
  std::size_t tools() const { return tools_; }

 private:
  Cell& cell(std::uint32_t layer, std::size_t tool) {
    const std::size_t index = layer * tools_ + tool;
    if (index >= cells_.size()) [[unlikely]]
      cells_.resize((layer + std::size_t{1}) * tools_);
    return cells_[index];
  }

  std::size_t tools_;
  std::vector<Cell> cells_;  ///< layer by layer, tools in a row
};

}  // namespace platetally::swaps
