// Paths that shapes and towers are made of.
#pragma once

#include <vector>

#include "options.hpp"
#include "pen.hpp"

namespace plate_maker {

/// A layer while it is laid: which tools it has, in their order.
struct Layer {
  std::size_t index = 0;
  double z_mm = 0.0;
  double height_mm = 0.0;
  std::vector<int> tools;  ///< indices, not T numbers
};

struct Rectangle {
  Size low;
  Size high;
  Rectangle inset(double mm) const {
    return {{low.x + mm, low.y + mm}, {high.x - mm, high.y - mm}};
  }
};

class Strokes {
 public:
  Strokes(const Options& options, Pen& pen, const Layer& layer)
      : options_(options), pen_(pen), layer_(layer) {}

  void outer() const { set_speed(options_.outer_mm_s); }
  void inner() const { set_speed(options_.inner_mm_s); }
  void infill() const { set_speed(options_.infill_mm_s); }
  void set_speed(double mm_s) const;

  /// Through all points and, if closed, back to the first.
  void path(const std::vector<Size>& points, bool closed) const;
  void rectangle(const Rectangle& box) const;
  /// Back and forth over the box, lines `pitch_mm` apart.
  void zigzag(const Rectangle& box, double pitch_mm, bool along_x) const;
  /// Two walls and infill across the layer before.
  void solid(const Rectangle& box) const;
  /// On from the place on the circle at `begin_rad`: an arc, or strokes along it.
  void arc(Size centre, double radius_mm, double begin_rad, double sweep_rad) const;

  const Options& options() const { return options_; }
  const Layer& layer() const { return layer_; }
  Pen& pen() const { return pen_; }

 private:
  const Options& options_;
  Pen& pen_;
  const Layer& layer_;
};

Size on_circle(Size centre, double radius_mm, double angle_rad);

}  // namespace plate_maker
