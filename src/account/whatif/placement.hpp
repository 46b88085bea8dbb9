// Where on the bed a plate could lie, and which zones are heated there.
#pragma once

#include <cstdint>
#include <optional>
#include <utility>
#include <vector>

#include "account/ledgers/footprint.hpp"
#include "platetally/account.hpp"
#include "platetally/machine.hpp"

namespace platetally::whatif {

/// Where on the bed the same plate heats least.
struct Placement {
  double shift_x_mm = 0.0;
  double shift_y_mm = 0.0;
  double zones_now = 0.0;  ///< active, and warm ones by their share
  double zones_then = 0.0;
};

/// All shifts by whole raster cells that keep everything inside the build area, weighed by the
/// machine's zone policy; the shortest of the best ones. Zero shift where none is better.
Placement best_placement(const ledgers::Footprint& footprint, const Machine& machine);

/// The raster and the best place, for a picture.
BedPicture picture_of(const ledgers::Footprint& footprint, const Machine& machine);

/// Everything moved by whole cells; what leaves the build area is lost.
ledgers::Footprint moved(const ledgers::Footprint& footprint, double shift_x_mm, double shift_y_mm);

/// Copies of a plate's parts, and where they lie.
struct Copies {
  ledgers::Footprint footprint;                      ///< of all of them, and the purge
  std::vector<std::pair<double, double>> shifts_mm;  ///< x, y of each new one
};

/// Everything but what is purge, `times` times: each copy straight beside, before or behind the
/// plate where that is free, else wherever it is; of such places, where it heats fewest zones.
/// Nothing if they do not fit.
std::optional<Copies> repeated(const ledgers::Footprint& footprint, int times,
                               const Machine& machine);

/// With a square prime tower beside what lies there, up to a layer (ordinal), where it heats fewest
/// zones; nothing if it does not fit.
std::optional<ledgers::Footprint> with_tower(const ledgers::Footprint& footprint, double side_mm,
                                             std::uint32_t last_layer, const Machine& machine);

/// What is part, without the purge.
ledgers::Footprint without_purge(const ledgers::Footprint& footprint);

/// Tiles of the bed under the cells, by the last layer that lies on them (ordinals; `layers` of
/// them), as in HeatLog::footprint_by_layer.
std::vector<std::uint64_t> tiles_by_layer(const ledgers::Footprint& footprint, const Bed& bed,
                                          std::size_t layers);

}  // namespace platetally::whatif
