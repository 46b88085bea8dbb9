// What lies on the bed, as a raster of 2.5 mm cells: for placing the plate elsewhere. Each cell
// knows the last layer that lies on it, and whether purge does; material that the machine lays in a
// place of its own (a waste area, a start-up line) is none of it.
#pragma once

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <vector>

#include "platetally/machine.hpp"
#include "reading/interpreter/rows.hpp"

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

  /// A laying move of a layer; what lies outside the build area is left out.
  void add(const interpreter::Move& move, std::uint32_t layer) {
    // An arc is taken as its chord: enough for cells of this size.
    mark_ = mark_of(layer);
    add_line(move.from_mm[0], move.from_mm[1], move.to_mm[0], move.to_mm[1]);
  }

  /// The same for purge that is laid on the bed as parts are.
  void add_purge(const interpreter::Move& move, std::uint32_t layer);

  /// Strokes `first` to `last` - 1, whose ends lie in the build area.
  void add(const interpreter::Rows& rows, std::size_t first, std::size_t last);

  /// Counts what lies in a rectangle as purge.
  void call_purge(double x_min_mm, double x_max_mm, double y_min_mm, double y_max_mm);

  /// The same raster with nothing on it.
  Footprint empty_like() const {
    Footprint empty = *this;
    empty.laid_.assign(laid_.size(), 0);
    empty.purge_.clear();
    return empty;
  }
  /// Takes over what a cell of another raster of the same cells holds, the later layer if both hold
  /// something.
  void take_cell(const Footprint& from, std::size_t from_column, std::size_t from_row,
                 std::size_t column, std::size_t row) {
    std::uint16_t& cell = laid_[row * columns() + column];
    cell = std::max(cell, from.laid_[from_row * columns() + from_column]);
    if (!from.holds_purge(from_column, from_row))
      return;
    if (purge_.empty())
      purge_.resize(laid_.size(), false);
    purge_[row * columns() + column] = true;
  }

  std::size_t columns() const { return static_cast<std::size_t>(columns_); }
  std::size_t rows() const { return static_cast<std::size_t>(rows_); }
  double x_min_mm() const { return x_min_mm_; }
  double y_min_mm() const { return y_min_mm_; }
  bool laid(std::size_t column, std::size_t row) const {
    return laid_[row * columns() + column] != 0;
  }
  /// Purge lies there, and perhaps part too.
  bool holds_purge(std::size_t column, std::size_t row) const {
    return !purge_.empty() && purge_[row * columns() + column];
  }
  /// The last layer that lies there, by ordinal; 0 where nothing does. Past 65,534 layers that one.
  std::uint32_t last_layer(std::size_t column, std::size_t row) const {
    const std::uint32_t mark = laid_[row * columns() + column];
    return mark == 0 ? 0 : mark - 1;
  }

 private:
  static std::uint16_t mark_of(std::uint32_t layer) {
    return static_cast<std::uint16_t>(std::min<std::uint32_t>(layer + 1, 65535));
  }
  void add_line(double from_x_mm, double from_y_mm, double to_x_mm, double to_y_mm);
  static std::int32_t cells(double length_mm) {
    return static_cast<std::int32_t>(std::clamp(std::ceil(length_mm / kCellMm), 1.0, 2000.0));
  }
  void mark(double x_mm, double y_mm) {
    const double column = (x_mm - x_min_mm_) * (1.0 / kCellMm);
    const double row = (y_mm - y_min_mm_) * (1.0 / kCellMm);
    if (!(column >= 0.0 && row >= 0.0 && column < columns_ && row < rows_))
      return;
    const std::size_t cell =
        static_cast<std::size_t>(row) * columns() + static_cast<std::size_t>(column);
    laid_[cell] = mark_;
    if (adds_purge_)
      purge_[cell] = true;
  }

  double x_min_mm_;
  double y_min_mm_;
  std::int32_t columns_;
  std::int32_t rows_;
  std::vector<std::uint16_t> laid_;  ///< 0: nothing; else the last layer's ordinal plus one
  std::vector<bool> purge_;          ///< empty until there is any
  std::uint16_t mark_ = 1;           ///< of what is being added
  bool adds_purge_ = false;
};

}  // namespace platetally::ledgers
