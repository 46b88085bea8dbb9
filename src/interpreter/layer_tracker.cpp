#include "interpreter/layer_tracker.hpp"

#include <algorithm>
#include <cmath>

namespace platetally::interpreter {

namespace {

constexpr double kSameHeightMm = 0.012;
constexpr std::size_t kMostLayers = 100'000;

}  // namespace

std::uint32_t LayerTracker::open(double z_mm) {
  if (heights_mm_.size() >= kMostLayers) {
    overflowed_ = true;
    return nearest(z_mm);
  }
  const auto ordinal = static_cast<std::uint32_t>(heights_mm_.size());
  heights_mm_.push_back(z_mm);
  by_height_.emplace(z_mm, ordinal);
  return ordinal;
}

std::uint32_t LayerTracker::nearest(double z_mm) const {
  const auto above = by_height_.lower_bound(z_mm);
  if (above == by_height_.begin())
    return above->second;
  const auto below = std::prev(above);
  if (above == by_height_.end())
    return below->second;
  return z_mm - below->first <= above->first - z_mm ? below->second : above->second;
}

std::uint32_t LayerTracker::layer_at(double from_z_mm, double to_z_mm) {
  const bool flat = from_z_mm == to_z_mm;
  ++(flat ? flat_ : sloped_);
  if (flat && to_z_mm == last_z_mm_)
    return last_layer_;
  const double top_mm = by_height_.empty() ? -1e300 : by_height_.rbegin()->first;
  const bool climbs_a_lot = sloped_ > 100 && sloped_ * 4 > flat_;
  std::uint32_t layer = 0;
  if (by_height_.empty()) {
    layer = open(to_z_mm);
  } else if (!flat || climbs_a_lot) {
    layer = to_z_mm >= top_mm + step_mm_ - 1e-9 ? open(to_z_mm) : nearest(to_z_mm);
  } else {
    layer = nearest(to_z_mm);
    if (std::abs(heights_mm_[layer] - to_z_mm) > kSameHeightMm) {
      if (to_z_mm > top_mm)
        step_mm_ = std::max(to_z_mm - top_mm, kSameHeightMm);
      layer = open(to_z_mm);
    }
  }
  if (flat)
    last_z_mm_ = to_z_mm;
  last_layer_ = layer;
  return layer;
}

}  // namespace platetally::interpreter
