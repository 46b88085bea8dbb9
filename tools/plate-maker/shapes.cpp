#include "shapes.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace plate_maker {

namespace {

constexpr double kOuterFeed = 6000.0;  // mm/min
constexpr double kInnerFeed = 9000.0;
constexpr double kFirstFeed = 2400.0;
constexpr double kLabelWidthMm = 60.0;
constexpr double kLabelDepthMm = 20.0;
constexpr double kGapMm = 5.0;
constexpr double kTowerWidthMm = 35.0;

struct Place {
  double x_mm, y_mm;
};

class Maker {
 public:
  Maker(const Options& options, Writer& writer) : options_(options), writer_(writer) {}

  void make() {
    writer_.start(options_.colours);
    if (options_.layers > 0)
      make_layers();
    writer_.finish();
  }

 private:
  int columns() const { return options_.kind == "labels" ? 3 : 2; }

  Place place_of(int copy) const {
    const double wide_mm = options_.kind == "labels" ? kLabelWidthMm : options_.size_mm;
    const double deep_mm = options_.kind == "labels" ? kLabelDepthMm : options_.size_mm;
    return {options_.origin_x_mm + (copy % columns()) * (wide_mm + kGapMm),
            options_.origin_y_mm + (copy / columns()) * (deep_mm + kGapMm)};
  }

  Place tower_place() const {
    const int rows = (options_.copies + columns() - 1) / columns();
    if (options_.kind == "labels")
      return {options_.origin_x_mm,
              options_.origin_y_mm + rows * (kLabelDepthMm + kGapMm) + kGapMm};
    const int wide = std::min(options_.copies, columns());
    return {options_.origin_x_mm + wide * (options_.size_mm + kGapMm) + kGapMm,
            options_.origin_y_mm};
  }

  double feed(int layer, double usual) const { return layer == 0 ? kFirstFeed : usual; }
  double z_of(int layer) const { return (layer + 1) * options_.layer_mm; }

  /// Colours that the layer needs. Labels are plain below and coloured in their last three layers.
  std::vector<int> tools_of(int layer) const {
    std::vector<int> tools;
    const bool plain = options_.kind == "labels" && layer < options_.layers - 3;
    for (int tool = 0; tool < (plain ? 1 : options_.colours); ++tool)
      tools.push_back(tool);
    if (options_.order == Order::carry_over) {
      const auto in_hand = std::find(tools.begin(), tools.end(), writer_.tool());
      if (in_hand != tools.end())
        std::rotate(tools.begin(), in_hand, in_hand + 1);
    }
    return tools;
  }

  void make_layers() {
    writer_.select(0);
    if (options_.spiral)
      return spiral();
    const int passes = options_.sequential ? options_.copies : 1;
    for (int pass = 0; pass < passes; ++pass) {
      for (int layer = 0; layer < options_.layers; ++layer) {
        writer_.set_layer(z_of(layer));
        swaps_in_layer_ = 0;
        for (const int tool : tools_of(layer))
          make_tool(layer, tool, options_.sequential ? pass : -1);
      }
    }
  }

  void make_tool(int layer, int tool, int only_copy) {
    const bool first = writer_.tool() < 0;
    const bool swaps = !first && tool != writer_.tool();
    writer_.select(tool);
    if (swaps)
      purge(layer);
    for (int copy = 0; copy < options_.copies; ++copy)
      if (only_copy < 0 || copy == only_copy)
        make_part(layer, tool, place_of(copy));
  }

  void purge(int layer) {
    const double length_mm = options_.purge_mm3 / writer_.bead_mm2();
    const int index = swaps_in_layer_++;
    const double pitch_mm = Writer::kBeadMm;
    writer_.purging(true);
    switch (options_.purge) {
      case Purge::none:
        break;
      case Purge::chute:
        writer_.travel(options_.origin_x_mm - 15.0, options_.origin_y_mm - 15.0);
        writer_.feed(options_.purge_mm3);
        break;
      case Purge::line: {
        writer_.travel(options_.origin_x_mm, options_.origin_y_mm - 12.0);
        const int passes = std::max(1, static_cast<int>(std::lround(length_mm / 80.0)));
        for (int pass = 0; pass < passes; ++pass)
          writer_.lay(options_.origin_x_mm + (pass % 2 == 0 ? 80.0 : 0.0),
                      options_.origin_y_mm - 12.0, feed(layer, kInnerFeed));
        break;
      }
      case Purge::tower: {
        writer_.comment("prime tower");
        const Place place = tower_place();
        const int lines =
            std::max(2, static_cast<int>(std::lround(length_mm / (kTowerWidthMm + pitch_mm))));
        if (options_.tower_ahead)
          writer_.set_layer(z_of(layer + 1));
        writer_.fill(place.x_mm, place.y_mm + index * lines * pitch_mm, kTowerWidthMm, lines,
                     pitch_mm, feed(layer, kInnerFeed));
        if (options_.tower_ahead)
          writer_.set_layer(z_of(layer));
        writer_.comment("prime tower end");
        break;
      }
    }
    writer_.purging(false);
  }

  void make_part(int layer, int tool, Place at) {
    if (options_.kind == "labels")
      label(layer, tool, at);
    else if (options_.kind == "lantern")
      lantern(layer, tool, at);
    else if (options_.kind == "ring")
      ring(layer, tool, at);
    else
      block(layer, tool, at);
  }

  /// Tool 0: plate; 1: frame; 2 and beyond: letters, as strokes.
  void label(int layer, int tool, Place at) {
    const bool plain = layer < options_.layers - 3;
    if (tool == 0) {
      const double inset_mm = plain ? 0.0 : 1.5;
      writer_.rectangle(at.x_mm + inset_mm, at.y_mm + inset_mm, kLabelWidthMm - 2 * inset_mm,
                        kLabelDepthMm - 2 * inset_mm, feed(layer, kOuterFeed));
      const int lines = plain ? 40 : 12;  // above, letters leave room in the middle
      writer_.fill(at.x_mm + inset_mm + 0.5, at.y_mm + inset_mm + 0.5,
                   kLabelWidthMm - 2 * inset_mm - 1.0, lines, Writer::kBeadMm,
                   feed(layer, kInnerFeed));
    } else if (tool == 1) {
      for (int wall = 0; wall < 3; ++wall)
        writer_.rectangle(at.x_mm + wall * 0.45, at.y_mm + wall * 0.45, kLabelWidthMm - wall * 0.9,
                          kLabelDepthMm - wall * 0.9, feed(layer, kOuterFeed));
    } else {
      for (int letter = 0; letter < 6; ++letter)
        writer_.rectangle(at.x_mm + 6.0 + letter * 8.0, at.y_mm + 9.0 + (tool - 2) * 4.0, 5.0, 2.5,
                          feed(layer, kOuterFeed));
    }
  }

  /// A square shell; each colour has one side, four beads thick.
  void lantern(int layer, int tool, Place at) {
    const double s = options_.size_mm;
    for (int wall = 0; wall < 4; ++wall) {
      const double w = wall * Writer::kBeadMm;
      const double a = w;
      const double b = s - w;
      const double x0 = tool == 0 || tool == 3 ? a : b;
      const double y0 = tool == 0 || tool == 1 ? a : b;
      const double x1 = tool == 0 || tool == 1 ? b : a;
      const double y1 = tool == 1 || tool == 2 ? b : a;
      writer_.travel(at.x_mm + x0, at.y_mm + y0);
      writer_.lay(at.x_mm + x1, at.y_mm + y1, feed(layer, wall == 0 ? kOuterFeed : kInnerFeed));
    }
  }

  void block(int layer, int tool, Place at) {
    const double step_mm = options_.size_mm / options_.colours;
    const double x_mm = at.x_mm + tool * step_mm;
    if (options_.waves)
      return waves(x_mm, at.y_mm, step_mm, layer);
    writer_.rectangle(x_mm, at.y_mm, step_mm - 0.5, options_.size_mm, feed(layer, kOuterFeed));
    writer_.fill(x_mm + 0.5, at.y_mm + 0.5, step_mm - 1.5, static_cast<int>(options_.size_mm / 2.0),
                 1.9, feed(layer, kInnerFeed));
  }

  void waves(double x_mm, double y_mm, double width_mm, int layer) {
    writer_.travel(x_mm, y_mm);
    for (int i = 1; i <= 40; ++i)
      writer_.lay_sloped(x_mm + width_mm * (i % 2), y_mm + i,
                         z_of(layer) + 0.3 * options_.layer_mm * std::sin(i * 0.7), kOuterFeed);
  }

  void ring(int layer, int tool, Place at) {
    const double radius_mm = 0.5 * options_.size_mm - tool * 2.0;
    const double x_mm = at.x_mm + 0.5 * options_.size_mm;
    const double y_mm = at.y_mm + 0.5 * options_.size_mm;
    const double half_mm = std::numbers::pi * radius_mm;
    writer_.travel(x_mm + radius_mm, y_mm);
    writer_.lay_arc(x_mm - radius_mm, y_mm, -radius_mm, 0.0, false, half_mm,
                    feed(layer, kOuterFeed));
    writer_.lay_arc(x_mm + radius_mm, y_mm, radius_mm, 0.0, false, half_mm,
                    feed(layer, kOuterFeed));
  }

  /// One wall that climbs all the way round; two flat layers below it.
  void spiral() {
    const Place at = place_of(0);
    const double r = 0.5 * options_.size_mm;
    for (int layer = 0; layer < 2; ++layer) {
      writer_.set_layer(z_of(layer));
      writer_.rectangle(at.x_mm, at.y_mm, 2 * r, 2 * r, feed(layer, kOuterFeed));
    }
    constexpr int kSides = 60;
    writer_.travel(at.x_mm + 2 * r, at.y_mm + r);
    for (int i = 1; i <= kSides * (options_.layers - 2); ++i) {
      if (i % kSides == 0)
        writer_.reach_layer(z_of(1 + i / kSides));
      const double angle = 2.0 * std::numbers::pi * i / kSides;
      writer_.lay_sloped(at.x_mm + r + r * std::cos(angle), at.y_mm + r + r * std::sin(angle),
                         z_of(1) + options_.layer_mm * i / kSides, kOuterFeed);
    }
  }

  const Options& options_;
  Writer& writer_;
  int swaps_in_layer_ = 0;
};

}  // namespace

void make_plate(const Options& options, Writer& writer) {
  Maker(options, writer).make();
}

}  // namespace plate_maker
