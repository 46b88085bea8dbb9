#include "writer.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

namespace plate_maker {

namespace {

constexpr double kFilamentMm2 = std::numbers::pi / 4.0 * 1.75 * 1.75;
constexpr double kSameMm = 0.001;

double to_places(double value, double scale) {
  return std::round(value * scale) / scale;
}

}  // namespace

void Writer::line(const std::string& text) {
  out_ += text;
  out_ += options_.crlf ? "\r\n" : "\n";
  ++truth_.lines;
}

void Writer::comment(const std::string& text) {
  if (options_.comments == Comments::words)
    line("; " + text);
}

std::string Writer::e_word(double e_mm) {
  if (options_.relative_e) {
    fed_mm_ = to_places(e_mm, 1e5);
    return fmt::format("E{:.5f}", fed_mm_);
  }
  const double before_mm = e_mm_;
  e_mm_ = to_places(e_mm_ + e_mm, 1e5);
  fed_mm_ = e_mm_ - before_mm;
  return fmt::format("E{:.5f}", e_mm_);
}

void Writer::start(int tools) {
  line("G21");
  line("G90");
  line(options_.relative_e ? "M83" : "M82");
  line("M204 P3000 T5000 R4000");
  line(fmt::format("M140 S{:g}", options_.bed_c));
  for (int tool = 0; tool < tools; ++tool)
    line(fmt::format("M104 S{:g} T{}", options_.nozzle_c, tool));
  line("G28");
  line(fmt::format("M190 S{:g}", options_.bed_c));
  for (int tool = 0; tool < tools; ++tool)
    line(fmt::format("M109 S{:g} T{}", options_.nozzle_c, tool));
  line("G92 E0");
  line("M106 S178");
}

void Writer::finish() {
  retract();
  line("M107");
  if (options_.park_at_end)
    line("T-1");
  line("M140 S0");
  for (int tool = 0; tool < options_.colours; ++tool)
    line(fmt::format("M104 S0 T{}", tool));
  line("G0 X5.000 Y5.000 F9000");
  line("M84");
  std::stable_sort(truth_.layers.begin(), truth_.layers.end(),
                   [](const LayerTruth& a, const LayerTruth& b) { return a.z_mm < b.z_mm; });
}

void Writer::set_layer(double z_mm) {
  z_mm = to_places(z_mm, 1e3);
  if (!options_.relative_e) {
    line("G92 E0");
    e_mm_ = 0.0;
  }
  retract();
  line(fmt::format("G0 Z{:.3f} F900", z_mm));
  z_mm_ = z_mm;
  layer_z_mm_ = z_mm;
}

LayerTruth& Writer::layer() {
  for (auto known = truth_.layers.rbegin(); known != truth_.layers.rend(); ++known)
    if (std::abs(known->z_mm - layer_z_mm_) < kSameMm)
      return *known;
  LayerTruth added;
  added.z_mm = layer_z_mm_;
  truth_.layers.push_back(added);
  return truth_.layers.back();
}

void Writer::select(int tool) {
  if (tool == tool_)
    return;
  retract();
  line(fmt::format("T{}", tool));
  ++truth_.tool_selects;
  if (options_.select_twice) {
    line(fmt::format("T{}", tool));
    ++truth_.tool_selects;
  }
  if (laid_ && tool_ >= 0) {
    ++truth_.swaps;
    ++truth_.pairs[{tool_, tool}];
    swap_pending_ = true;
  }
  if (!options_.relative_e) {
    line("G92 E0");
    e_mm_ = 0.0;
  }
  tool_ = tool;
}

void Writer::retract() {
  if (retracted_ || tool_ < 0 || options_.retract_mm <= 0.0)
    return;
  retracted_ = true;
  if (options_.firmware_retract)
    return line("G10");
  line(fmt::format("G1 {} F2400", e_word(-options_.retract_mm)));
  truth_.filament_mm[static_cast<std::size_t>(tool_)] += fed_mm_;
}

void Writer::unretract() {
  if (!retracted_)
    return;
  retracted_ = false;
  if (options_.firmware_retract)
    return line("G11");
  line(fmt::format("G1 {} F2400", e_word(options_.retract_mm)));
  truth_.filament_mm[static_cast<std::size_t>(tool_)] += fed_mm_;
}

void Writer::travel(double x_mm, double y_mm) {
  const bool far = std::hypot(x_mm - x_mm_, y_mm - y_mm_) > 2.0;
  if (far)
    retract();
  const bool hops = far && options_.hop_mm > 0.0;
  if (hops && options_.relative_hops) {
    line("G91");
    line(fmt::format("G1 Z{:.3f} F900", options_.hop_mm));
    line("G90");
  } else if (hops) {
    line(fmt::format("G1 Z{:.3f} F900", z_mm_ + options_.hop_mm));
  }
  line(fmt::format("G0 X{:.3f} Y{:.3f} F15000", x_mm, y_mm));
  if (hops && options_.relative_hops) {
    line("G91");
    line(fmt::format("G1 Z{:.3f} F900", -options_.hop_mm));
    line("G90");
  } else if (hops) {
    line(fmt::format("G1 Z{:.3f} F900", z_mm_));
  }
  x_mm_ = to_places(x_mm, 1e3);
  y_mm_ = to_places(y_mm, 1e3);
  unretract();
}

void Writer::count_laid(double e_mm, double x_mm, double y_mm) {
  const auto tool = static_cast<std::size_t>(tool_);
  truth_.filament_mm[tool] += e_mm;
  laid_ = true;
  LayerTruth& here = layer();
  here.swaps += swap_pending_;
  swap_pending_ = false;
  if (std::find(here.order.begin(), here.order.end(), tool_) == here.order.end())
    here.order.push_back(tool_);
  const double volume_mm3 = e_mm * kFilamentMm2;
  if (purging_) {
    truth_.purge_mm3[tool] += volume_mm3;
    here.purge_mm3 += volume_mm3;
    return;
  }
  here.part_mm3 += volume_mm3;
  for (const auto& [px_mm, py_mm] : {std::pair{x_mm_, y_mm_}, std::pair{x_mm, y_mm}}) {
    truth_.x_min_mm = std::min(truth_.x_min_mm, px_mm);
    truth_.x_max_mm = std::max(truth_.x_max_mm, px_mm);
    truth_.y_min_mm = std::min(truth_.y_min_mm, py_mm);
    truth_.y_max_mm = std::max(truth_.y_max_mm, py_mm);
  }
}

void Writer::lay(double x_mm, double y_mm, double feed_mm_min) {
  x_mm = to_places(x_mm, 1e3);
  y_mm = to_places(y_mm, 1e3);
  const double length_mm = std::hypot(x_mm - x_mm_, y_mm - y_mm_);
  line(fmt::format("G1 X{:.3f} Y{:.3f} {} F{:g}", x_mm, y_mm,
                   e_word(length_mm * bead_mm2() / kFilamentMm2), feed_mm_min));
  count_laid(fed_mm_, x_mm, y_mm);
  x_mm_ = x_mm;
  y_mm_ = y_mm;
}

void Writer::lay_sloped(double x_mm, double y_mm, double z_mm, double feed_mm_min) {
  x_mm = to_places(x_mm, 1e3);
  y_mm = to_places(y_mm, 1e3);
  z_mm = to_places(z_mm, 1e3);
  const double length_mm = std::hypot(x_mm - x_mm_, y_mm - y_mm_, z_mm - z_mm_);
  line(fmt::format("G1 X{:.3f} Y{:.3f} Z{:.3f} {} F{:g}", x_mm, y_mm, z_mm,
                   e_word(length_mm * bead_mm2() / kFilamentMm2), feed_mm_min));
  count_laid(fed_mm_, x_mm, y_mm);
  x_mm_ = x_mm;
  y_mm_ = y_mm;
  z_mm_ = z_mm;
}

void Writer::lay_arc(double x_mm, double y_mm, double i_mm, double j_mm, bool clockwise,
                     double length_mm, double feed_mm_min) {
  x_mm = to_places(x_mm, 1e3);
  y_mm = to_places(y_mm, 1e3);
  line(fmt::format("G{} X{:.3f} Y{:.3f} I{:.3f} J{:.3f} {} F{:g}", clockwise ? 2 : 3, x_mm, y_mm,
                   i_mm, j_mm, e_word(length_mm * bead_mm2() / kFilamentMm2), feed_mm_min));
  count_laid(fed_mm_, x_mm, y_mm);
  x_mm_ = x_mm;
  y_mm_ = y_mm;
}

void Writer::feed(double volume_mm3) {
  unretract();
  line(fmt::format("G1 {} F300", e_word(volume_mm3 / kFilamentMm2)));
  const auto tool = static_cast<std::size_t>(tool_);
  truth_.filament_mm[tool] += fed_mm_;
  truth_.purge_mm3[tool] += fed_mm_ * kFilamentMm2;
  // Fed before anything is laid in the layer, so its swap counts where the tool lays next.
  layer().purge_mm3 += fed_mm_ * kFilamentMm2;
}

void Writer::rectangle(double x_mm, double y_mm, double width_mm, double depth_mm,
                       double feed_mm_min) {
  travel(x_mm, y_mm);
  lay(x_mm + width_mm, y_mm, feed_mm_min);
  lay(x_mm + width_mm, y_mm + depth_mm, feed_mm_min);
  lay(x_mm, y_mm + depth_mm, feed_mm_min);
  lay(x_mm, y_mm, feed_mm_min);
}

void Writer::fill(double x_mm, double y_mm, double width_mm, int lines, double pitch_mm,
                  double feed_mm_min) {
  travel(x_mm, y_mm);
  for (int i = 0; i < lines; ++i) {
    const bool forth = i % 2 == 0;
    lay(forth ? x_mm + width_mm : x_mm, y_mm + i * pitch_mm, feed_mm_min);
    if (i + 1 < lines)
      lay(forth ? x_mm + width_mm : x_mm, y_mm + (i + 1) * pitch_mm, feed_mm_min);
  }
}

}  // namespace plate_maker
