// Strokes of the part, one after the other, of one tool in one layer above one tile of the bed: all
// that the ledgers would add up stroke by stroke is added up here, and given to them once.
//
// Nearly every record of nearly every plate is such a stroke. Whatever is not ends the run: another
// tool, layer, flag or tile, a travel, a retraction, an arc, a stroke outside the build area or in
// a waste area, every other record.
#pragma once

#include <algorithm>
#include <array>
#include <cstdint>

#include "motion/timed_record.hpp"
#include "platetally/machine.hpp"
#include "timeline/bed_grid.hpp"

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

  /// Adds the next record if the run goes on with it.
  bool take(const motion::TimedRecord& timed) {
    const interpreter::Record& record = timed.record;
    if (!is_open_ || record.kind != interpreter::RecordKind::move || record.flags != 0 ||
        record.tool != tool_ || record.layer != layer_)
      return false;
    const interpreter::Move& move = record.move;
    if (!(move.e_mm > 0.0) || move.is_arc() || move.from_mm != at_ || move.to_mm == at_ ||
        !holds(move.to_mm[0], move.to_mm[1]))
      return false;
    at_ = move.to_mm;
    sums_.x_min_mm = std::min(sums_.x_min_mm, at_[0]);
    sums_.x_max_mm = std::max(sums_.x_max_mm, at_[0]);
    sums_.y_min_mm = std::min(sums_.y_min_mm, at_[1]);
    sums_.y_max_mm = std::max(sums_.y_max_mm, at_[1]);
    sums_.z_max_mm = std::max(sums_.z_max_mm, at_[2]);
    sums_.e_mm += move.e_mm;
    sums_.motion_s += timed.motion_s;
    return true;
  }

 private:
  bool holds(double x_mm, double y_mm) const {
    return x_mm >= x_min_mm_ && x_mm <= x_max_mm_ && y_mm >= y_min_mm_ && y_mm <= y_max_mm_;
  }

  bool is_open_ = false;
  std::int16_t tool_ = -1;
  std::uint32_t layer_ = 0;
  std::array<double, 3> at_{};
  double x_min_mm_ = 0.0, x_max_mm_ = -1.0, y_min_mm_ = 0.0, y_max_mm_ = -1.0;
  Sums sums_;
};

}  // namespace platetally::ledgers
