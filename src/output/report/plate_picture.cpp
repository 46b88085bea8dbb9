#include "output/report/plate_picture.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/units.hpp"
#include "output/report/page.hpp"
#include "output/report/strings.hpp"

namespace platetally::report {

namespace {

constexpr double kWide = 400.0;  // of the drawing, about its pixels
constexpr double kLeft = 38.0;   // room for the numbers of the ruler
constexpr double kFoot = 34.0;
constexpr double kTop = 8.0;
constexpr double kWordsNeed = 58.0;  // width of a tile that holds "12.3 Wh"

struct Frame {
  double left_mm, front_mm, right_mm, back_mm, scale;
  double x(double mm) const { return kLeft + (mm - left_mm) * scale; }
  double y(double mm) const { return kTop + (back_mm - mm) * scale; }
};

std::string rectangle(const Frame& frame, double x_mm, double y_mm, double wide_mm, double deep_mm,
                      std::string_view css) {
  return fmt::format(
      "<rect class=\"{}\" x=\"{:.1f}\" y=\"{:.1f}\" width=\"{:.1f}\" height=\"{:.1f}\"/>\n", css,
      frame.x(x_mm), frame.y(y_mm + deep_mm), wide_mm * frame.scale, deep_mm * frame.scale);
}

std::string words(double x, double y, std::string_view text, std::string_view css = "",
                  std::string_view anchor = "start") {
  return fmt::format("<text class=\"{}\" x=\"{:.1f}\" y=\"{:.1f}\" text-anchor=\"{}\">{}</text>\n",
                     css, x, y, anchor, html_text(text));
}

/// The tiles, and apart from them their words, which must not be hidden by what lies there.
struct Tiles {
  std::string drawn;
  std::string words;
};
Tiles tiles_of(const Account& account, const Frame& frame) {
  int rows = 0;
  int columns = 0;
  double most_wh = 0.0;
  for (const BedZoneAccount& zone : account.bed_zones) {
    rows = std::max(rows, zone.row + 1);
    columns = std::max(columns, zone.column + 1);
    most_wh = std::max(most_wh, zone.energy_wh);
  }
  const BedPicture& bed = account.bed_picture;
  Tiles tiles;
  const bool is_one = account.bed_zones.size() < 2;
  for (const BedZoneAccount& zone : account.bed_zones) {
    const double wide_mm = bed.bed_width_mm / columns;
    const double deep_mm = bed.bed_depth_mm / rows;
    const double x_mm = bed.bed_x_min_mm + zone.column * wide_mm;
    const double y_mm = bed.bed_y_min_mm + zone.row * deep_mm;
    // One zone is no map: its colour would say nothing.
    tiles.drawn +=
        rectangle(frame, x_mm, y_mm, wide_mm, deep_mm,
                  is_one ? "tile one" : fmt::format("tile m{}", map_step(zone.energy_wh, most_wh)));
    if (is_one || wide_mm * frame.scale < kWordsNeed)
      continue;
    const double left = frame.x(x_mm) + 6.0;
    const double top = frame.y(y_mm + deep_mm);
    if (zone.energy_wh > 0.0) {
      tiles.words += words(left, top + 16.0, with_unit(zone.energy_wh, "Wh"), "tile-text");
      if (zone.active_s <= 0.0)
        tiles.words += words(left, top + 30.0, "warm", "tile-text soft");
    } else {
      tiles.words += words(left, top + 16.0, "off", "tile-text soft");
    }
  }
  return tiles;
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

struct Box {
  double x_mm, y_mm, wide_mm, deep_mm;
};

/// Around all that lies there; no width where nothing does.
Box box_of(const BedPicture& bed) {
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
    return {0.0, 0.0, 0.0, 0.0};
  const auto mm = [&](std::size_t cells) { return static_cast<double>(cells) * bed.cell_mm; };
  return {bed.x_min_mm + mm(left), bed.y_min_mm + mm(front), mm(right - left), mm(back - front)};
}

std::string best_place(const BedPicture& bed, const Frame& frame) {
  const Box box = box_of(bed);
  if ((bed.shift_x_mm == 0.0 && bed.shift_y_mm == 0.0) || box.wide_mm <= 0.0)
    return "";
  const double x_mm = box.x_mm + bed.shift_x_mm;
  const double y_mm = box.y_mm + bed.shift_y_mm;
  return rectangle(frame, x_mm, y_mm, box.wide_mm, box.deep_mm, "place");
}

bool has_tower(const Account& account) {
  return account.tower.verdict == "tower" && account.tower.x_max_mm > account.tower.x_min_mm;
}

std::string tower(const Account& account, const Frame& frame) {
  const TowerAccount& tower = account.tower;
  if (!has_tower(account))
    return "";
  return rectangle(frame, tower.x_min_mm, tower.y_min_mm, tower.x_max_mm - tower.x_min_mm,
                   tower.y_max_mm - tower.y_min_mm, "tower");
}

/// Millimetres along the left and the front edge.
std::string ruler(const Frame& frame) {
  const double longest_mm =
      std::max(frame.right_mm - frame.left_mm, frame.back_mm - frame.front_mm);
  const double step_mm = longest_mm > 600.0 ? 200.0 : longest_mm > 260.0 ? 100.0 : 50.0;
  std::string out;
  for (double mm = std::ceil(frame.left_mm / step_mm) * step_mm; mm <= frame.right_mm;
       mm += step_mm)
    out += fmt::format("<path class=\"grid\" d=\"M{0:.1f} {1:.1f}V{2:.1f}\"/>", frame.x(mm), kTop,
                       frame.y(frame.front_mm)) +
           words(frame.x(mm), frame.y(frame.front_mm) + 14.0, fmt::format("{:.0f}", mm), "soft",
                 "middle");
  for (double mm = std::ceil(frame.front_mm / step_mm) * step_mm; mm <= frame.back_mm;
       mm += step_mm)
    out += fmt::format("<path class=\"grid\" d=\"M{0:.1f} {2:.1f}H{1:.1f}\"/>", kLeft,
                       frame.x(frame.right_mm), frame.y(mm)) +
           words(kLeft - 5.0, frame.y(mm) + 4.0, fmt::format("{:.0f}", mm), "soft", "end");
  return out + words(frame.x(0.5 * (frame.left_mm + frame.right_mm)),
                     frame.y(frame.front_mm) + 29.0, "front, mm", "soft", "middle");
}

}  // namespace

int map_step(double value, double most) {
  if (value <= 0.0 || most <= 0.0)
    return 0;
  return 1 + std::min(2, static_cast<int>(3.0 * value / most));
}

std::string drawn_plate(const Account& account, double largest_mm) {
  const BedPicture& bed = account.bed_picture;
  if (bed.columns == 0 || bed.rows == 0 || bed.bed_width_mm <= 0.0 || bed.bed_depth_mm <= 0.0 ||
      bed.laid.size() < bed.rows * bed.columns)
    return "";
  Frame frame{};
  frame.left_mm = std::min(bed.x_min_mm, bed.bed_x_min_mm);
  frame.front_mm = std::min(bed.y_min_mm, bed.bed_y_min_mm);
  frame.right_mm = std::max(bed.x_min_mm + static_cast<double>(bed.columns) * bed.cell_mm,
                            bed.bed_x_min_mm + bed.bed_width_mm);
  frame.back_mm = std::max(bed.y_min_mm + static_cast<double>(bed.rows) * bed.cell_mm,
                           bed.bed_y_min_mm + bed.bed_depth_mm);
  const double own_mm = std::max(frame.right_mm - frame.left_mm, frame.back_mm - frame.front_mm);
  frame.scale = (kWide - kLeft - 12.0) / std::max(own_mm, largest_mm);
  const Tiles tiles = tiles_of(account, frame);
  return fmt::format(
      "<svg class=\"plate\" viewBox=\"0 0 {:.0f} {:.0f}\" role=\"img\" "
      "aria-label=\"{}\">\n{}{}{}{}{}{}"
      "</svg>\n",
      kWide, kTop + kFoot + (frame.back_mm - frame.front_mm) * frame.scale,
      html_text(words_of_plate(account)), tiles.drawn, ruler(frame), footprint(bed, frame),
      tower(account, frame), best_place(bed, frame), tiles.words);
}

std::string key_of_plate(const Account& account) {
  std::string out = "<ul class=\"key\"><li><i class=\"k-laid\"></i>printed</li>";
  if (has_tower(account))
    out += "<li><i class=\"k-tower\"></i>prime tower</li>";
  const BedPicture& bed = account.bed_picture;
  if (bed.shift_x_mm != 0.0 || bed.shift_y_mm != 0.0)
    out += "<li><i class=\"k-place\"></i>where less is heated</li>";
  return out + "</ul>";
}

std::string words_of_plate(const Account& account) {
  const BedPicture& bed = account.bed_picture;
  const Box box = box_of(bed);
  std::string out =
      fmt::format("The bed from above, {:.0f} x {:.0f} mm", bed.bed_width_mm, bed.bed_depth_mm);
  if (box.wide_mm > 0.0)
    out +=
        fmt::format("; what is printed covers {:.0f} x {:.0f} mm of it", box.wide_mm, box.deep_mm);
  if (account.bed_zones.size() > 1)
    out += fmt::format("; {} of {} zones are heated for it, darker where they take more",
                       account.totals.bed_zones_used, account.bed_zones.size());
  return out + ".";
}

}  // namespace platetally::report
