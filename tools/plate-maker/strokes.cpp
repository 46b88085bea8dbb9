#include "strokes.hpp"

#include <cmath>

namespace plate_maker {

Size on_circle(Size centre, double radius_mm, double angle_rad) {
  return {centre.x + radius_mm * std::cos(angle_rad), centre.y + radius_mm * std::sin(angle_rad)};
}

void Strokes::set_speed(double mm_s) const {
  pen_.set_speed(layer_.index == 0 ? std::min(mm_s, options_.first_layer_mm_s) : mm_s);
}

void Strokes::path(const std::vector<Size>& points, bool closed) const {
  pen_.travel(points.front());
  for (std::size_t at = 1; at < points.size(); ++at)
    pen_.stroke(points[at]);
  if (closed)
    pen_.stroke(points.front());
}

void Strokes::rectangle(const Rectangle& box) const {
  path({box.low, {box.high.x, box.low.y}, box.high, {box.low.x, box.high.y}}, true);
}

void Strokes::zigzag(const Rectangle& box, double pitch_mm, bool along_x) const {
  const double across_mm = along_x ? box.high.y - box.low.y : box.high.x - box.low.x;
  const int lines = static_cast<int>(std::floor(across_mm / pitch_mm + 1e-6)) + 1;
  for (int line = 0; line < lines; ++line) {
    const double at = (along_x ? box.low.y : box.low.x) + line * pitch_mm;
    Size begin = along_x ? Size{box.low.x, at} : Size{at, box.low.y};
    Size end = along_x ? Size{box.high.x, at} : Size{at, box.high.y};
    if (line % 2 == 1)
      std::swap(begin, end);
    if (line == 0)
      pen_.travel(begin);
    else
      pen_.stroke(begin);
    pen_.stroke(end);
  }
}

void Strokes::solid(const Rectangle& box) const {
  const double width_mm = options_.width_mm;
  inner();
  rectangle(box.inset(1.5 * width_mm));
  outer();
  rectangle(box.inset(0.5 * width_mm));
  const Rectangle core = box.inset(2.5 * width_mm);
  if (core.high.x <= core.low.x || core.high.y <= core.low.y)
    return;
  infill();
  zigzag(core, width_mm / options_.density, layer_.index % 2 == 0);
}

void Strokes::arc(Size centre, double radius_mm, double begin_rad, double sweep_rad) const {
  if (options_.arcs) {
    pen_.arc(on_circle(centre, radius_mm, begin_rad + sweep_rad), centre, radius_mm, sweep_rad);
    return;
  }
  const double longest_mm = options_.segment_mm > 0.0 ? options_.segment_mm : 1.0;
  const int pieces =
      std::max(1, static_cast<int>(std::ceil(radius_mm * std::abs(sweep_rad) / longest_mm)));
  for (int piece = 1; piece <= pieces; ++piece)
    pen_.stroke(on_circle(centre, radius_mm, begin_rad + sweep_rad * piece / pieces));
}

}  // namespace plate_maker
