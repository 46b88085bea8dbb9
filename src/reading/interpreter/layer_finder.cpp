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

/// Whether the stroke belongs to a climb.
bool LayerFinder::follow_climb(const Climb::Point& from_mm, const Climb::Point& to_mm, bool level,
                               bool joined) {
  if (!joined)
    climb_.end();
  if (!climb_.is_on()) {
    if (level)
      return false;
    climb_.begin(from_mm, by_height_.empty());
    climbed_to_ = 0;
  }
  climb_.go(from_mm, to_mm);
  if (!level || !climb_.is_flat())
    return true;
  // A ramp has come to its layer.
  if (climbed_to_ != 0)
    relabel(to_mm[2]);
  sloped_moves_ = 0;
  climb_.end();
  return false;
}

LayerFinder::Place LayerFinder::lay(const Climb::Point& from_mm, const Climb::Point& to_mm,
                                    bool joined, bool may_open) {
  const double z_mm = to_mm[2];
  const bool level = std::abs(z_mm - from_mm[2]) <= kLevel_mm;
  const bool climbs = follow_climb(from_mm, to_mm, level, joined);
  // A level move in a sloped print is a moment of its path, not a layer.
  const bool sloped = climbs || in_slope();
  const Place place = sloped ? lay_sloped(z_mm, joined, may_open) : lay_level(z_mm, may_open);
  level_mm_ = level && !climbs && place.is_known ? z_mm : std::nan("");
  if (place.is_known)
    ++(level && !climbs ? level_moves_ : sloped_moves_);
  return place;
}

/// The layer that a climb has opened lies at the height that it comes to.
void LayerFinder::relabel(double z_mm) {
  if (at_ == by_height_.end() || current_ != climbed_to_ || at_ != std::prev(by_height_.end()) ||
      std::abs(at_->first - z_mm) <= kSameHeight_mm)
    return;
  const auto below = at_ == by_height_.begin() ? by_height_.end() : std::prev(at_);
  if (below != by_height_.end() && below->first >= z_mm - kSameHeight_mm)
    return;
  by_height_.erase(at_);
  heights_mm_[current_] = z_mm;
  at_ = by_height_.emplace(z_mm, current_).first;
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
  const double pitch_mm = climb_.is_on() ? climb_.pitch_mm() : 0.0;
  if (pitch_mm > 0.0)
    step_mm_ = pitch_mm;
  const double next_mm = pitch_mm > 0.0 ? std::max(climb_.next_layer_mm(pitch_mm), top_mm())
                                        : top_mm() + step_mm_ - kClimb_mm;
  if (z_mm > top_mm() && z_mm >= next_mm)
    return climb_to_next(z_mm, may_open);
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

/// A new layer above all others, a step higher, that a sloped stroke has come to.
LayerFinder::Place LayerFinder::climb_to_next(double z_mm, bool may_open) {
  const double next_mm = top_mm() + step_mm_;
  const Place place = open(z_mm < next_mm + step_mm_ ? next_mm : z_mm, may_open);
  if (place.is_known)
    climb_.count_layer();
  return place;
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
  climbed_to_ = static_cast<std::uint32_t>(heights_mm_.size());
  if (by_height_.empty())
    step_mm_ = z_mm >= kLeastStep_mm && z_mm <= kMostStep_mm ? z_mm : kFirstStep_mm;
  const auto ordinal = static_cast<std::uint32_t>(heights_mm_.size());
  heights_mm_.push_back(z_mm);
  return enter(by_height_.emplace(z_mm, ordinal).first);
}

}  // namespace platetally::interpreter
