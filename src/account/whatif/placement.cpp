// All placements of a footprint on the grid of heated zones.
#include "account/whatif/placement.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

namespace platetally::whatif {

namespace {

constexpr std::ptrdiff_t kMostPlaces = 200;
constexpr double kSame = 1e-9;
constexpr std::ptrdiff_t kBetweenCopies = 2;  // cells: 5 mm (assumed)

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

  /// Zones that are heated with everything moved by so many cells. `surely`: only those above
  /// which a whole cell lies; what lies in a cell across a zone's edge may lie beside it.
  double of(std::ptrdiff_t shift_columns, std::ptrdiff_t shift_rows, bool surely = false) const {
    return weight_of(active(shift_columns, shift_rows, surely));
  }

  std::vector<bool> active(std::ptrdiff_t shift_columns, std::ptrdiff_t shift_rows,
                           bool surely = false) const {
    std::vector<bool> active(static_cast<std::size_t>(bed_.rows) *
                             static_cast<std::size_t>(bed_.columns));
    for (int row = 0; row < bed_.rows; ++row)
      for (int column = 0; column < bed_.columns; ++column)
        active[place_of(column, row)] = is_active(column, row, shift_columns, shift_rows, surely);
    return active;
  }

  /// Active zones, and warm ones by their share.
  double weight_of(const std::vector<bool>& active) const {
    double weight = 0.0;
    for (int row = 0; row < bed_.rows; ++row)
      for (int column = 0; column < bed_.columns; ++column)
        weight += active[place_of(column, row)]               ? 1.0
                  : has_active_neighbour(active, column, row) ? bed_.neighbour_fraction
                                                              : 0.0;
    return weight;
  }

 private:
  bool is_active(int column, int row, std::ptrdiff_t shift_columns, std::ptrdiff_t shift_rows,
                 bool surely) const {
    const double width_mm = bed_.width_mm / bed_.columns;
    const double depth_mm = bed_.depth_mm / bed_.rows;
    const auto cell = [](double at_mm, double origin_mm) {
      return (at_mm - origin_mm) / ledgers::Footprint::kCellMm;
    };
    const double left = cell(bed_.x_min_mm + column * width_mm, footprint_.x_min_mm());
    const double right = cell(bed_.x_min_mm + (column + 1) * width_mm, footprint_.x_min_mm());
    const double front = cell(bed_.y_min_mm + row * depth_mm, footprint_.y_min_mm());
    const double back = cell(bed_.y_min_mm + (row + 1) * depth_mm, footprint_.y_min_mm());
    const auto down = [&](double value) {
      return static_cast<std::ptrdiff_t>(surely ? std::ceil(value) : std::floor(value));
    };
    const auto up = [&](double value) {
      return static_cast<std::ptrdiff_t>(surely ? std::floor(value) : std::ceil(value));
    };
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

/// The cells that something lies on, both ends included; right < 0: nothing lies there.
struct Extent {
  std::ptrdiff_t left, right, front, back;
};

Extent extent_of(const ledgers::Footprint& footprint) {
  Extent extent{static_cast<std::ptrdiff_t>(footprint.columns()), -1,
                static_cast<std::ptrdiff_t>(footprint.rows()), -1};
  for (std::size_t row = 0; row < footprint.rows(); ++row)
    for (std::size_t column = 0; column < footprint.columns(); ++column)
      if (footprint.laid(column, row)) {
        const auto x = static_cast<std::ptrdiff_t>(column);
        const auto y = static_cast<std::ptrdiff_t>(row);
        extent.left = std::min(extent.left, x);
        extent.right = std::max(extent.right, x);
        extent.front = std::min(extent.front, y);
        extent.back = std::max(extent.back, y);
      }
  return extent;
}

/// Adds `copy`, moved by whole cells; what leaves the raster is lost.
void put(const ledgers::Footprint& copy, std::ptrdiff_t shift_columns, std::ptrdiff_t shift_rows,
         ledgers::Footprint& onto) {
  for (std::size_t row = 0; row < copy.rows(); ++row)
    for (std::size_t column = 0; column < copy.columns(); ++column) {
      const std::ptrdiff_t x = static_cast<std::ptrdiff_t>(column) + shift_columns;
      const std::ptrdiff_t y = static_cast<std::ptrdiff_t>(row) + shift_rows;
      if (copy.laid(column, row) && x >= 0 && y >= 0 &&
          x < static_cast<std::ptrdiff_t>(onto.columns()) &&
          y < static_cast<std::ptrdiff_t>(onto.rows()))
        onto.take_cell(copy, column, row, static_cast<std::size_t>(x), static_cast<std::size_t>(y));
    }
}

/// Whether a waste area of the machine meets the cells.
bool meets_waste(const Machine& machine, const ledgers::Footprint& raster, const Extent& cells) {
  constexpr double kCellMm = ledgers::Footprint::kCellMm;
  const double x_from_mm = raster.x_min_mm() + static_cast<double>(cells.left) * kCellMm;
  const double x_to_mm = raster.x_min_mm() + static_cast<double>(cells.right + 1) * kCellMm;
  const double y_from_mm = raster.y_min_mm() + static_cast<double>(cells.front) * kCellMm;
  const double y_to_mm = raster.y_min_mm() + static_cast<double>(cells.back + 1) * kCellMm;
  return std::ranges::any_of(machine.waste_areas, [&](const WasteArea& waste) {
    return waste.x_min_mm < x_to_mm && waste.x_max_mm > x_from_mm && waste.y_min_mm < y_to_mm &&
           waste.y_max_mm > y_from_mm;
  });
}

/// Looks for a place for one more copy.
class CopyPlace {
 public:
  CopyPlace(const ledgers::Footprint& copy, const Machine& machine, const ledgers::Footprint& onto)
      : machine_(machine),
        onto_(onto),
        extent_(extent_of(copy)),
        taken_(onto),
        weights_(copy, machine),
        heated_(ZoneWeights(onto, machine).active(0, 0)) {}

  /// Found with shift_x, shift_y in cells; the nearest of those that heat fewest zones.
  bool find(bool straight) {
    const auto columns = static_cast<std::ptrdiff_t>(onto_.columns());
    const auto rows = static_cast<std::ptrdiff_t>(onto_.rows());
    const std::ptrdiff_t step_x = 1 + (columns - 1 - extent_.right + extent_.left) / kMostPlaces;
    const std::ptrdiff_t step_y = 1 + (rows - 1 - extent_.back + extent_.front) / kMostPlaces;
    for (std::ptrdiff_t dy = -extent_.front; dy <= rows - 1 - extent_.back; dy += step_y)
      for (std::ptrdiff_t dx = -extent_.left; dx <= columns - 1 - extent_.right; dx += step_x)
        if (!straight || dx == 0 || dy == 0)
          look_at(dx, dy);
    return found_;
  }
  std::ptrdiff_t shift_x() const { return best_x_; }
  std::ptrdiff_t shift_y() const { return best_y_; }

 private:
  void look_at(std::ptrdiff_t dx, std::ptrdiff_t dy) {
    const Extent there{extent_.left + dx, extent_.right + dx, extent_.front + dy,
                       extent_.back + dy};
    if (taken_.within(there.left - kBetweenCopies, there.right + 1 + kBetweenCopies,
                      there.front - kBetweenCopies, there.back + 1 + kBetweenCopies) > 0 ||
        meets_waste(machine_, onto_, there))
      return;
    std::vector<bool> active = weights_.active(dx, dy);
    for (std::size_t i = 0; i < active.size(); ++i)
      active[i] = active[i] || heated_[i];
    const double zones = weights_.weight_of(active);
    const double length = std::hypot(static_cast<double>(dx), static_cast<double>(dy));
    if (found_ &&
        (zones > best_zones_ + kSame || (zones > best_zones_ - kSame && length >= shortest_)))
      return;
    found_ = true;
    best_zones_ = zones;
    shortest_ = length;
    best_x_ = dx;
    best_y_ = dy;
  }

  const Machine& machine_;
  const ledgers::Footprint& onto_;
  Extent extent_;
  CellSums taken_;
  ZoneWeights weights_;
  std::vector<bool> heated_;
  bool found_ = false;
  double best_zones_ = 0.0;
  double shortest_ = 0.0;
  std::ptrdiff_t best_x_ = 0;
  std::ptrdiff_t best_y_ = 0;
};

}  // namespace

Placement best_placement(const ledgers::Footprint& footprint, const Machine& machine) {
  Placement best;
  const auto columns = static_cast<std::ptrdiff_t>(footprint.columns());
  const auto rows = static_cast<std::ptrdiff_t>(footprint.rows());
  const auto [left, right, front, back] = extent_of(footprint);
  if (right < 0 || machine.bed.zone_policy == ZonePolicy::whole_bed ||
      machine.bed.rows * machine.bed.columns < 2)
    return best;
  const ZoneWeights weights(footprint, machine);
  best.zones_now = weights.of(0, 0);
  best.zones_then = best.zones_now;
  double shortest = 0.0;
  double doubtful = 0.0;  // zones of the best place that it heats only perhaps
  // Huge areas are searched in coarser steps: at most some hundred places along each axis.
  const std::ptrdiff_t step_x = 1 + (columns - 1 - right + left) / kMostPlaces;
  const std::ptrdiff_t step_y = 1 + (rows - 1 - back + front) / kMostPlaces;
  for (std::ptrdiff_t dy = -front; dy <= rows - 1 - back; dy += step_y)
    for (std::ptrdiff_t dx = -left; dx <= columns - 1 - right; dx += step_x) {
      const double zones = weights.of(dx, dy);
      if (zones >= best.zones_now - kSame || zones > best.zones_then + kSame)
        continue;
      const double length = std::hypot(static_cast<double>(dx), static_cast<double>(dy));
      const double perhaps = zones - weights.of(dx, dy, true);
      if (zones < best.zones_then - kSame || perhaps < doubtful - kSame ||
          (perhaps < doubtful + kSame && length < shortest)) {
        best.zones_then = zones;
        doubtful = perhaps;
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
  return picture;
}

ledgers::Footprint moved(const ledgers::Footprint& footprint, double shift_x_mm,
                         double shift_y_mm) {
  ledgers::Footprint there = footprint.empty_like();
  put(footprint, std::lround(shift_x_mm / ledgers::Footprint::kCellMm),
      std::lround(shift_y_mm / ledgers::Footprint::kCellMm), there);
  return there;
}

std::optional<Copies> repeated(const ledgers::Footprint& footprint, int times,
                               const Machine& machine) {
  constexpr double kCellMm = ledgers::Footprint::kCellMm;
  const ledgers::Footprint part = without_purge(footprint);
  if (extent_of(part).right < 0)
    return std::nullopt;
  Copies copies{footprint, {}};
  for (int copy = 1; copy < times; ++copy) {
    CopyPlace place(part, machine, copies.footprint);
    if (!place.find(true) && !place.find(false))
      return std::nullopt;
    put(part, place.shift_x(), place.shift_y(), copies.footprint);
    copies.shifts_mm.emplace_back(static_cast<double>(place.shift_x()) * kCellMm,
                                  static_cast<double>(place.shift_y()) * kCellMm);
  }
  return copies;
}

std::optional<ledgers::Footprint> with_tower(const ledgers::Footprint& footprint, double side_mm,
                                             std::uint32_t last_layer, const Machine& machine) {
  constexpr double kCellMm = ledgers::Footprint::kCellMm;
  const Extent extent = extent_of(footprint);
  if (extent.right < 0)
    return std::nullopt;
  // First where the plate begins, so that the nearest free place is one beside it.
  ledgers::Footprint tower = footprint.empty_like();
  const double x_mm = footprint.x_min_mm() + static_cast<double>(extent.left) * kCellMm;
  const double y_mm = footprint.y_min_mm() + static_cast<double>(extent.front) * kCellMm;
  for (double along_mm = 0.5 * kCellMm; along_mm < side_mm; along_mm += kCellMm) {
    interpreter::Move move{};
    move.from_mm = {x_mm + 0.5 * kCellMm, y_mm + along_mm, 0.0};
    move.to_mm = {x_mm + std::max(side_mm, kCellMm) - 0.5 * kCellMm, y_mm + along_mm, 0.0};
    tower.add_purge(move, last_layer);
  }
  ledgers::Footprint both = footprint;
  CopyPlace place(tower, machine, footprint);
  if (!place.find(false))
    return std::nullopt;
  put(tower, place.shift_x(), place.shift_y(), both);
  return both;
}

ledgers::Footprint without_purge(const ledgers::Footprint& footprint) {
  ledgers::Footprint part = footprint.empty_like();
  for (std::size_t row = 0; row < footprint.rows(); ++row)
    for (std::size_t column = 0; column < footprint.columns(); ++column)
      if (!footprint.holds_purge(column, row))
        part.take_cell(footprint, column, row, column, row);
  return part;
}

std::vector<std::uint64_t> tiles_by_layer(const ledgers::Footprint& footprint, const Bed& bed,
                                          std::size_t layers) {
  std::vector<std::uint64_t> tiles(layers, 0);
  constexpr double kCellMm = ledgers::Footprint::kCellMm;
  constexpr double kEdgeMm = 1e-6;  // a cell that ends on a tile's edge does not lie on the next
  const auto tile_at = [](double mm, double origin_mm, double size_mm, int count) {
    return std::clamp(static_cast<int>(std::floor((mm - origin_mm) * count / size_mm)), 0,
                      count - 1);
  };
  for (std::size_t row = 0; row < footprint.rows(); ++row)
    for (std::size_t column = 0; column < footprint.columns(); ++column) {
      if (!footprint.laid(column, row))
        continue;
      const double x_mm = footprint.x_min_mm() + static_cast<double>(column) * kCellMm;
      const double y_mm = footprint.y_min_mm() + static_cast<double>(row) * kCellMm;
      if (x_mm + kCellMm <= bed.x_min_mm || x_mm >= bed.x_min_mm + bed.width_mm ||
          y_mm + kCellMm <= bed.y_min_mm || y_mm >= bed.y_min_mm + bed.depth_mm)
        continue;
      const std::size_t layer =
          std::min<std::size_t>(footprint.last_layer(column, row), layers - 1);
      for (int r = tile_at(y_mm, bed.y_min_mm, bed.depth_mm, bed.rows);
           r <= tile_at(y_mm + kCellMm - kEdgeMm, bed.y_min_mm, bed.depth_mm, bed.rows); ++r)
        for (int c = tile_at(x_mm, bed.x_min_mm, bed.width_mm, bed.columns);
             c <= tile_at(x_mm + kCellMm - kEdgeMm, bed.x_min_mm, bed.width_mm, bed.columns); ++c)
          tiles[layer] |= std::uint64_t{1} << (r * bed.columns + c);
    }
  return tiles;
}

}  // namespace platetally::whatif
