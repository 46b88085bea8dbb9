// The bed from above as shapes of an SVG: its tiles, a ruler in mm, and areas of what lies there.
// Used in pages and in pictures of their own; both style the same classes.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "platetally/account.hpp"

namespace platetally::report {

/// Where millimetres lie in the drawing.
struct BedFrame {
  double left_mm = 0.0, front_mm = 0.0, right_mm = 0.0, back_mm = 0.0, scale = 1.0;
  double origin_x = 0.0, origin_y = 0.0;  ///< of the drawing: left, top
  double x(double mm) const { return origin_x + (mm - left_mm) * scale; }
  double y(double mm) const { return origin_y + (back_mm - mm) * scale; }
  double wide() const { return (right_mm - left_mm) * scale; }
  double deep() const { return (back_mm - front_mm) * scale; }
  double longest_mm() const {
    return right_mm - left_mm > back_mm - front_mm ? right_mm - left_mm : back_mm - front_mm;
  }
};

/// Around build area and bed, without scale.
BedFrame frame_of(const BedPicture& bed);
/// Around what a picture shows, with some room; all of the bed where it shows nothing.
BedFrame frame_around(const PlatePicture& picture, const BedPicture& bed);
/// False: nothing is known of the bed.
bool has_bed(const BedPicture& bed);

std::string rectangle(const BedFrame& frame, double x_mm, double y_mm, double wide_mm,
                      double deep_mm, std::string_view css);
std::string words_at(double x, double y, std::string_view text, std::string_view css = "",
                     std::string_view anchor = "start");

/// Places in a drawing that words take, so that no two lie on each other.
class WordPlaces {
 public:
  /// False: it would lie on others, and is not taken. `x` is of the middle or of the beginning.
  bool take(double x, double y, std::string_view text, bool in_the_middle);

  struct Place {
    double left, top, right, bottom;
  };

 private:
  std::vector<Place> places_;
};

/// The tiles, and apart from them their words: in a corner of the tile in which neither an object
/// nor waste lies, else none.
struct BedTiles {
  std::string drawn;
  std::string words;
};
BedTiles tiles_of(const Account& account, const PlatePicture* picture, const BedFrame& frame,
                  WordPlaces& places);

/// Millimetres along the left and the front edge.
std::string ruler_of(const BedFrame& frame);

/// The areas of a picture, and the outlines of its objects with their numbers where there is room.
std::string areas_of(const Account& account, const PlatePicture& picture, const BedFrame& frame,
                     WordPlaces& places);
/// "warm" and "off" in tiles_of(); of them what is there, for a legend.
std::vector<std::string> words_of_zones(const Account& account);
/// The patterns that purge and start-up are drawn with; once in a document.
std::string area_patterns();
bool holds(const PlatePicture& picture, AreaUse use);

/// Attributes of a tool's areas: its colour, or a hue where that is not known.
std::string look_of_tool(const Account& account, int tool);
/// "tool 1, white"
std::string words_of_tool(const Account& account, int tool);
/// That lay something of the picture, by number.
std::vector<int> tools_in(const PlatePicture& picture);

/// 0 .. 3: the step of a map's hue for a value, the largest being `most`.
int map_step(double value, double most);

}  // namespace platetally::report
