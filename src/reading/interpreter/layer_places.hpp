// The layer that laid material lies in, and whether what lies off the part may open one.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>

#include "base/columns.hpp"
#include "platetally/machine.hpp"
#include "reading/interpreter/layer_finder.hpp"
#include "reading/interpreter/remarks.hpp"
#include "reading/interpreter/tall_prime_tower.hpp"

namespace platetally::interpreter {

class LayerPlaces {
 public:
  using Point = std::array<double, 3>;

  /// Both must outlive it.
  LayerPlaces(const Machine& machine, Remarks& remarks) : machine_(machine), remarks_(remarks) {}

  /// A move lays material: current() is its layer; false where its height has none. Purge opens no
  /// layer.
  bool lay(const Point& from_mm, const Point& to_mm, bool is_purge);
  /// Level strokes at `z_mm` lie in the layer in force, whatever else there is.
  bool is_level(double z_mm) const { return layers_.is_level(z_mm); }
  /// Such strokes, which end there, and the last one before them ended at `z_mm` too.
  void lay_level(std::size_t count, const double* x_mm, const double* y_mm, double z_mm);
  /// Another tool is in hand.
  void swap() { ahead_.swap(); }

  std::uint32_t current() const { return layers_.current(); }
  const LayerFinder& layers() const { return layers_; }
  /// What lies outside the machine's area is no part; until the plate shows otherwise.
  bool trusts_area() const { return trusts_area_; }

 private:
  bool lies_off_the_part(const Point& from_mm, const Point& to_mm) const;
  bool may_open(const Point& from_mm, const Point& to_mm);

  const Machine& machine_;
  Remarks& remarks_;
  LayerFinder layers_;
  TallPrimeTower ahead_;
  Point laid_to_mm_{};  // where the last material ended
  double off_part_mm_ = 0.0;
  int heights_off_part_ = 0;
  bool trusts_area_ = true;
};

}  // namespace platetally::interpreter
