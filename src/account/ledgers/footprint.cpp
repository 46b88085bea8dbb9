// Cells are found several at once; built as motion/move_block.cpp is.
#include "account/ledgers/footprint.hpp"

#include <array>

#include "base/simd.hpp"

namespace platetally::ledgers {

namespace {

struct Raster {
  double x_min_mm, y_min_mm;
  std::int32_t columns, rows;
};

using Cells = std::array<std::int32_t, interpreter::kMostRows>;

/// The cell that each stroke ends in, and whether that is not all: it is longer than a cell, or
/// ends on the upper rim of the raster.
PLATETALLY_WIDE void find_cells(const interpreter::Rows& rows, std::size_t first, std::size_t last,
                                const Raster& raster, Cells& cell, Cells& is_more) {
  constexpr double kCellMm = Footprint::kCellMm;
  const auto reaches = [](double x_mm, double y_mm) {
    return static_cast<std::int32_t>(std::abs(x_mm) >= kCellMm) |
           static_cast<std::int32_t>(std::abs(y_mm) >= kCellMm);
  };
  for (std::size_t i = first; i < last; ++i) {
    const auto column =
        static_cast<std::int32_t>((rows.to_x_mm[i] - raster.x_min_mm) * (1.0 / kCellMm));
    const auto row =
        static_cast<std::int32_t>((rows.to_y_mm[i] - raster.y_min_mm) * (1.0 / kCellMm));
    cell[i - first] = row * raster.columns + column;
    is_more[i - first] = static_cast<std::int32_t>(column >= raster.columns) |
                         static_cast<std::int32_t>(row >= raster.rows);
  }
  is_more[0] |= reaches(rows.to_x_mm[first] - rows.from_x_mm(first),
                        rows.to_y_mm[first] - rows.from_y_mm(first));
  for (std::size_t i = first + 1; i < last; ++i)
    is_more[i - first] |=
        reaches(rows.to_x_mm[i] - rows.to_x_mm[i - 1], rows.to_y_mm[i] - rows.to_y_mm[i - 1]);
}

}  // namespace

void Footprint::add(const interpreter::Rows& rows, std::size_t first, std::size_t last) {
  Cells cell;
  Cells is_more;
  find_cells(rows, first, last, {x_min_mm_, y_min_mm_, columns_, rows_}, cell, is_more);
  mark_ = mark_of(rows.run.layer);
  for (std::size_t i = first; i < last; ++i) {
    if (is_more[i - first] == 0)
      laid_[static_cast<std::size_t>(cell[i - first])] = mark_;
    else
      add_line(rows.from_x_mm(i), rows.from_y_mm(i), rows.to_x_mm[i], rows.to_y_mm[i]);
  }
}

void Footprint::add_line(double from_x_mm, double from_y_mm, double to_x_mm, double to_y_mm) {
  const double dx_mm = to_x_mm - from_x_mm;
  const double dy_mm = to_y_mm - from_y_mm;
  const double length_mm = std::max(std::abs(dx_mm), std::abs(dy_mm));
  if (length_mm < kCellMm) {
    // Its beginning is the end of the stroke before, or within a cell of this one's.
    mark(to_x_mm, to_y_mm);
    return;
  }
  const auto steps = static_cast<int>(std::min(length_mm * (2.0 / kCellMm), 4000.0)) + 1;
  for (int step = 0; step <= steps; ++step) {
    const double share = static_cast<double>(step) / steps;
    mark(from_x_mm + share * dx_mm, from_y_mm + share * dy_mm);
  }
}

void Footprint::add_purge(const interpreter::Move& move, std::uint32_t layer) {
  if (purge_.empty())
    purge_.resize(laid_.size(), false);
  adds_purge_ = true;
  add(move, layer);
  adds_purge_ = false;
}

void Footprint::call_purge(double x_min_mm, double x_max_mm, double y_min_mm, double y_max_mm) {
  const auto cell = [](double at_mm, double origin_mm, std::int32_t most) {
    return static_cast<std::size_t>(
        std::clamp(std::floor((at_mm - origin_mm) / kCellMm), 0.0, static_cast<double>(most - 1)));
  };
  if (purge_.empty())
    purge_.resize(laid_.size(), false);
  for (std::size_t row = cell(y_min_mm, y_min_mm_, rows_); row <= cell(y_max_mm, y_min_mm_, rows_);
       ++row)
    for (std::size_t column = cell(x_min_mm, x_min_mm_, columns_);
         column <= cell(x_max_mm, x_min_mm_, columns_); ++column)
      purge_[row * columns() + column] = purge_[row * columns() + column] || laid(column, row);
}

}  // namespace platetally::ledgers
