#include "motion/timeline/bed_grid.hpp"

#include <algorithm>
#include <cmath>

namespace platetally::timeline {

namespace {

constexpr double kMostSamples = 4096;  // a hostile move of kilometres must not hang the reading

}  // namespace

BedGrid::BedGrid(const Bed& bed)
    : x_min_mm_(bed.x_min_mm),
      y_min_mm_(bed.y_min_mm),
      columns_per_mm_(bed.columns / bed.width_mm),
      rows_per_mm_(bed.rows / bed.depth_mm),
      columns_(bed.columns),
      rows_(bed.rows),
      sample_mm_(0.25 * std::min(bed.width_mm / bed.columns, bed.depth_mm / bed.rows)) {}

int BedGrid::tile_at(double x_mm, double y_mm) const {
  const double column = std::floor((x_mm - x_min_mm_) * columns_per_mm_);
  const double row = std::floor((y_mm - y_min_mm_) * rows_per_mm_);
  if (!(column >= 0.0 && column < columns_ && row >= 0.0 && row < rows_))
    return -1;
  return static_cast<int>(row) * columns_ + static_cast<int>(column);
}

std::uint64_t BedGrid::bit_at(double x_mm, double y_mm) const {
  const int tile = tile_at(x_mm, y_mm);
  return tile < 0 ? 0 : std::uint64_t{1} << tile;
}

void BedGrid::remember(double x_mm, double y_mm) {
  constexpr double kRim_mm = 1e-6;
  const int tile = tile_at(x_mm, y_mm);
  if (tile < 0)
    return;
  const double column = tile % columns_;
  const int whole_rows = tile / columns_;
  const double row = whole_rows;
  inside_ = {x_min_mm_ + column / columns_per_mm_ + kRim_mm,
             x_min_mm_ + (column + 1.0) / columns_per_mm_ - kRim_mm,
             y_min_mm_ + row / rows_per_mm_ + kRim_mm,
             y_min_mm_ + (row + 1.0) / rows_per_mm_ - kRim_mm, std::uint64_t{1} << tile};
}

std::uint64_t BedGrid::sampled_tiles(const interpreter::Move& move) const {
  const double dx_mm = move.to_mm[0] - move.from_mm[0];
  const double dy_mm = move.to_mm[1] - move.from_mm[1];
  if (!move.is_arc() || move.plane != interpreter::Plane::xy) {
    std::uint64_t tiles =
        bit_at(move.from_mm[0], move.from_mm[1]) | bit_at(move.to_mm[0], move.to_mm[1]);
    const double length_mm = std::max(std::abs(dx_mm), std::abs(dy_mm));
    if (length_mm <= sample_mm_)
      return tiles;
    const int samples = static_cast<int>(std::min(std::ceil(length_mm / sample_mm_), kMostSamples));
    for (int i = 1; i < samples; ++i)
      tiles |= bit_at(move.from_mm[0] + dx_mm * i / samples, move.from_mm[1] + dy_mm * i / samples);
    return tiles;
  }
  const double radius_x_mm = move.from_mm[0] - move.centre_mm[0];
  const double radius_y_mm = move.from_mm[1] - move.centre_mm[1];
  const double length_mm = std::hypot(radius_x_mm, radius_y_mm) * std::abs(move.sweep_rad);
  const int samples =
      static_cast<int>(std::clamp(std::ceil(length_mm / sample_mm_), 1.0, kMostSamples));
  std::uint64_t tiles = 0;
  for (int i = 0; i <= samples; ++i) {
    const double angle_rad = move.sweep_rad * i / samples;
    const double cosine = std::cos(angle_rad);
    const double sine = std::sin(angle_rad);
    tiles |= bit_at(move.centre_mm[0] + cosine * radius_x_mm - sine * radius_y_mm,
                    move.centre_mm[1] + sine * radius_x_mm + cosine * radius_y_mm);
  }
  return tiles;
}

}  // namespace platetally::timeline
