// Where the filament of a swap goes: a tower, an object, a chute, a bucket, or lines.
#pragma once

#include "tower.hpp"

namespace plate_maker {

class PurgePlace {
 public:
  PurgePlace(const Options& options, Pen& pen, const TowerPlan& plan);

  /// Before the parts of the layer, with `tool` in hand.
  void begin_layer(const Layer& layer, int tool);
  /// Right before a tool is put away, on a machine of one nozzle: rams its tip.
  void leave(const Layer& layer);
  /// Right after another tool was taken.
  void take_swap(const Layer& layer, int tool);
  /// The parts of the layer are laid.
  void end_layer(const Layer& layer);
  /// A line at the edge, before the first part.
  void lay_start_line(const Layer& layer);

 private:
  bool has_tower() const {
    return options_.purge == Purge::tower || options_.purge == Purge::object;
  }
  void begin(std::string_view what);
  void end(const Layer& layer);
  void purge_into_chute(double mm3);
  void purge_into_bucket(const Layer& layer);
  void lay_line(const Layer& layer);

  const Options& options_;
  Pen& pen_;
  Tower tower_;
  std::size_t lines_ = 0;
};

}  // namespace plate_maker
