#include "account/objects/island_raster.hpp"

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <utility>

namespace platetally::objects {

IslandRaster::IslandRaster(const BuildArea& area)
    : cells_(kCellMm, 0.5 * (area.x_min_mm + area.x_max_mm), 0.5 * (area.y_min_mm + area.y_max_mm)),
      islands_(kFirstIsland) {
  for (Label label = 0; label < kFirstIsland; ++label)
    islands_[label].parent = label;
}

void IslandRaster::begin(double x_mm, double y_mm, double z_mm, int tool) {
  tool_ = static_cast<std::uint8_t>(std::max(tool, 0));
  z_ = height_of(z_mm);
  path_ = kNoLabel;
  at_column_ = at_row_ = -1;
  column_ = cells_.column_at(x_mm);
  row_ = cells_.row_at(y_mm);
  if (!CellTiles::holds(column_, row_)) {
    overflows_ = true;
    path_ = kRest;
    return;
  }
  at_column_ = static_cast<int>(column_);
  at_row_ = static_cast<int>(row_);
  enter(at_column_, at_row_);
}

void IslandRaster::go(double x_mm, double y_mm) {
  const double column = cells_.column_at(x_mm);
  const double row = cells_.row_at(y_mm);
  if (!CellTiles::holds(column, row)) [[unlikely]] {
    overflows_ = true;
    at_column_ = -1;
    return;
  }
  const int to_column = static_cast<int>(column);
  const int to_row = static_cast<int>(row);
  if (to_column != at_column_ || to_row != at_row_) {
    walk(to_column, to_row, column, row);
    at_column_ = to_column;
    at_row_ = to_row;
  }
  column_ = column;
  row_ = row;
}

void IslandRaster::go(const interpreter::Rows& rows, std::size_t first, std::size_t last) {
  for (std::size_t i = first; i < last; ++i) {
    if (!rows.run.is_level)
      z_ = height_of(rows.to_z_mm[i]);
    go(rows.to_x_mm[i], rows.to_y_mm[i]);
  }
}

/// From the last cell, which was visited, to another one: a cell in each column, or in each row.
void IslandRaster::walk(int to_column, int to_row, double column, double row) {
  const int across = std::max(std::abs(to_column - at_column_), std::abs(to_row - at_row_));
  if (across > 1 && at_column_ >= 0 && walks_all_) {
    const double step_column = (column - column_) / across;
    const double step_row = (row - row_) / across;
    double through_column = column_;
    double through_row = row_;
    for (int step = 1; step < across; ++step) {
      through_column += step_column;
      through_row += step_row;
      visit(static_cast<int>(through_column), static_cast<int>(through_row));
    }
  }
  visit(to_column, to_row);
}

/// A cell that is of another island so far, or of none.
void IslandRaster::enter(int column, int row) {
  Cell* const cell = cells_.make(column, row);
  if (cell == nullptr) {
    overflows_ = true;
    path_ = path_ == kNoLabel ? kRest : path_;
    return;
  }
  if (name_ >= 0) {
    if (path_ == kNoLabel)
      path_ = begin_island();
  } else if (is_island_here(*cell)) {
    join(cell->label);
  } else {
    for (int to_row = std::max(row - 1, 0); to_row <= std::min(row + 1, CellTiles::kAcross - 1);
         ++to_row)
      for (int to_column = std::max(column - 1, 0);
           to_column <= std::min(column + 1, CellTiles::kAcross - 1); ++to_column)
        if (const Cell* const beside = std::as_const(cells_).find(to_column, to_row);
            beside != nullptr && is_island_here(*beside))
          join(beside->label);
    if (path_ == kNoLabel)
      path_ = begin_island();
  }
  cell->label = path_;
  cell->z = z_;
  cell->tool = tool_;
}

void IslandRaster::join(Label with) {
  path_ = path_ < kFirstIsland ? root(with) : join(path_, with);
}

/// Two named objects stay two, however near; what has no name is of the one that it touches.
Label IslandRaster::join(Label a, Label b) {
  const Label of = root(a);
  const Label other = root(b);
  if (of == other)
    return of;
  const bool of_is_named = islands_[of].named >= 0;
  const bool other_is_named = islands_[other].named >= 0;
  if (of_is_named && other_is_named)
    return of;
  const bool keeps_of = of_is_named || (!other_is_named && of < other);
  const Label stays = keeps_of ? of : other;
  Island& kept = islands_[stays];
  Island& joined = islands_[keeps_of ? other : of];
  joined.parent = stays;
  kept.first = std::min(kept.first, joined.first);
  kept.z_max_mm = std::max(kept.z_max_mm, joined.z_max_mm);
  if (!joined.box.empty())
    kept.box.include(joined.box);
  return stays;
}

Label IslandRaster::begin_island() {
  if (name_ >= 0 && by_name_[static_cast<std::size_t>(name_)] != kNoLabel)
    return by_name_[static_cast<std::size_t>(name_)];
  if (islands_.size() >= (is_full_ ? kMostIslands : kMostLabels)) {
    overflows_ = true;
    return kRest;
  }
  const auto label = static_cast<Label>(islands_.size());
  Island island;
  island.parent = label;
  island.first = begun_++;
  if (name_ >= 0) {
    island.named = static_cast<std::int16_t>(name_);
    by_name_[static_cast<std::size_t>(name_)] = label;
  }
  islands_.push_back(island);
  return label;
}

void IslandRaster::name(int object) {
  name_ = object;
  if (object >= 0 && by_name_.size() <= static_cast<std::size_t>(object))
    by_name_.resize(static_cast<std::size_t>(object) + 1, kNoLabel);
}

void IslandRaster::lay_waste(const interpreter::Move& move, int tool, Label waste) {
  const double columns = cells_.column_at(move.to_mm[0]) - cells_.column_at(move.from_mm[0]);
  const double rows = cells_.row_at(move.to_mm[1]) - cells_.row_at(move.from_mm[1]);
  constexpr double kMostSteps = 4000.0;
  const double steps =
      std::ceil(std::clamp(2.0 * std::max(std::abs(columns), std::abs(rows)), 1.0, kMostSteps));
  for (double step = 0.0; step <= steps; ++step) {
    const double column = cells_.column_at(move.from_mm[0]) + columns * (step / steps);
    const double row = cells_.row_at(move.from_mm[1]) + rows * (step / steps);
    if (!CellTiles::holds(column, row))
      continue;
    if (Cell* const cell = cells_.make(static_cast<int>(column), static_cast<int>(row)))
      *cell = {waste, height_of(move.to_mm[2]), static_cast<std::uint8_t>(std::max(tool, 0))};
  }
}

Label IslandRaster::at(double x_mm, double y_mm) const {
  const double column = cells_.column_at(x_mm);
  const double row = cells_.row_at(y_mm);
  if (!CellTiles::holds(column, row))
    return kNoLabel;
  const Cell* const cell = cells_.find(static_cast<int>(column), static_cast<int>(row));
  return cell == nullptr ? kNoLabel : cell->label;
}

std::vector<Label> IslandRaster::renumber() {
  if (is_full_ || islands_.size() < kMostIslands)
    return {};
  std::vector<Label> new_label(islands_.size(), kNoLabel);
  std::vector<Island> kept;
  for (std::size_t label = 0; label < islands_.size(); ++label)
    if (islands_[label].parent == label) {
      new_label[label] = static_cast<Label>(kept.size());
      kept.push_back(islands_[label]);
      kept.back().parent = new_label[label];
    }
  for (std::size_t label = 0; label < islands_.size(); ++label)
    new_label[label] = new_label[root(static_cast<Label>(label))];
  islands_ = std::move(kept);
  is_full_ =
      islands_.size() > kMostIslands - kMostIslands / 8;  // else it would be done all the time
  cells_.change_all([&](Cell& cell) { cell.label = new_label[cell.label]; });
  for (Label& label : by_name_)
    label = new_label[label];
  path_ = new_label[path_];
  return new_label;
}

}  // namespace platetally::objects
