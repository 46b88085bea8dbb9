// A tower beside the part, or an object that takes its place: where the filament of swaps is laid.
#pragma once

#include <cstddef>
#include <vector>

#include "strokes.hpp"

namespace plate_maker {

/// What the whole plate asks of a tower.
struct TowerPlan {
  std::size_t slots = 0;            ///< most swaps in a layer: each has a stripe of the tower
  std::size_t last_swap_layer = 0;  ///< above it the tower ends
  std::vector<std::size_t> swaps;   ///< in each layer; empty where layers are not counted
};

/// Heights of the plate's layers.
double height_of(const Options& options, std::size_t layer);
double z_of(const Options& options, std::size_t layer);

class Tower {
 public:
  Tower(const Options& options, Pen& pen, TowerPlan plan);

  void open_layer();
  /// Before the layer's part, with the tool that goes on into it.
  bool lays_before(const Layer& layer, int tool) const;
  void lay_before(const Layer& layer);
  /// The tool that just arrived lays its stripe.
  void lay_slot(const Layer& layer, int tool);
  /// The part of the layer is laid: the tower grows where no swap fell.
  bool lays_behind(const Layer& layer) const;
  void lay_behind(const Layer& layer);
  void close_layer(const Layer& layer);
  /// Where the next swap's stripe begins; puts the pen at the tower's height.
  Size next_place(const Layer& layer);
  /// The rams of a tool that leaves: short strokes where the next stripe will be.
  void ram(const Layer& layer);

 private:
  bool is_object() const { return options_.purge == Purge::object; }
  bool grows_in(const Layer& layer) const;
  std::size_t height_index(const Layer& layer) const;
  void set_level(std::size_t tower_layer);
  void lay_brim(const Strokes& strokes);
  void lay_filler(const Layer& layer, std::size_t tower_layer);
  void lay_walls(const Layer& layer);
  void lay_rest_of_object(const Layer& layer);
  void lay_zigzag(const Rectangle& box, double height_mm);
  void lay_strokes(const Rectangle& box, double height_mm);
  void lay_boxed(const Strokes& strokes, const Rectangle& box, double height_mm);
  void lay_rings(const Strokes& strokes, double height_mm);
  Rectangle slot_box(std::size_t slot) const;
  Rectangle whole() const { return {slot_box(0).low, slot_box(slots() - 1).high}; }
  std::size_t slots() const {
    return plan_.slots + (is_object() && options_.object_rest != ObjectRest::last ? 1 : 0);
  }
  Size centre() const;

  const Options& options_;
  Pen& pen_;
  TowerPlan plan_;
  double slot_depth_mm_ = 0.0;
  double radius_mm_ = 0.0;  ///< of a round one
  double next_ring_mm_ = 0.0;
  std::size_t used_slots_ = 0;
  std::size_t grown_ = 0;   ///< layers that it has, where it lags
  bool has_walls_ = false;  ///< in this layer
  bool has_rest_ = false;   ///< in this layer: of an object
  bool has_brim_ = false;
};

}  // namespace plate_maker
