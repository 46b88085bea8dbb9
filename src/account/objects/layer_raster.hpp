// The strokes of the one layer that a picture is wanted of, as a finer raster of its own.
//
// Wanted is the lowest layer whose top reaches a height. Which one that is shows while the plate is
// read: a layer that fits better takes the place of the one kept so far.
#pragma once

#include <cstdint>
#include <optional>

#include "account/objects/cell_tiles.hpp"
#include "account/objects/island_raster.hpp"
#include "platetally/machine.hpp"

namespace platetally::objects {

class LayerRaster {
 public:
  static constexpr double kCellMm = 0.4;

  LayerRaster(const BuildArea& area, double at_mm);

  /// Whether strokes of this layer are to be drawn; z: of the stroke.
  bool wants(std::uint32_t layer, double z_mm) {
    return layer == layer_ ? is_wanted_ : decide(layer, z_mm);
  }
  void begin(double x_mm, double y_mm) {
    x_mm_ = x_mm;
    y_mm_ = y_mm;
  }
  void go(double x_mm, double y_mm, Label label, int tool);

  /// Nothing so far reaches so high.
  bool empty() const { return !z_mm_; }
  double z_mm() const { return *z_mm_; }
  const CellTiles& cells() const { return cells_; }
  CellTiles& cells() { return cells_; }
  bool overflows() const { return overflows_; }

 private:
  bool decide(std::uint32_t layer, double z_mm);

  CellTiles cells_;
  double at_mm_;
  std::optional<double> z_mm_;  ///< of the layer kept
  std::uint32_t kept_ = 0;      ///< its ordinal
  std::uint32_t newest_ = 0;    ///< highest ordinal that was met
  std::uint32_t layer_ = UINT32_MAX;
  bool is_wanted_ = false;
  bool overflows_ = false;
  double x_mm_ = 0.0;
  double y_mm_ = 0.0;
};

}  // namespace platetally::objects
