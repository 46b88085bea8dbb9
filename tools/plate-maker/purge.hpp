// Where the filament of a swap goes: a tower, a chute, or lines.
#pragma once

#include "strokes.hpp"

namespace plate_maker {

/// What the whole plate asks of a tower.
struct TowerPlan {
  std::size_t slots = 0;            ///< most swaps in a layer: each has a stripe of the tower
  std::size_t last_swap_layer = 0;  ///< above it the tower ends
};

class PurgePlace {
 public:
  PurgePlace(const Options& options, Pen& pen, TowerPlan plan);

  void begin_layer() { used_slots_ = 0; }
  /// Right after another tool was taken.
  void take_swap(const Layer& layer);
  /// The parts of the layer are laid: the tower grows where no swap fell.
  void end_layer(const Layer& layer);
  /// A line at the edge, before the first part.
  void lay_start_line(const Layer& layer);

 private:
  void begin(std::string_view what);
  void end(const Layer& layer);
  void lay_tower_slot(const Layer& layer);
  void lay_tower_filler(const Layer& layer, std::size_t tower_layer);
  void lay_brim(const Strokes& strokes);
  void purge_into_chute();
  void lay_line(const Layer& layer);
  Rectangle slot_box(std::size_t slot) const;
  std::size_t tower_layer_of(const Layer& layer) const;

  const Options& options_;
  Pen& pen_;
  TowerPlan plan_;
  double slot_depth_mm_ = 0.0;
  std::size_t used_slots_ = 0;
  std::size_t lines_ = 0;
  bool has_brim_ = false;
};

/// Heights of the plate's layers.
double height_of(const Options& options, std::size_t layer);
double z_of(const Options& options, std::size_t layer);

}  // namespace plate_maker
