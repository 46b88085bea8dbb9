#include "shapes.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "chance.hpp"
#include "figures.hpp"

namespace plate_maker {

namespace {

constexpr double kPi = std::numbers::pi;

// Plant labels: a plate with raised frame, two rows of letters and a leaf.

/// A letter-like sign: strokes between six points, chosen by chance.
void lay_letter(const Strokes& strokes, Size corner, Size size, std::uint64_t bits) {
  constexpr std::array<std::array<double, 2>, 6> points{
      {{0, 0}, {1, 0}, {0, 0.5}, {1, 0.5}, {0, 1}, {1, 1}}};
  constexpr std::array<std::array<std::size_t, 2>, 9> lines{
      {{0, 4}, {4, 5}, {5, 3}, {3, 2}, {3, 1}, {1, 0}, {2, 5}, {2, 1}, {0, 5}}};
  const auto place = [&](std::size_t point) {
    return Size{corner.x + points[point][0] * size.x, corner.y + points[point][1] * size.y};
  };
  for (std::size_t line = 0; line < lines.size(); ++line)
    if (line == 0 || ((bits >> line) & 1U) != 0)
      strokes.path({place(lines[line][0]), place(lines[line][1])}, false);
}

void lay_letters(const Strokes& strokes, Size corner, double length_mm, double height_mm,
                 std::uint64_t row, int copy) {
  const double pitch_mm = height_mm * 0.9;
  const auto most = static_cast<std::uint64_t>(length_mm / pitch_mm);
  const std::uint64_t word = chance(strokes.options().seed, row, static_cast<std::uint64_t>(copy));
  const std::uint64_t letters = most / 2 + (most > 1 ? word % (most - most / 2) : 0) + 1;
  for (std::uint64_t letter = 0; letter < std::min(letters, most); ++letter)
    lay_letter(strokes, {corner.x + static_cast<double>(letter) * pitch_mm, corner.y},
               {height_mm * 0.55, height_mm}, chance(strokes.options().seed, word, letter));
}

void lay_leaf(const Strokes& strokes, Size stalk, double length_mm) {
  const Size tip{stalk.x, stalk.y + length_mm};
  const double radius_mm = length_mm / std::numbers::sqrt2;  // each side is a quarter circle
  const Size left{stalk.x - length_mm / 2.0, stalk.y + length_mm / 2.0};
  const Size right{stalk.x + length_mm / 2.0, stalk.y + length_mm / 2.0};
  strokes.pen().travel(stalk);
  strokes.arc(left, radius_mm, -kPi / 4.0, kPi / 2.0);
  strokes.arc(right, radius_mm, 3.0 * kPi / 4.0, kPi / 2.0);
  strokes.path({stalk, {tip.x, tip.y - length_mm * 0.2}}, false);
}

void lay_label(const Strokes& strokes, int tool, Size origin, int copy) {
  const Options& options = strokes.options();
  const Size size = options.size_mm;
  const Rectangle box{origin, {origin.x + size.x, origin.y + size.y}};
  if (tool == 0) {
    strokes.solid(box);
    return;
  }
  strokes.outer();
  const double rim_mm = 1.5;
  const double tall_mm = size.y * 0.32;
  const double small_mm = size.y * 0.18;
  const double text_mm = size.x - size.y * 0.6 - 3.0 * rim_mm;
  const double text_x = origin.x + 2.5 * rim_mm;
  for (int element = 0; element < 4; ++element) {
    if (1 + element % (options.tools - 1) != tool)
      continue;
    if (element == 0) {
      strokes.rectangle(box.inset(rim_mm));
      strokes.rectangle(box.inset(rim_mm + options.width_mm));
    } else if (element == 1) {
      lay_letters(strokes, {text_x, origin.y + size.y * 0.52}, text_mm, tall_mm, 1, copy);
    } else if (element == 2) {
      lay_leaf(strokes, {box.high.x - size.y * 0.35, origin.y + size.y * 0.22}, size.y * 0.56);
    } else {
      lay_letters(strokes, {text_x, origin.y + size.y * 0.2}, text_mm, small_mm, 2, copy);
    }
  }
}

// Lanterns: four walls, or a ring cut into panels; eight where more than four tools share them.

std::size_t panel_count(const Layer& layer) {
  return layer.tools.size() > 4 ? 8 : 4;
}

/// From a side's own frame (along it, inwards from its face) to the plate. Side 0 is the lower one.
Size on_side(const Options& options, Size origin, std::size_t side, double along, double inwards) {
  const Size size = options.size_mm;
  switch (side) {
    case 0:
      return {origin.x + along, origin.y + inwards};
    case 1:
      return {origin.x + size.x - inwards, origin.y + along};
    case 2:
      return {origin.x + size.x - along, origin.y + size.y - inwards};
    default:
      return {origin.x + inwards, origin.y + size.y - along};
  }
}

double side_length(const Options& options, std::size_t side) {
  return side % 2 == 0 ? options.size_mm.x : options.size_mm.y;
}

/// How far the wavy face stands out; the waves slant upwards.
double ripple(const Options& options, double along_mm, double z_mm) {
  constexpr double wave_mm = 6.0;
  constexpr double slant = 0.4;
  const double phase_rad = 2.0 * kPi * (along_mm - slant * z_mm) / wave_mm;
  return options.ripple_mm * (0.5 - 0.5 * std::cos(phase_rad));
}

void lay_wall(const Strokes& strokes, Size origin, std::size_t side, double begin_mm,
              double end_mm) {
  const Options& options = strokes.options();
  const double width_mm = options.width_mm;
  const int loops = std::max(1, static_cast<int>(options.wall_mm / (2.0 * width_mm) + 1e-6));
  for (int loop = loops - 1; loop >= 0; --loop) {
    const double inset_mm = (loop + 0.5) * width_mm;
    const double far_mm = options.wall_mm - inset_mm;
    std::vector<Size> points;
    const double from = begin_mm + inset_mm;
    const double to = end_mm - inset_mm;
    const int pieces = loop == 0 && options.ripple_mm > 0.0 ? static_cast<int>(to - from) : 1;
    for (int piece = 0; piece <= pieces; ++piece) {
      const double along = from + (to - from) * piece / pieces;
      const double out_mm = pieces > 1 ? ripple(options, along - from, strokes.layer().z_mm) : 0.0;
      points.push_back(on_side(options, origin, side, along, inset_mm - out_mm));
    }
    points.push_back(on_side(options, origin, side, to, far_mm));
    points.push_back(on_side(options, origin, side, from, far_mm));
    if (loop == 0)
      strokes.outer();
    else
      strokes.inner();
    strokes.path(points, true);
  }
}

void lay_round_panel(const Strokes& strokes, Size centre, double begin_rad, double end_rad) {
  const Options& options = strokes.options();
  const double width_mm = options.width_mm;
  const double outer_mm = options.size_mm.x / 2.0;
  const int loops = std::max(1, static_cast<int>(options.wall_mm / (2.0 * width_mm) + 1e-6));
  for (int loop = loops - 1; loop >= 0; --loop) {
    const double inset_mm = (loop + 0.5) * width_mm;
    const double radius_mm = outer_mm - inset_mm;
    const double inside_mm = outer_mm - options.wall_mm + inset_mm;
    const double from = begin_rad + inset_mm / radius_mm;
    const double to = end_rad - inset_mm / radius_mm;
    if (loop == 0)
      strokes.outer();
    else
      strokes.inner();
    strokes.pen().travel(on_circle(centre, radius_mm, from));
    strokes.arc(centre, radius_mm, from, to - from);
    strokes.pen().stroke(on_circle(centre, inside_mm, to));
    strokes.arc(centre, inside_mm, to, from - to);
    strokes.pen().stroke(on_circle(centre, radius_mm, from));
  }
}

Size centre_of(const Options& options, Size origin) {
  return {origin.x + options.size_mm.x / 2.0, origin.y + options.size_mm.y / 2.0};
}

void lay_lantern(const Strokes& strokes, int tool, Size origin) {
  const Options& options = strokes.options();
  const std::size_t panels = panel_count(strokes.layer());
  const std::size_t per_side = panels / 4;
  std::vector<int> tools = strokes.layer().tools;
  if (!options.colours_by_order)
    std::sort(tools.begin(), tools.end());
  for (std::size_t panel = 0; panel < panels; ++panel) {
    if (tools[panel % tools.size()] != tool)
      continue;
    if (options.round) {
      const double share_rad = 2.0 * kPi / static_cast<double>(panels);
      lay_round_panel(strokes, centre_of(options, origin), static_cast<double>(panel) * share_rad,
                      static_cast<double>(panel + 1) * share_rad);
      continue;
    }
    const std::size_t side = panel / per_side;
    const double length_mm =
        (side_length(options, side) - options.wall_mm) / static_cast<double>(per_side);
    const double begin_mm = static_cast<double>(panel % per_side) * length_mm;
    lay_wall(strokes, origin, side, begin_mm, begin_mm + length_mm);
  }
}

// Blocks in upright stripes, rings in concentric ones: a stripe a tool.

void lay_block(const Strokes& strokes, std::size_t stripe, std::size_t stripes, Size origin) {
  const Size size = strokes.options().size_mm;
  const double width_mm = size.x / static_cast<double>(stripes);
  const double x = origin.x + static_cast<double>(stripe) * width_mm;
  strokes.solid({{x, origin.y}, {x + width_mm, origin.y + size.y}});
}

void lay_ring(const Strokes& strokes, std::size_t stripe, Size origin) {
  const Options& options = strokes.options();
  const Size centre = centre_of(options, origin);
  const int loops = std::max(1, static_cast<int>(options.wall_mm / options.width_mm + 1e-6));
  strokes.outer();
  for (int loop = 0; loop < loops; ++loop) {
    const double radius_mm = options.size_mm.x / 2.0 -
                             static_cast<double>(stripe) * options.wall_mm -
                             (loop + 0.5) * options.width_mm;
    if (radius_mm < 1.0)
      return;
    strokes.pen().travel(on_circle(centre, radius_mm, 0.0));
    // A full turn, then halves the other way round: both forms occur.
    if (loop % 2 == 0) {
      strokes.arc(centre, radius_mm, 0.0, 2.0 * kPi);
    } else {
      strokes.arc(centre, radius_mm, 0.0, -kPi);
      strokes.arc(centre, radius_mm, -kPi, -kPi);
    }
  }
}

}  // namespace

void lay_shape(const Strokes& strokes, int tool, Size origin, int copy) {
  const auto& tools = strokes.layer().tools;
  std::size_t stripe = 0;
  while (tools[stripe] != tool)
    ++stripe;
  if (!strokes.options().colours_by_order)
    stripe = static_cast<std::size_t>(
        std::count_if(tools.begin(), tools.end(), [tool](int other) { return other < tool; }));
  switch (strokes.options().kind) {
    case Kind::labels:
      lay_label(strokes, tool, origin, copy);
      break;
    case Kind::lantern:
      lay_lantern(strokes, tool, origin);
      break;
    case Kind::blocks:
      lay_block(strokes, stripe, tools.size(), origin);
      break;
    case Kind::ring:
      lay_ring(strokes, stripe, origin);
      break;
    case Kind::figures:
      lay_figures(strokes, tool, origin);
      break;
    case Kind::pillars:
      lay_pillars(strokes, tool, origin);
      break;
    case Kind::logo:
      lay_logo(strokes, tool, origin, copy);
      break;
    case Kind::lithophane:
      lay_lithophane(strokes, tool, origin);
      break;
  }
}

void lay_spiral_turn(const Strokes& strokes, Size origin) {
  const Options& options = strokes.options();
  const Layer& layer = strokes.layer();
  const double floor_mm = layer.z_mm - layer.height_mm;
  const double inset_mm = 0.5 * options.width_mm;
  strokes.outer();
  if (options.round) {
    const Size centre = centre_of(options, origin);
    const double radius_mm = options.size_mm.x / 2.0 - inset_mm;
    const int parts = options.arcs ? 4 : static_cast<int>(2.0 * kPi * radius_mm);
    for (int part = 1; part <= parts; ++part) {
      strokes.pen().set_level(floor_mm + layer.height_mm * part / parts);
      const double begin_rad = 2.0 * kPi * (part - 1) / parts;
      strokes.arc(centre, radius_mm, begin_rad, 2.0 * kPi / parts);
    }
    return;
  }
  const double around_mm = 2.0 * (options.size_mm.x + options.size_mm.y);
  double gone_mm = 0.0;
  for (std::size_t side = 0; side < 4; ++side) {
    const double length_mm = side_length(options, side);
    const int pieces = std::max(1, static_cast<int>(length_mm / 2.0));
    for (int piece = 1; piece <= pieces; ++piece) {
      const double along_mm = length_mm * piece / pieces;
      strokes.pen().set_level(floor_mm + layer.height_mm * (gone_mm + along_mm) / around_mm);
      const double corner_mm = piece == pieces ? length_mm - inset_mm : along_mm;
      strokes.pen().stroke(on_side(options, origin, side, corner_mm, inset_mm));
    }
    gone_mm += length_mm;
  }
}

std::vector<int> tools_of_layer(const Options& options, std::size_t layer) {
  const auto layers = static_cast<std::size_t>(options.layers);
  const auto upper = static_cast<std::size_t>(options.upper_layers);
  std::vector<int> tools;
  if (options.colours == Colours::bands)
    return {static_cast<int>(layer / static_cast<std::size_t>(options.band_layers)) %
            options.tools};
  bool all = options.colours == Colours::every_layer || layer + upper >= layers;
  if (options.kind == Kind::logo)
    all = layer < static_cast<std::size_t>(options.logo_layers);
  if (options.kind == Kind::lithophane)
    all = layer >= 2;  // on a ground of the first colour
  // Letters stand on the plate of a label: its own tool is not needed any more.
  const int first = options.kind == Kind::labels && all && options.tools > 1 ? 1 : 0;
  for (int tool = first; tool < (all ? options.tools : 1); ++tool)
    tools.push_back(tool);
  return tools;
}

}  // namespace plate_maker
