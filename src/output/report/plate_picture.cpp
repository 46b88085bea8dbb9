#include "output/report/plate_picture.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/units.hpp"
#include "output/report/bed_drawing.hpp"
#include "output/report/page.hpp"
#include "output/report/strings.hpp"

namespace platetally::report {

namespace {

constexpr double kWide = 400.0;  // of the drawing, about its pixels
constexpr double kLeft = 38.0;   // room for the numbers of the ruler
constexpr double kFoot = 34.0;
constexpr double kTop = 8.0;

/// Runs of cells in a row as one rectangle; all of them one path.
std::string footprint(const BedPicture& bed, const BedFrame& frame) {
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

std::string best_place(const BedPicture& bed, const BedFrame& frame) {
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

std::string tower(const Account& account, const BedFrame& frame) {
  const TowerAccount& tower = account.tower;
  if (!has_tower(account))
    return "";
  return rectangle(frame, tower.x_min_mm, tower.y_min_mm, tower.x_max_mm - tower.x_min_mm,
                   tower.y_max_mm - tower.y_min_mm, "tower");
}

}  // namespace

std::string drawn_plate(const Account& account, double largest_mm, bool with_patterns) {
  const BedPicture& bed = account.bed_picture;
  if (!has_bed(bed))
    return "";
  BedFrame frame = frame_of(bed);
  frame.origin_x = kLeft;
  frame.origin_y = kTop;
  frame.scale = (kWide - kLeft - 12.0) / std::max(frame.longest_mm(), largest_mm);
  WordPlaces places;
  const bool has_areas = account.plate_picture.has_value();
  const BedTiles tiles =
      tiles_of(account, has_areas ? &*account.plate_picture : nullptr, frame, places);
  return fmt::format(
      "<svg class=\"plate\" viewBox=\"0 0 {:.0f} {:.0f}\" role=\"img\" "
      "aria-label=\"{}\">\n{}{}{}{}{}{}{}"
      "</svg>\n",
      kWide, kTop + kFoot + frame.deep(), html_text(words_of_plate(account)),
      has_areas && with_patterns ? area_patterns() : "", tiles.drawn, ruler_of(frame),
      has_areas ? areas_of(account, *account.plate_picture, frame, places) : footprint(bed, frame),
      has_areas ? "" : tower(account, frame), best_place(bed, frame), tiles.words);
}

/// Of areas: a tool's colour in words.
std::string key_of_areas(const Account& account, const PlatePicture& picture) {
  std::string out;
  for (const int tool : tools_in(picture))
    out += fmt::format(
        "<li><svg class=\"swatch\" viewBox=\"0 0 10 10\" aria-hidden=\"true\"><rect {} "
        "width=\"10\" "
        "height=\"10\"/></svg>{}</li>",
        look_of_tool(account, tool), html_text(words_of_tool(account, tool)));
  if (holds(picture, AreaUse::purge))
    out += "<li>hatched: purge</li>";
  if (holds(picture, AreaUse::start_up))
    out += "<li>dotted: start-up</li>";
  if (picture.outlines.size() > 1)
    out += "<li>numbers: objects</li>";
  return out;
}

std::string key_of_plate(const Account& account) {
  std::string out = "<ul class=\"key\">";
  if (account.plate_picture) {
    out += key_of_areas(account, *account.plate_picture);
  } else {
    out += "<li><i class=\"k-laid\"></i>printed</li>";
    if (has_tower(account))
      out += "<li><i class=\"k-tower\"></i>prime tower</li>";
  }
  for (const std::string& words : words_of_zones(account))
    out += fmt::format("<li>{}</li>", html_text(words));
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
