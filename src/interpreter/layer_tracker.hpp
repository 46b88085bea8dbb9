// Finds layers from motion alone: a layer is a height at which material is laid.
#pragma once

#include <cstdint>
#include <map>
#include <vector>

namespace platetally::interpreter {

/// Heights within kSameHeightMm are one layer (three decimals in a file, and 0.04 mm is about the
/// thinnest layer of the trade: common practice, no source). Where the path climbs while it lays
/// (spirals, non-planar prints), heights mean little: there a layer opens only a whole step above
/// all earlier ones. Objects printed one after the other come back to heights that are known.
class LayerTracker {
 public:
  /// The layer of material laid from z to z; ordinals count by appearance from 1.
  std::uint32_t layer_at(double from_z_mm, double to_z_mm);

  /// By ordinal; [0] is 0, before the first layer.
  const std::vector<double>& heights_mm() const { return heights_mm_; }
  bool overflowed() const { return overflowed_; }

 private:
  std::uint32_t open(double z_mm);
  std::uint32_t nearest(double z_mm) const;

  std::vector<double> heights_mm_{0.0};
  std::map<double, std::uint32_t> by_height_;
  double last_z_mm_ = -1e300;
  std::uint32_t last_layer_ = 0;
  double step_mm_ = 0.2;  ///< until two flat layers have shown theirs: assumed
  std::uint64_t flat_ = 0;
  std::uint64_t sloped_ = 0;
  bool overflowed_ = false;
};

}  // namespace platetally::interpreter
