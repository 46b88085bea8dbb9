// Strokes of the part, one after the other, of one tool in one layer above one tile of the bed: all
// that the ledgers would add up stroke by stroke is added up here, and given to them once.
//
// Nearly every row of nearly every plate is such a stroke. Whatever is not ends the run: another
// tool, layer, flag or tile, a travel, a retraction, an arc, a stroke outside the build area or in
// a waste area, every other record.
#pragma once

#include <algorithm>
#include <array>
#include <cstdint>

#include "base/columns.hpp"
#include "motion/timeline/bed_grid.hpp"
#include "platetally/machine.hpp"
#include "reading/interpreter/rows.hpp"

namespace platetally::ledgers {

class StrokeRun {
 public:
  /// What has been added up.
  struct Sums {
    double x_min_mm = 0.0, x_max_mm = 0.0, y_min_mm = 0.0, y_max_mm = 0.0;
    double z_max_mm = 0.0;
    double e_mm = 0.0;
    double motion_s = 0.0;
  };

  /// A run that goes on from a stroke, which is not part of it; `tile` is the one that it ended on.
  void open(const interpreter::Record& stroke, const timeline::BedGrid::Inside& tile,
            const Machine& machine) {
    const interpreter::Move& move = stroke.move;
    x_min_mm_ = std::max(tile.x_min_mm, machine.area.x_min_mm);
    x_max_mm_ = std::min(tile.x_max_mm, machine.area.x_max_mm);
    y_min_mm_ = std::max(tile.y_min_mm, machine.area.y_min_mm);
    y_max_mm_ = std::min(tile.y_max_mm, machine.area.y_max_mm);
    is_open_ = holds(move.to_mm[0], move.to_mm[1]) &&
               std::none_of(machine.waste_areas.begin(), machine.waste_areas.end(),
                            [this](const WasteArea& waste) {
                              return waste.x_min_mm <= x_max_mm_ && waste.x_max_mm >= x_min_mm_ &&
                                     waste.y_min_mm <= y_max_mm_ && waste.y_max_mm >= y_min_mm_;
                            });
    tool_ = stroke.tool;
    layer_ = stroke.layer;
    at_ = move.to_mm;
    sums_ = {at_[0], at_[0], at_[1], at_[1], at_[2], 0.0, 0.0};
  }

  bool is_open() const { return is_open_; }
  void close() { is_open_ = false; }
  std::int16_t tool() const { return tool_; }
  std::uint32_t layer() const { return layer_; }
  const Sums& sums() const { return sums_; }
  double x_mm() const { return at_[0]; }  ///< where its last stroke ends
  double y_mm() const { return at_[1]; }

  /// Adds rows from number `first` on, as long as the run goes on with them; returns how many.
  std::size_t take(const interpreter::Rows& rows, std::size_t first) {
    if (!is_open_ || rows.run.kind != interpreter::RunKind::stroke || rows.run.flags != 0 ||
        rows.run.tool != tool_ || rows.run.layer != layer_ || rows.from_x_mm(first) != at_[0] ||
        rows.from_y_mm(first) != at_[1] || rows.from_z_mm(first) != at_[2])
      return 0;
    std::size_t next = rows.size;
    base::Extent x_mm = base::extent_of(rows.to_x_mm + first, next - first);
    base::Extent y_mm = base::extent_of(rows.to_y_mm + first, next - first);
    if (!holds(x_mm.least, y_mm.least) || !holds(x_mm.most, y_mm.most)) {
      next = first;
      while (holds(rows.to_x_mm[next], rows.to_y_mm[next]))
        ++next;  // one of them is outside
      if (next == first)
        return 0;
      x_mm = base::extent_of(rows.to_x_mm + first, next - first);
      y_mm = base::extent_of(rows.to_y_mm + first, next - first);
    }
    sums_.x_min_mm = std::min(sums_.x_min_mm, x_mm.least);
    sums_.x_max_mm = std::max(sums_.x_max_mm, x_mm.most);
    sums_.y_min_mm = std::min(sums_.y_min_mm, y_mm.least);
    sums_.y_max_mm = std::max(sums_.y_max_mm, y_mm.most);
    add_up(rows, first, next);
    at_ = {rows.to_x_mm[next - 1], rows.to_y_mm[next - 1], rows.to_z_mm[next - 1]};
    return next - first;
  }

 private:
  bool holds(double x_mm, double y_mm) const {
    return x_mm >= x_min_mm_ && x_mm <= x_max_mm_ && y_mm >= y_min_mm_ && y_mm <= y_max_mm_;
  }

  /// One after the other, so that the bits do not depend on where a run of strokes was cut.
  void add_up(const interpreter::Rows& rows, std::size_t first, std::size_t end) {
    double e_mm = sums_.e_mm;
    double motion_s = sums_.motion_s;
    double z_max_mm = sums_.z_max_mm;
    for (std::size_t i = first; i < end; ++i) {
      e_mm += rows.e_mm[i];
      motion_s += rows.motion_s[i];
      z_max_mm = std::max(z_max_mm, rows.to_z_mm[i]);
    }
    sums_.e_mm = e_mm;
    sums_.motion_s = motion_s;
    sums_.z_max_mm = z_max_mm;
  }

  bool is_open_ = false;
  std::int16_t tool_ = -1;
  std::uint32_t layer_ = 0;
  std::array<double, 3> at_{};
  double x_min_mm_ = 0.0, x_max_mm_ = -1.0, y_min_mm_ = 0.0, y_max_mm_ = -1.0;
  Sums sums_;
};

}  // namespace platetally::ledgers
