#include "figures.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "chance.hpp"

namespace plate_maker {

namespace {

enum class Outline { rectangle, disc, step, wedge };

struct Figure {
  Outline outline = Outline::rectangle;
  Size low;
  Size size;
};

double share_of(std::uint64_t bits) {
  return static_cast<double>(bits % 10000) / 10000.0;
}

/// The figure's lower and upper edge above x, 0 .. 1 across.
std::pair<double, double> edges(const Figure& figure, double across) {
  const double depth_mm = figure.size.y;
  switch (figure.outline) {
    case Outline::disc: {
      const double half_mm =
          depth_mm * std::sqrt(std::max(0.0, across * (1.0 - across)));  // of a circle
      return {figure.low.y + depth_mm / 2.0 - half_mm, figure.low.y + depth_mm / 2.0 + half_mm};
    }
    case Outline::step:
      return {figure.low.y, figure.low.y + depth_mm * (across < 0.5 ? 1.0 : 0.55)};
    case Outline::wedge:
      return {figure.low.y, figure.low.y + depth_mm * (0.4 + 0.6 * across)};
    case Outline::rectangle:
      break;
  }
  return {figure.low.y, figure.low.y + depth_mm};
}

/// The figures of the plate, side by side from `origin` on, in the order in which they are laid.
std::vector<Figure> figures_of(const Options& options, Size origin, double least_mm,
                               double most_mm) {
  std::vector<Figure> figures;
  const auto count = static_cast<std::uint64_t>(options.figures);
  for (std::uint64_t i = 0; i < count; ++i) {
    Figure figure;
    figure.outline = static_cast<Outline>(chance(options.seed, 11, i) % 4);
    // Unlike: each has a range of sizes of its own.
    const double step = (static_cast<double>(i) + 0.8 * share_of(chance(options.seed, 12, i))) /
                        static_cast<double>(count);
    const double long_mm = least_mm + (most_mm - least_mm) * step;
    figure.size = {long_mm, long_mm * (0.5 + 0.5 * share_of(chance(options.seed, 13, i)))};
    figures.push_back(figure);
  }
  if (!options.small_first)
    std::reverse(figures.begin(), figures.end());
  double x = origin.x;
  for (Figure& figure : figures) {
    figure.low = {x, origin.y};
    x += figure.size.x + options.gap_mm;
  }
  return figures;
}

/// The part of a figure from `from` to `to` across: two walls and lines upwards.
void lay_region(const Strokes& strokes, const Figure& figure, double from, double to) {
  const Options& options = strokes.options();
  const double width_mm = options.width_mm;
  const auto point = [&](double across, bool upper, double inset_mm) {
    const auto [low_mm, high_mm] = edges(figure, across);
    const double middle_mm = 0.5 * (low_mm + high_mm);
    const double y =
        upper ? std::max(middle_mm, high_mm - inset_mm) : std::min(middle_mm, low_mm + inset_mm);
    const double x = std::clamp(figure.low.x + across * figure.size.x,
                                figure.low.x + from * figure.size.x + inset_mm,
                                figure.low.x + to * figure.size.x - inset_mm);
    return Size{x, y};
  };
  const double across_mm = (to - from) * figure.size.x;
  if (across_mm < 3.0 * width_mm)
    return;
  const int pieces =
      figure.outline == Outline::rectangle ? 1 : std::max(2, static_cast<int>(across_mm));
  for (const double loop : {1.5, 0.5}) {
    std::vector<Size> points;
    for (int i = 0; i <= pieces; ++i)
      points.push_back(point(from + (to - from) * i / pieces, false, loop * width_mm));
    for (int i = pieces; i >= 0; --i)
      points.push_back(point(from + (to - from) * i / pieces, true, loop * width_mm));
    if (loop > 1.0)
      strokes.inner();
    else
      strokes.outer();
    strokes.path(points, true);
  }
  strokes.infill();
  const double pitch_mm = width_mm / options.density;
  bool upwards = true;
  std::vector<Size> lines;
  for (double x_mm = 2.5 * width_mm; x_mm < across_mm - 2.5 * width_mm; x_mm += pitch_mm) {
    const double across = from + x_mm / figure.size.x;
    lines.push_back(point(across, !upwards, 2.5 * width_mm));
    lines.push_back(point(across, upwards, 2.5 * width_mm));
    upwards = !upwards;
  }
  if (lines.size() > 1)
    strokes.path(lines, false);
}

/// A saw that goes up and down between 0 and 1 with its argument.
double back_and_forth(double value) {
  const double rest = std::fmod(value, 2.0);
  return rest < 1.0 ? rest : 2.0 - rest;
}

std::size_t colour_of(const Options& options, std::size_t place, std::size_t layer,
                      std::size_t colours) {
  const auto every = static_cast<std::size_t>(options.change_places_every);
  return (place + (every > 0 ? layer / every : 0)) % colours;
}

}  // namespace

void lay_figures(const Strokes& strokes, int tool, Size origin) {
  const Options& options = strokes.options();
  const auto colours = static_cast<std::size_t>(options.tools);
  const std::size_t layer = strokes.layer().index;
  const double most_mm = std::max(options.size_mm.x, 8.0);
  for (const Figure& figure : figures_of(options, origin, most_mm * 0.25, most_mm)) {
    // Borders move by less than half of a stripe's width to each side.
    const double stripe = 1.0 / static_cast<double>(colours);
    const double moved =
        0.45 * stripe *
        (2.0 * back_and_forth(0.5 + options.drift_mm * static_cast<double>(layer) / figure.size.x) -
         1.0);
    if (options.colours == Colours::bands) {
      lay_region(strokes, figure, 0.0, 1.0);
      continue;
    }
    for (std::size_t place = 0; place < colours; ++place) {
      if (colour_of(options, place, layer, colours) != static_cast<std::size_t>(tool))
        continue;
      const double from = place == 0 ? 0.0 : stripe * static_cast<double>(place) + moved;
      const double to =
          place + 1 == colours ? 1.0 : stripe * static_cast<double>(place + 1) + moved;
      lay_region(strokes, figure, from, to);
    }
  }
}

void lay_pillars(const Strokes& strokes, int tool, Size origin) {
  const Options& options = strokes.options();
  const auto colours = static_cast<std::size_t>(options.tools);
  const std::vector<Figure> pillars = figures_of(options, origin, 3.5, 9.0);
  for (std::size_t i = 0; i < pillars.size(); ++i)
    if (colour_of(options, i, strokes.layer().index, colours) == static_cast<std::size_t>(tool))
      lay_region(strokes, pillars[i], 0.0, 1.0);
}

void lay_logo(const Strokes& strokes, int tool, Size origin, int copy) {
  constexpr std::size_t kColumns = 5;
  constexpr std::size_t kRows = 3;
  const Options& options = strokes.options();
  const auto layer = static_cast<int>(strokes.layer().index);
  if (layer >= options.logo_layers) {
    strokes.solid({origin, {origin.x + options.size_mm.x, origin.y + options.size_mm.y}});
    return;
  }
  const double width_mm = options.size_mm.x / kColumns;
  const double depth_mm = options.size_mm.y / kRows;
  for (std::uint64_t row = 0; row < kRows; ++row)
    for (std::uint64_t column = 0; column < kColumns; ++column) {
      const std::uint64_t bits =
          chance(options.seed, 21 + static_cast<std::uint64_t>(copy), row * kColumns + column);
      if (static_cast<int>(bits % static_cast<std::uint64_t>(options.tools)) != tool)
        continue;
      const Size low{origin.x + static_cast<double>(column) * width_mm,
                     origin.y + static_cast<double>(row) * depth_mm};
      strokes.solid({low, {low.x + width_mm, low.y + depth_mm}});
    }
}

void lay_lithophane(const Strokes& strokes, int tool, Size origin) {
  constexpr double kPixel_mm = 4.0;
  constexpr std::size_t kBaseLayers = 2;
  constexpr std::uint64_t kLayersAlike = 3;
  const Options& options = strokes.options();
  const std::size_t layer = strokes.layer().index;
  const auto columns = static_cast<std::uint64_t>(options.size_mm.x / kPixel_mm);
  const auto rows = static_cast<std::uint64_t>(options.size_mm.y / kPixel_mm);
  const auto colour_at = [&](std::uint64_t row, std::uint64_t column) {
    if (layer < kBaseLayers)
      return 0;
    // Neighbours are often alike, as in a picture.
    const std::uint64_t bits =
        chance(options.seed, 31 + layer / kLayersAlike, (row / 2) * 1000 + column / 2);
    return static_cast<int>(bits % static_cast<std::uint64_t>(options.tools));
  };
  if (tool == 0) {
    strokes.outer();
    strokes.rectangle({{origin.x - options.width_mm, origin.y - options.width_mm},
                       {origin.x + static_cast<double>(columns) * kPixel_mm + options.width_mm,
                        origin.y + static_cast<double>(rows) * kPixel_mm + options.width_mm}});
  }
  strokes.infill();
  for (std::uint64_t row = 0; row < rows; ++row)
    for (std::uint64_t column = 0; column < columns;) {
      std::uint64_t end = column;
      while (end < columns && colour_at(row, end) == tool)
        ++end;
      if (end == column) {
        ++column;
        continue;
      }
      const Rectangle run{{origin.x + static_cast<double>(column) * kPixel_mm,
                           origin.y + static_cast<double>(row) * kPixel_mm},
                          {origin.x + static_cast<double>(end) * kPixel_mm,
                           origin.y + static_cast<double>(row + 1) * kPixel_mm}};
      strokes.zigzag(run.inset(0.5 * options.width_mm), options.width_mm, true);
      column = end;
    }
}

}  // namespace plate_maker
