// All placements of a footprint on the grid of heated zones.
#include <algorithm>
#include <cmath>
#include <limits>

#include "account/findings/savings.hpp"
#include "platetally/account.hpp"

namespace platetally::findings {

namespace {

constexpr std::ptrdiff_t kMostPlaces = 200;

/// Sums over rectangles of cells in four look-ups.
class CellSums {
 public:
  explicit CellSums(const ledgers::Footprint& footprint)
      : columns_(footprint.columns()),
        rows_(footprint.rows()),
        sums_((columns_ + 1) * (rows_ + 1), 0) {
    for (std::size_t row = 0; row < rows_; ++row)
      for (std::size_t column = 0; column < columns_; ++column)
        at(column + 1, row + 1) = at(column, row + 1) + at(column + 1, row) - at(column, row) +
                                  (footprint.laid(column, row) ? 1 : 0);
  }
  /// Laid cells with columns from..to and rows from..to, the last ones left out; clamped.
  std::int64_t within(std::ptrdiff_t x_from, std::ptrdiff_t x_to, std::ptrdiff_t y_from,
                      std::ptrdiff_t y_to) const {
    const auto clamp = [](std::ptrdiff_t value, std::size_t most) {
      return static_cast<std::size_t>(
          std::clamp<std::ptrdiff_t>(value, 0, static_cast<std::ptrdiff_t>(most)));
    };
    const std::size_t x0 = clamp(x_from, columns_);
    const std::size_t x1 = clamp(x_to, columns_);
    const std::size_t y0 = clamp(y_from, rows_);
    const std::size_t y1 = clamp(y_to, rows_);
    return x0 >= x1 || y0 >= y1 ? 0 : get(x1, y1) - get(x0, y1) - get(x1, y0) + get(x0, y0);
  }

 private:
  std::int64_t& at(std::size_t column, std::size_t row) {
    return sums_[row * (columns_ + 1) + column];
  }
  std::int64_t get(std::size_t column, std::size_t row) const {
    return sums_[row * (columns_ + 1) + column];
  }

  std::size_t columns_;
  std::size_t rows_;
  std::vector<std::int64_t> sums_;
};

class ZoneWeights {
 public:
  ZoneWeights(const ledgers::Footprint& footprint, const Machine& machine)
      : bed_(machine.bed), sums_(footprint), footprint_(footprint) {}

  std::size_t place_of(int column, int row) const {
    return static_cast<std::size_t>(row) * static_cast<std::size_t>(bed_.columns) +
           static_cast<std::size_t>(column);
  }

  /// Zones that are heated with everything moved by so many cells.
  double of(std::ptrdiff_t shift_columns, std::ptrdiff_t shift_rows) const {
    std::vector<bool> active(static_cast<std::size_t>(bed_.rows) *
                             static_cast<std::size_t>(bed_.columns));
    for (int row = 0; row < bed_.rows; ++row)
      for (int column = 0; column < bed_.columns; ++column)
        active[place_of(column, row)] = is_active(column, row, shift_columns, shift_rows);
    double weight = 0.0;
    for (int row = 0; row < bed_.rows; ++row)
      for (int column = 0; column < bed_.columns; ++column)
        weight += active[place_of(column, row)]               ? 1.0
                  : has_active_neighbour(active, column, row) ? bed_.neighbour_fraction
                                                              : 0.0;
    return weight;
  }

 private:
  bool is_active(int column, int row, std::ptrdiff_t shift_columns,
                 std::ptrdiff_t shift_rows) const {
    const double width_mm = bed_.width_mm / bed_.columns;
    const double depth_mm = bed_.depth_mm / bed_.rows;
    const auto cell = [](double at_mm, double origin_mm) {
      return (at_mm - origin_mm) / ledgers::Footprint::kCellMm;
    };
    const double left = cell(bed_.x_min_mm + column * width_mm, footprint_.x_min_mm());
    const double right = cell(bed_.x_min_mm + (column + 1) * width_mm, footprint_.x_min_mm());
    const double front = cell(bed_.y_min_mm + row * depth_mm, footprint_.y_min_mm());
    const double back = cell(bed_.y_min_mm + (row + 1) * depth_mm, footprint_.y_min_mm());
    const auto down = [](double value) { return static_cast<std::ptrdiff_t>(std::floor(value)); };
    const auto up = [](double value) { return static_cast<std::ptrdiff_t>(std::ceil(value)); };
    return sums_.within(down(left) - shift_columns, up(right) - shift_columns,
                        down(front) - shift_rows, up(back) - shift_rows) > 0;
  }
  bool has_active_neighbour(const std::vector<bool>& active, int column, int row) const {
    if (bed_.zone_policy == ZonePolicy::whole_bed || bed_.neighbour_count == 0)
      return false;
    for (int dy = -1; dy <= 1; ++dy)
      for (int dx = -1; dx <= 1; ++dx) {
        if (bed_.neighbour_count == 4 && dx != 0 && dy != 0)
          continue;
        const int x = column + dx;
        const int y = row + dy;
        if (x >= 0 && y >= 0 && x < bed_.columns && y < bed_.rows && active[place_of(x, y)])
          return true;
      }
    return false;
  }

  const Bed& bed_;
  CellSums sums_;
  const ledgers::Footprint& footprint_;
};

}  // namespace

Placement best_placement(const ledgers::Footprint& footprint, const Machine& machine) {
  Placement best;
  const auto columns = static_cast<std::ptrdiff_t>(footprint.columns());
  const auto rows = static_cast<std::ptrdiff_t>(footprint.rows());
  std::ptrdiff_t left = columns;
  std::ptrdiff_t right = -1;
  std::ptrdiff_t front = rows;
  std::ptrdiff_t back = -1;
  for (std::ptrdiff_t row = 0; row < rows; ++row)
    for (std::ptrdiff_t column = 0; column < columns; ++column)
      if (footprint.laid(static_cast<std::size_t>(column), static_cast<std::size_t>(row))) {
        left = std::min(left, column);
        right = std::max(right, column);
        front = std::min(front, row);
        back = std::max(back, row);
      }
  if (right < 0 || machine.bed.zone_policy == ZonePolicy::whole_bed ||
      machine.bed.rows * machine.bed.columns < 2)
    return best;
  const ZoneWeights weights(footprint, machine);
  best.zones_now = weights.of(0, 0);
  best.zones_then = best.zones_now;
  double shortest = 0.0;
  // Huge areas are searched in coarser steps: at most some hundred places along each axis.
  const std::ptrdiff_t step_x = 1 + (columns - 1 - right + left) / kMostPlaces;
  const std::ptrdiff_t step_y = 1 + (rows - 1 - back + front) / kMostPlaces;
  for (std::ptrdiff_t dy = -front; dy <= rows - 1 - back; dy += step_y)
    for (std::ptrdiff_t dx = -left; dx <= columns - 1 - right; dx += step_x) {
      const double zones = weights.of(dx, dy);
      const double length = std::hypot(static_cast<double>(dx), static_cast<double>(dy));
      if (zones < best.zones_then - 1e-9 ||
          (zones < best.zones_then + 1e-9 && zones < best.zones_now - 1e-9 && length < shortest)) {
        best.zones_then = zones;
        best.shift_x_mm = static_cast<double>(dx) * ledgers::Footprint::kCellMm;
        best.shift_y_mm = static_cast<double>(dy) * ledgers::Footprint::kCellMm;
        shortest = length;
      }
    }
  return best;
}

BedPicture picture_of(const ledgers::Footprint& footprint, const Machine& machine) {
  BedPicture picture;
  picture.x_min_mm = footprint.x_min_mm();
  picture.y_min_mm = footprint.y_min_mm();
  picture.bed_x_min_mm = machine.bed.x_min_mm;
  picture.bed_y_min_mm = machine.bed.y_min_mm;
  picture.bed_width_mm = machine.bed.width_mm;
  picture.bed_depth_mm = machine.bed.depth_mm;
  picture.cell_mm = ledgers::Footprint::kCellMm;
  picture.columns = footprint.columns();
  picture.rows = footprint.rows();
  picture.laid.reserve(picture.columns * picture.rows);
  for (std::size_t row = 0; row < picture.rows; ++row)
    for (std::size_t column = 0; column < picture.columns; ++column)
      picture.laid.push_back(footprint.laid(column, row) ? 1 : 0);
  const Placement best = best_placement(footprint, machine);
  picture.shift_x_mm = best.shift_x_mm;
  picture.shift_y_mm = best.shift_y_mm;
  picture.zones_now = best.zones_now;
  picture.zones_then = best.zones_then;
  return picture;
}

}  // namespace platetally::findings
