#include "account/objects/layer_raster.hpp"

#include <algorithm>
#include <cmath>

namespace platetally::objects {

LayerRaster::LayerRaster(const BuildArea& area, double at_mm)
    : cells_(kCellMm, 0.5 * (area.x_min_mm + area.x_max_mm), 0.5 * (area.y_min_mm + area.y_max_mm)),
      at_mm_(at_mm) {}

bool LayerRaster::decide(std::uint32_t layer, double z_mm) {
  constexpr double kRounding_mm = 1e-6;
  layer_ = layer;
  is_wanted_ = z_mm_ && layer == kept_;
  if (is_wanted_ || layer <= newest_)
    return is_wanted_;
  newest_ = layer;  // ordinals are given in the order in which layers are first met
  if (z_mm < at_mm_ - kRounding_mm || (z_mm_ && z_mm >= *z_mm_))
    return false;
  z_mm_ = z_mm;
  kept_ = layer;
  cells_.clear();
  is_wanted_ = true;
  return true;
}

void LayerRaster::go(double x_mm, double y_mm, Label label, int tool) {
  const double from_column = cells_.column_at(x_mm_);
  const double from_row = cells_.row_at(y_mm_);
  const double columns = cells_.column_at(x_mm) - from_column;
  const double rows = cells_.row_at(y_mm) - from_row;
  begin(x_mm, y_mm);
  constexpr double kMostSteps = 8000.0;
  const double steps =
      std::ceil(std::clamp(1.5 * std::max(std::abs(columns), std::abs(rows)), 1.0, kMostSteps));
  for (double step = 0.0; step <= steps; ++step) {
    const double column = from_column + columns * (step / steps);
    const double row = from_row + rows * (step / steps);
    Cell* const cell = CellTiles::holds(column, row)
                           ? cells_.make(static_cast<int>(column), static_cast<int>(row))
                           : nullptr;
    if (cell == nullptr)
      overflows_ = true;
    else
      *cell = {label, 1, static_cast<std::uint8_t>(std::max(tool, 0))};
  }
}

}  // namespace platetally::objects
