#include "output/report/bed_map.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <utility>

#include "base/units.hpp"
#include "output/report/strings.hpp"
#include "platetally/account.hpp"

namespace platetally::report {

namespace {

constexpr double kWide = 560.0;
constexpr double kMargin = 8.0;

struct Frame {
  double left_mm, front_mm, right_mm, back_mm, scale;
  double x(double mm) const { return kMargin + (mm - left_mm) * scale; }
  double y(double mm) const { return kMargin + (back_mm - mm) * scale; }
};

std::string rectangle(const Frame& frame, double x_mm, double y_mm, double wide_mm, double deep_mm,
                      std::string_view css) {
  return fmt::format(
      "<rect class=\"{}\" x=\"{:.1f}\" y=\"{:.1f}\" width=\"{:.1f}\" height=\"{:.1f}\"/>\n", css,
      frame.x(x_mm), frame.y(y_mm + deep_mm), wide_mm * frame.scale, deep_mm * frame.scale);
}

/// The tiles, and apart from them their words, which must not be hidden by what lies there.
std::pair<std::string, std::string> tiles(const Account& account, const Frame& frame) {
  int rows = 0;
  int columns = 0;
  double most_wh = 0.0;
  for (const BedZoneAccount& zone : account.bed_zones) {
    rows = std::max(rows, zone.row + 1);
    columns = std::max(columns, zone.column + 1);
    most_wh = std::max(most_wh, zone.energy_wh);
  }
  const BedPicture& bed = account.bed_picture;
  std::string out;
  std::string words_out;
  for (const BedZoneAccount& zone : account.bed_zones) {
    const double wide_mm = bed.bed_width_mm / columns;
    const double deep_mm = bed.bed_depth_mm / rows;
    const double x_mm = bed.bed_x_min_mm + zone.column * wide_mm;
    const double y_mm = bed.bed_y_min_mm + zone.row * deep_mm;
    out += rectangle(frame, x_mm, y_mm, wide_mm, deep_mm,
                     fmt::format("tile m{}", map_step(zone.energy_wh, most_wh)));
    const double hours = base::h_from_s(zone.active_s + zone.neighbour_s);
    const auto text = [&](double down, std::string_view words) {
      words_out += fmt::format("<text class=\"tile-text\" x=\"{:.1f}\" y=\"{:.1f}\">{}</text>\n",
                               frame.x(x_mm) + 5.0, frame.y(y_mm + deep_mm) + down, words);
    };
    if (zone.energy_wh > 0.0) {
      text(16.0, fmt::format("{:.1f} h", hours));
      text(32.0, fmt::format("{} Wh", rounded(Value(zone.energy_wh), "Wh")));
      if (zone.active_s <= 0.0)
        text(48.0, "kept warm");
    } else {
      text(16.0, "off");
    }
  }
  return {out, words_out};
}

/// Runs of cells in a row as one rectangle; all of them one path.
std::string footprint(const BedPicture& bed, const Frame& frame) {
  std::string path;
  for (std::size_t row = 0; row < bed.rows; ++row)
    for (std::size_t column = 0; column < bed.columns; ++column) {
      if (bed.laid[row * bed.columns + column] == 0)
        continue;
      std::size_t end = column;
      while (end < bed.columns && bed.laid[row * bed.columns + end] != 0)
        ++end;
      const double wide = static_cast<double>(end - column) * bed.cell_mm * frame.scale;
      path += fmt::format("M{:.1f} {:.1f}h{:.1f}v{:.1f}h-{:.1f}z",
                          frame.x(bed.x_min_mm + static_cast<double>(column) * bed.cell_mm),
                          frame.y(bed.y_min_mm + static_cast<double>(row + 1) * bed.cell_mm), wide,
                          bed.cell_mm * frame.scale, wide);
      column = end;
    }
  return path.empty() ? "" : fmt::format("<path class=\"laid\" d=\"{}\"/>\n", path);
}

std::string best_place(const BedPicture& bed, const Frame& frame) {
  if (bed.shift_x_mm == 0.0 && bed.shift_y_mm == 0.0)
    return "";
  std::size_t left = bed.columns, right = 0, front = bed.rows, back = 0;
  for (std::size_t row = 0; row < bed.rows; ++row)
    for (std::size_t column = 0; column < bed.columns; ++column)
      if (bed.laid[row * bed.columns + column] != 0) {
        left = std::min(left, column);
        right = std::max(right, column + 1);
        front = std::min(front, row);
        back = std::max(back, row + 1);
      }
  if (right == 0)
    return "";
  const auto mm = [&](std::size_t cells) { return static_cast<double>(cells) * bed.cell_mm; };
  const double x_mm = bed.x_min_mm + mm(left) + bed.shift_x_mm;
  const double y_mm = bed.y_min_mm + mm(front) + bed.shift_y_mm;
  return rectangle(frame, x_mm, y_mm, mm(right - left), mm(back - front), "place") +
         fmt::format(
             "<text class=\"tile-text\" x=\"{:.1f}\" y=\"{:.1f}\" "
             "text-anchor=\"end\">best place</text>\n",
             frame.x(x_mm + mm(right - left)) - 4.0, frame.y(y_mm) - 5.0);
}

}  // namespace

int map_step(double value, double most) {
  if (value <= 0.0 || most <= 0.0)
    return 0;
  return 1 + std::min(2, static_cast<int>(3.0 * value / most));
}

std::string drawn_bed(const Account& account) {
  const BedPicture& bed = account.bed_picture;
  if (bed.columns == 0 || bed.rows == 0 || bed.bed_width_mm <= 0.0 || bed.bed_depth_mm <= 0.0)
    return "";
  Frame frame{};
  frame.left_mm = std::min(bed.x_min_mm, bed.bed_x_min_mm);
  frame.front_mm = std::min(bed.y_min_mm, bed.bed_y_min_mm);
  frame.right_mm = std::max(bed.x_min_mm + static_cast<double>(bed.columns) * bed.cell_mm,
                            bed.bed_x_min_mm + bed.bed_width_mm);
  frame.back_mm = std::max(bed.y_min_mm + static_cast<double>(bed.rows) * bed.cell_mm,
                           bed.bed_y_min_mm + bed.bed_depth_mm);
  frame.scale = kWide / std::max(frame.right_mm - frame.left_mm, frame.back_mm - frame.front_mm);
  const auto [drawn, words] = tiles(account, frame);
  return fmt::format(
      "<svg viewBox=\"0 0 {0:.0f} {1:.0f}\" width=\"{0:.0f}\" height=\"{1:.0f}\" "
      "aria-hidden=\"true\">\n{2}{3}{4}{5}</svg>\n",
      2.0 * kMargin + (frame.right_mm - frame.left_mm) * frame.scale,
      2.0 * kMargin + (frame.back_mm - frame.front_mm) * frame.scale, drawn, footprint(bed, frame),
      best_place(bed, frame), words);
}

}  // namespace platetally::report
