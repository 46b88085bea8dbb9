#include "reading/interpreter/layer_finder.hpp"

#include <algorithm>
#include <iterator>

namespace platetally::interpreter {

namespace {

// Rounding of relative coordinates, not a slope.
constexpr double kLevel_mm = 1e-6;
// Steps between layers that are believed when a slope is divided into layers.
constexpr double kLeastStep_mm = 0.05;
constexpr double kMostStep_mm = 2.0;
constexpr double kFirstStep_mm = 0.2;
// A spiral reaches the next layer a rounding of Z early.
constexpr double kClimb_mm = 1e-3;

}  // namespace

LayerFinder::Place LayerFinder::lay(double from_z_mm, double to_z_mm, bool joined, bool may_open) {
  const bool level = std::abs(to_z_mm - from_z_mm) <= kLevel_mm;
  // A level move in a sloped print is a moment of its path, not a layer.
  const bool sloped = !level || in_slope();
  const Place place = sloped ? lay_sloped(to_z_mm, joined, may_open) : lay_level(to_z_mm, may_open);
  level_mm_ = level && place.is_known ? to_z_mm : std::nan("");
  if (place.is_known)
    ++(level ? level_moves_ : sloped_moves_);
  return place;
}

LayerFinder::Place LayerFinder::lay_level(double z_mm, bool may_open) {
  if (const auto known = nearest(z_mm);
      known != by_height_.end() && std::abs(known->first - z_mm) <= kSameHeight_mm)
    return enter(known);
  if (may_open && !by_height_.empty() && z_mm > top_mm())
    step_mm_ = std::clamp(z_mm - top_mm(), kLeastStep_mm, kMostStep_mm);
  return open(z_mm, may_open);
}

LayerFinder::Place LayerFinder::lay_sloped(double z_mm, bool joined, bool may_open) {
  if (by_height_.empty()) {
    // On a slope the first height says less about the step than on the level.
    const Place first = open(z_mm, may_open);
    step_mm_ = std::min(step_mm_, kFirstStep_mm);
    return first;
  }
  if (z_mm >= top_mm() + step_mm_ - kClimb_mm)
    return open(z_mm, may_open);
  auto layer = at_;
  if (!joined || layer == by_height_.end()) {
    layer = by_height_.upper_bound(z_mm + kSameHeight_mm);
    if (layer != by_height_.begin())
      --layer;
  }
  for (auto above = std::next(layer); above != by_height_.end() && above->first <= z_mm + kClimb_mm;
       ++above)
    layer = above;
  return enter(layer);
}

LayerFinder::Heights::iterator LayerFinder::nearest(double z_mm) {
  const auto above = by_height_.lower_bound(z_mm);
  if (above == by_height_.begin())
    return above;
  const auto below = std::prev(above);
  return above == by_height_.end() || z_mm - below->first <= above->first - z_mm ? below : above;
}

LayerFinder::Place LayerFinder::enter(Heights::iterator layer) {
  if (layer->second != current_) {
    sloped_moves_ = in_slope() ? 1 : 0;
    level_moves_ = 0;
  }
  at_ = layer;
  current_ = layer->second;
  return {current_, true};
}

LayerFinder::Place LayerFinder::open(double z_mm, bool may_open) {
  if (!may_open)
    return {current_, false};
  if (heights_mm_.size() > kMostLayers) {
    capped_ = true;
    return enter(nearest(z_mm));
  }
  if (by_height_.empty())
    step_mm_ = z_mm >= kLeastStep_mm && z_mm <= kMostStep_mm ? z_mm : kFirstStep_mm;
  const auto ordinal = static_cast<std::uint32_t>(heights_mm_.size());
  heights_mm_.push_back(z_mm);
  return enter(by_height_.emplace(z_mm, ordinal).first);
}

}  // namespace platetally::interpreter
