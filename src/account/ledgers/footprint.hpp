// What lies on the bed, as a raster of 2.5 mm cells: for placing the plate elsewhere.
#pragma once

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <vector>

#include "platetally/machine.hpp"
#include "reading/interpreter/strokes.hpp"

namespace platetally::ledgers {

class Footprint {
 public:
  static constexpr double kCellMm = 2.5;

  explicit Footprint(const BuildArea& area)
      : x_min_mm_(area.x_min_mm),
        y_min_mm_(area.y_min_mm),
        columns_(cells(area.x_max_mm - area.x_min_mm)),
        rows_(cells(area.y_max_mm - area.y_min_mm)),
        laid_(columns() * rows(), 0) {}

  /// A laying move; what lies outside the build area is left out.
  void add(const interpreter::Move& move) {
    // An arc is taken as its chord: enough for cells of this size.
    add_line(move.from_mm[0], move.from_mm[1], move.to_mm[0], move.to_mm[1]);
  }

  /// Strokes `first` to `last` - 1, whose ends lie in the build area.
  void add(const interpreter::Strokes& strokes, std::size_t first, std::size_t last);

  std::size_t columns() const { return static_cast<std::size_t>(columns_); }
  std::size_t rows() const { return static_cast<std::size_t>(rows_); }
  double x_min_mm() const { return x_min_mm_; }
  double y_min_mm() const { return y_min_mm_; }
  bool laid(std::size_t column, std::size_t row) const {
    return laid_[row * columns() + column] != 0;
  }

 private:
  void add_line(double from_x_mm, double from_y_mm, double to_x_mm, double to_y_mm);
  static std::int32_t cells(double length_mm) {
    return static_cast<std::int32_t>(std::clamp(std::ceil(length_mm / kCellMm), 1.0, 2000.0));
  }
  void mark(double x_mm, double y_mm) {
    const double column = (x_mm - x_min_mm_) * (1.0 / kCellMm);
    const double row = (y_mm - y_min_mm_) * (1.0 / kCellMm);
    if (column >= 0.0 && row >= 0.0 && column < columns_ && row < rows_)
      laid_[static_cast<std::size_t>(row) * columns() + static_cast<std::size_t>(column)] = 1;
  }

  double x_min_mm_;
  double y_min_mm_;
  std::int32_t columns_;
  std::int32_t rows_;
  std::vector<std::uint8_t> laid_;
};

}  // namespace platetally::ledgers
