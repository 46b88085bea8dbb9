#include "output/report/bed_drawing.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "output/report/hue.hpp"
#include "output/report/page.hpp"
#include "output/report/strings.hpp"
#include "platetally/colour.hpp"

namespace platetally::report {

namespace {

constexpr double kWordsNeed = 58.0;  // width of a tile that holds "12.3 Wh"
constexpr double kCharacter = 8.2;   // about what one takes of the line
constexpr double kLine = 14.0;

}  // namespace

bool has_bed(const BedPicture& bed) {
  return bed.columns > 0 && bed.rows > 0 && bed.bed_width_mm > 0.0 && bed.bed_depth_mm > 0.0 &&
         bed.laid.size() >= bed.rows * bed.columns;
}

BedFrame frame_of(const BedPicture& bed) {
  BedFrame frame;
  frame.left_mm = std::min(bed.x_min_mm, bed.bed_x_min_mm);
  frame.front_mm = std::min(bed.y_min_mm, bed.bed_y_min_mm);
  frame.right_mm = std::max(bed.x_min_mm + static_cast<double>(bed.columns) * bed.cell_mm,
                            bed.bed_x_min_mm + bed.bed_width_mm);
  frame.back_mm = std::max(bed.y_min_mm + static_cast<double>(bed.rows) * bed.cell_mm,
                           bed.bed_y_min_mm + bed.bed_depth_mm);
  return frame;
}

namespace {

struct Extent {
  double left_mm = 1e9, right_mm = -1e9, front_mm = 1e9, back_mm = -1e9;
};

Extent extent_of(std::span<const PictureArea> areas) {
  Extent extent;
  for (const PictureArea& area : areas)
    for (const auto& ring : area.rings)
      for (const auto& [x_mm, y_mm] : ring) {
        extent.left_mm = std::min(extent.left_mm, x_mm);
        extent.right_mm = std::max(extent.right_mm, x_mm);
        extent.front_mm = std::min(extent.front_mm, y_mm);
        extent.back_mm = std::max(extent.back_mm, y_mm);
      }
  return extent;
}

}  // namespace

BedFrame frame_around(const PlatePicture& picture, const BedPicture& bed) {
  constexpr double kRoom = 0.08;
  constexpr double kLeast_mm = 10.0;
  const Extent extent = extent_of(picture.areas);
  BedFrame frame;
  frame.left_mm = extent.left_mm;
  frame.right_mm = extent.right_mm;
  frame.front_mm = extent.front_mm;
  frame.back_mm = extent.back_mm;
  if (frame.right_mm < frame.left_mm)
    return frame_of(bed);
  const double room_mm = std::max(kLeast_mm, kRoom * frame.longest_mm());
  frame.left_mm -= room_mm;
  frame.front_mm -= room_mm;
  frame.right_mm += room_mm;
  frame.back_mm += room_mm;
  return frame;
}

std::string rectangle(const BedFrame& frame, double x_mm, double y_mm, double wide_mm,
                      double deep_mm, std::string_view css) {
  return fmt::format(
      "<rect class=\"{}\" x=\"{:.1f}\" y=\"{:.1f}\" width=\"{:.1f}\" height=\"{:.1f}\"/>\n", css,
      frame.x(x_mm), frame.y(y_mm + deep_mm), wide_mm * frame.scale, deep_mm * frame.scale);
}

std::string words_at(double x, double y, std::string_view text, std::string_view css,
                     std::string_view anchor) {
  return fmt::format("<text class=\"{}\" x=\"{:.1f}\" y=\"{:.1f}\" text-anchor=\"{}\">{}</text>\n",
                     css, x, y, anchor, html_text(text));
}

namespace {

using Place = WordPlaces::Place;

bool meet(const Place& one, const Place& other) {
  return one.left < other.right && one.right > other.left && one.top < other.bottom &&
         one.bottom > other.top;
}

}  // namespace

bool WordPlaces::take(double x, double y, std::string_view text, bool in_the_middle) {
  const double wide = kCharacter * static_cast<double>(text.size());
  const double left = in_the_middle ? x - 0.5 * wide : x;
  const Place wanted{left, y - kLine, left + wide, y + 0.3 * kLine};
  const bool is_free =
      std::ranges::none_of(places_, [&](const Place& place) { return meet(wanted, place); });
  if (is_free)
    places_.push_back(wanted);
  return is_free;
}

namespace {

bool is_warm(const BedZoneAccount& zone) {
  return zone.energy_wh > 0.0 && zone.active_s <= 0.0;
}

void add_boxes(const PictureArea& area, const BedFrame& frame, std::vector<Place>& places) {
  for (const auto& ring : area.rings) {
    Place box{1e9, 1e9, -1e9, -1e9};
    for (const auto& [x_mm, y_mm] : ring)
      box = {std::min(box.left, frame.x(x_mm)), std::min(box.top, frame.y(y_mm)),
             std::max(box.right, frame.x(x_mm)), std::max(box.bottom, frame.y(y_mm))};
    places.push_back(box);
  }
}

/// Boxes around objects and waste; without a picture, the cells in which something is laid.
std::vector<Place> lying_places(const Account& account, const PlatePicture* picture,
                                const BedFrame& frame) {
  std::vector<Place> places;
  if (picture != nullptr) {
    for (const PictureArea& outline : picture->outlines)
      add_boxes(outline, frame, places);
    for (const PictureArea& area : picture->areas)
      if (area.use != AreaUse::part)
        add_boxes(area, frame, places);
    return places;
  }
  const BedPicture& bed = account.bed_picture;
  for (std::size_t i = 0; i < bed.laid.size(); ++i)
    if (bed.laid[i] != 0) {
      const double x_mm = bed.x_min_mm + static_cast<double>(i % bed.columns) * bed.cell_mm;
      const double y_mm = bed.y_min_mm + static_cast<double>(i / bed.columns) * bed.cell_mm;
      places.push_back(
          {frame.x(x_mm), frame.y(y_mm + bed.cell_mm), frame.x(x_mm + bed.cell_mm), frame.y(y_mm)});
    }
  return places;
}

/// In the first corner of the tile in which nothing lies: back left, back right, front left, front
/// right. Nothing where there is none.
std::string zone_words(const BedZoneAccount& zone, const Place& tile,
                       const std::vector<Place>& lying, WordPlaces& places) {
  constexpr double kEdge = 6.0;
  std::vector<std::string> lines;
  if (zone.energy_wh > 0.0)
    lines.push_back(with_unit(zone.energy_wh, "Wh"));
  if (zone.energy_wh <= 0.0 || is_warm(zone))
    lines.emplace_back(zone.energy_wh > 0.0 ? "warm" : "off");
  std::size_t longest = 0;
  for (const std::string& line : lines)
    longest = std::max(longest, line.size());
  const double wide = kCharacter * static_cast<double>(longest);
  const double high = kLine * static_cast<double>(lines.size());
  for (const double top : {tile.top + 2.0, tile.bottom - high - kEdge})
    for (const double left : {tile.left + kEdge, tile.right - kEdge - wide}) {
      const Place wanted{left, top, left + wide, top + high + 0.3 * kLine};
      if (left < tile.left || top < tile.top ||
          std::ranges::any_of(lying, [&](const Place& one) { return meet(one, wanted); }))
        continue;
      std::string words;
      for (std::size_t i = 0; i < lines.size(); ++i) {
        const double y = top + kLine * static_cast<double>(i + 1);
        places.take(left, y, lines[i], false);
        words += words_at(left, y, lines[i],
                          i == 0 && zone.energy_wh > 0.0 ? "tile-text" : "tile-text soft");
      }
      return words;
    }
  return "";
}

}  // namespace

std::vector<std::string> words_of_zones(const Account& account) {
  std::vector<std::string> words;
  if (account.bed_zones.size() < 2)
    return words;
  if (std::ranges::any_of(account.bed_zones, is_warm))
    words.emplace_back("warm: not heated itself, warmed by neighbours");
  if (std::ranges::any_of(account.bed_zones,
                          [](const BedZoneAccount& zone) { return zone.energy_wh <= 0.0; }))
    words.emplace_back("off: not heated");
  return words;
}

BedTiles tiles_of(const Account& account, const PlatePicture* picture, const BedFrame& frame,
                  WordPlaces& places) {
  int rows = 0;
  int columns = 0;
  double most_wh = 0.0;
  for (const BedZoneAccount& zone : account.bed_zones) {
    rows = std::max(rows, zone.row + 1);
    columns = std::max(columns, zone.column + 1);
    most_wh = std::max(most_wh, zone.energy_wh);
  }
  const BedPicture& bed = account.bed_picture;
  BedTiles tiles;
  const std::vector<Place> lying = lying_places(account, picture, frame);
  const bool is_one = account.bed_zones.size() < 2;
  for (const BedZoneAccount& zone : account.bed_zones) {
    const double wide_mm = bed.bed_width_mm / columns;
    const double deep_mm = bed.bed_depth_mm / rows;
    const double x_mm = std::max(frame.left_mm, bed.bed_x_min_mm + zone.column * wide_mm);
    const double y_mm = std::max(frame.front_mm, bed.bed_y_min_mm + zone.row * deep_mm);
    const double seen_x_mm =
        std::min(frame.right_mm, bed.bed_x_min_mm + (zone.column + 1) * wide_mm) - x_mm;
    const double seen_y_mm =
        std::min(frame.back_mm, bed.bed_y_min_mm + (zone.row + 1) * deep_mm) - y_mm;
    if (seen_x_mm <= 0.0 || seen_y_mm <= 0.0)
      continue;
    // One zone is no map: its colour would say nothing.
    tiles.drawn +=
        rectangle(frame, x_mm, y_mm, seen_x_mm, seen_y_mm,
                  is_one ? "tile one" : fmt::format("tile m{}", map_step(zone.energy_wh, most_wh)));
    if (is_one || seen_x_mm * frame.scale < kWordsNeed || seen_y_mm * frame.scale < kLine)
      continue;
    const Place tile{frame.x(x_mm), frame.y(y_mm + seen_y_mm), frame.x(x_mm + seen_x_mm),
                     frame.y(y_mm)};
    tiles.words += zone_words(zone, tile, lying, places);
  }
  return tiles;
}

std::string ruler_of(const BedFrame& frame) {
  const double longest_mm = frame.longest_mm();
  const double step_mm = longest_mm > 600.0   ? 200.0
                         : longest_mm > 260.0 ? 100.0
                         : longest_mm > 120.0 ? 50.0
                         : longest_mm > 50.0  ? 20.0
                                              : 10.0;
  std::string out;
  for (double mm = std::ceil(frame.left_mm / step_mm) * step_mm; mm <= frame.right_mm;
       mm += step_mm)
    out += fmt::format("<path class=\"grid\" d=\"M{0:.1f} {1:.1f}V{2:.1f}\"/>", frame.x(mm),
                       frame.origin_y, frame.y(frame.front_mm)) +
           words_at(frame.x(mm), frame.y(frame.front_mm) + 14.0, fmt::format("{:.0f}", mm), "soft",
                    "middle");
  for (double mm = std::ceil(frame.front_mm / step_mm) * step_mm; mm <= frame.back_mm;
       mm += step_mm)
    out +=
        fmt::format("<path class=\"grid\" d=\"M{0:.1f} {2:.1f}H{1:.1f}\"/>", frame.origin_x,
                    frame.x(frame.right_mm), frame.y(mm)) +
        words_at(frame.origin_x - 5.0, frame.y(mm) + 4.0, fmt::format("{:.0f}", mm), "soft", "end");
  return out + words_at(frame.x(0.5 * (frame.left_mm + frame.right_mm)),
                        frame.y(frame.front_mm) + 29.0, "X in mm (front edge)", "soft", "middle");
}

namespace {

std::string path_of(const PictureArea& area, const BedFrame& frame) {
  std::string path;
  for (const auto& ring : area.rings) {
    for (std::size_t i = 0; i < ring.size(); ++i)
      path += fmt::format("{}{:.1f} {:.1f}", i == 0 ? "M" : "L", frame.x(ring[i][0]),
                          frame.y(ring[i][1]));
    path += 'z';
  }
  return path;
}

/// An object's number in its middle, or below or above it; none where there is no room.
std::string number_of(const PictureArea& outline, const BedFrame& frame, WordPlaces& places) {
  const Extent extent = extent_of({&outline, 1});
  const std::string number = fmt::format("{}", outline.object);
  const double x = frame.x(0.5 * (extent.left_mm + extent.right_mm));
  for (const double y : {frame.y(0.5 * (extent.front_mm + extent.back_mm)) + 5.0,
                         frame.y(extent.front_mm) - 4.0, frame.y(extent.back_mm) + 14.0})
    if (places.take(x, y, number, true))
      return words_at(x, y, number, "number", "middle");
  return "";
}

}  // namespace

std::string areas_of(const Account& account, const PlatePicture& picture, const BedFrame& frame,
                     WordPlaces& places) {
  std::string areas;
  for (const PictureArea& area : picture.areas) {
    const std::string path = path_of(area, frame);
    areas += fmt::format("<path {} d=\"{}\"/>\n", look_of_tool(account, area.tool), path);
    if (area.use != AreaUse::part)
      areas += fmt::format("<path class=\"waste\" fill=\"url(#{})\" d=\"{}\"/>\n",
                           area.use == AreaUse::purge ? "purge" : "start-up", path);
  }
  std::string outlines;
  std::string numbers;
  for (const PictureArea& outline : picture.outlines) {
    outlines += fmt::format("<path class=\"outline\" d=\"{}\"/>\n", path_of(outline, frame));
    if (picture.outlines.size() > 1)
      numbers += number_of(outline, frame, places);
  }
  // A layer's strokes are narrow: their outline lies under them, so that it hides no colour.
  return picture.at_mm ? fmt::format("<g class=\"layer\">\n{}{}</g>\n{}", outlines, areas, numbers)
                       : areas + outlines + numbers;
}

std::string area_patterns() {
  return "<defs><pattern id=\"purge\" width=\"5\" height=\"5\" patternUnits=\"userSpaceOnUse\" "
         "patternTransform=\"rotate(45)\"><path class=\"hatch-under\" d=\"M0 0V5\"/>"
         "<path class=\"hatch\" d=\"M0 0V5\"/></pattern>"
         "<pattern id=\"start-up\" width=\"5\" height=\"5\" patternUnits=\"userSpaceOnUse\">"
         "<circle class=\"dot-under\" cx=\"2.5\" cy=\"2.5\" r=\"1.7\"/>"
         "<circle class=\"dot\" cx=\"2.5\" cy=\"2.5\" r=\"1.1\"/></pattern></defs>\n";
}

bool holds(const PlatePicture& picture, AreaUse use) {
  return std::ranges::any_of(picture.areas,
                             [use](const PictureArea& area) { return area.use == use; });
}

namespace {

const ToolAccount* find_tool(const Account& account, int tool) {
  const auto found = std::ranges::find(account.tools, tool, &ToolAccount::tool);
  return found == account.tools.end() ? nullptr : &*found;
}

}  // namespace

std::string look_of_tool(const Account& account, int tool) {
  const ToolAccount* const known = find_tool(account, tool);
  if (known != nullptr)
    if (const std::optional<std::string> screen = screen_colour(known->colour))
      return fmt::format("class=\"area\" fill=\"{}\"", *screen);
  const auto number = static_cast<std::size_t>(std::max(tool, 0));
  return fmt::format("class=\"area hue {}\"{}", css_of(hue_of_index(number)),
                     number < kHuesOfSeveral ? "" : " fill-opacity=\"0.55\"");
}

std::string words_of_tool(const Account& account, int tool) {
  const ToolAccount* const known = find_tool(account, tool);
  return fmt::format(
      "tool {}, {}", tool,
      known == nullptr || known->colour.empty() ? "colour not known" : known->colour);
}

std::vector<int> tools_in(const PlatePicture& picture) {
  std::vector<int> tools;
  for (const PictureArea& area : picture.areas)
    if (std::ranges::find(tools, area.tool) == tools.end())
      tools.push_back(area.tool);
  std::ranges::sort(tools);
  return tools;
}

int map_step(double value, double most) {
  if (value <= 0.0 || most <= 0.0)
    return 0;
  return 1 + std::min(2, static_cast<int>(3.0 * value / most));
}

}  // namespace platetally::report
