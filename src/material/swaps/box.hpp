// A rectangle of the bed plane.
#pragma once

#include <algorithm>

namespace platetally::swaps {

/// An axis-parallel rectangle of the bed plane.
struct Box {
  float x_min_mm = 1e9F, x_max_mm = -1e9F, y_min_mm = 1e9F, y_max_mm = -1e9F;

  void include(double x_mm, double y_mm) {
    x_min_mm = std::min(x_min_mm, static_cast<float>(x_mm));
    x_max_mm = std::max(x_max_mm, static_cast<float>(x_mm));
    y_min_mm = std::min(y_min_mm, static_cast<float>(y_mm));
    y_max_mm = std::max(y_max_mm, static_cast<float>(y_mm));
  }
  void include(const Box& other) {
    include(other.x_min_mm, other.y_min_mm);
    include(other.x_max_mm, other.y_max_mm);
  }
  bool empty() const { return x_max_mm < x_min_mm; }
  bool lies_in(const Box& other, float margin_mm) const {
    return x_min_mm >= other.x_min_mm - margin_mm && x_max_mm <= other.x_max_mm + margin_mm &&
           y_min_mm >= other.y_min_mm - margin_mm && y_max_mm <= other.y_max_mm + margin_mm;
  }
  bool meets(const Box& other, float margin_mm) const {
    return x_min_mm <= other.x_max_mm + margin_mm && x_max_mm >= other.x_min_mm - margin_mm &&
           y_min_mm <= other.y_max_mm + margin_mm && y_max_mm >= other.y_min_mm - margin_mm;
  }
  float width_mm() const { return x_max_mm - x_min_mm; }
  float depth_mm() const { return y_max_mm - y_min_mm; }
};

}  // namespace platetally::swaps
