// Layers from motion alone: a layer is a height at which material is laid.
//
// Level strokes: a height within kSameHeight_mm of a known one is that layer (several objects one
// after the other print the same heights again), any other opens a layer.
// Sloped strokes (spiral and non-planar prints change Z while they lay) would open a layer with
// every move. They climb instead: from the layer they began in to the next known one above, and a
// new one opens only when the path rises above the highest so far by the last step between level
// layers. A new stroke of a sloped print begins in the layer below it. So a non-planar print has as
// many layers as its height over that step. A spiral has a layer a turn: once it has gone around,
// its pitch is that step (climb.hpp).
#pragma once

#include <cmath>
#include <cstdint>
#include <map>
#include <vector>

#include "reading/interpreter/climb.hpp"

namespace platetally::interpreter {

/// Layers are 0.05 mm high or more, and files round Z to 0.001 mm (common practice, no source);
/// steps of relative Z add up such roundings, a few micrometres at most.
inline constexpr double kSameHeight_mm = 0.01;

inline constexpr std::size_t kMostLayers = 100000;

class LayerFinder {
 public:
  LayerFinder() = default;
  LayerFinder(const LayerFinder&) = delete;  // at_ points into by_height_
  LayerFinder& operator=(const LayerFinder&) = delete;

  struct Place {
    std::uint32_t layer = 0;
    bool is_known = false;  ///< false: this height has no layer, and none may be opened
  };

  /// True when a level stroke at `z_mm` lies in the layer in force: the usual case, told cheaply.
  bool is_level_again(double from_z_mm, double to_z_mm) {
    if (from_z_mm != to_z_mm || !is_level(to_z_mm))
      return false;
    ++level_moves_;
    return true;
  }
  /// The same for level strokes at `z_mm`, any number of them, which are counted when laid.
  bool is_level(double z_mm) const { return z_mm == level_mm_ && !in_slope(); }
  void count_level(std::uint64_t strokes) { level_moves_ += strokes; }

  std::uint32_t current() const { return current_; }
  double current_mm() const { return heights_mm_[current_]; }

  /// Material is laid from one point to another; `joined`: the move begins where the last laid one
  /// ended. With `may_open` false only known layers are entered.
  Place lay(const Climb::Point& from_mm, const Climb::Point& to_mm, bool joined, bool may_open);

  const std::vector<double>& heights_mm() const { return heights_mm_; }
  double top_mm() const { return by_height_.empty() ? 0.0 : by_height_.rbegin()->first; }
  /// True when the plate has more heights than kMostLayers: the nearest known one was taken.
  bool is_capped() const { return capped_; }

 private:
  using Heights = std::map<double, std::uint32_t>;

  /// The present layer slopes, though part of its strokes may be level: along a wave's crest, say.
  bool in_slope() const { return kLevelInSlope * sloped_moves_ > level_moves_; }

  bool follow_climb(const Climb::Point& from_mm, const Climb::Point& to_mm, bool level,
                    bool joined);
  void relabel(double z_mm);
  Place lay_level(double z_mm, bool may_open);
  Place lay_sloped(double z_mm, bool joined, bool may_open);
  Heights::iterator nearest(double z_mm);
  Place enter(Heights::iterator layer);
  Place climb_to_next(double z_mm, bool may_open);
  Place open(double z_mm, bool may_open);

  static constexpr std::uint64_t kLevelInSlope = 4;

  Heights by_height_;
  std::vector<double> heights_mm_{0.0};
  Heights::iterator at_ = by_height_.end();
  std::uint32_t current_ = 0;
  Climb climb_;
  std::uint32_t climbed_to_ = 0;    // the layer that the present climb has opened
  double level_mm_ = std::nan("");  // height of the last level stroke in a layer
  double step_mm_ = 0.2;
  std::uint64_t level_moves_ = 0;  // in the present layer
  std::uint64_t sloped_moves_ = 0;
  bool capped_ = false;
};

}  // namespace platetally::interpreter
