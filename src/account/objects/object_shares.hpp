// What a plate costs, shared among its objects. docs/objects.md says the same in words:
//
//   part          of a tool in a layer: by the filament that the tool lays of each object there
//   print, travel of a layer: by each object's own seconds; a travel is of what it leads to
//   swap          purge, seconds, ways and number of the swaps to a tool in a layer: as that
//                 tool's part there
//   waits, other  of a layer: by own seconds (print and travel)
//   start-up      by filament over the whole plate
//   energy        of a layer: by each object's seconds in it, shares of swaps and waits included
//
// Where a layer (or a tool in it) lays nothing of any object, the next wider one decides: the tool,
// the layer, the plate. All shares of a sum add up to it.
#pragma once

#include <cstddef>
#include <optional>
#include <vector>

#include "account/objects/object_ledger.hpp"
#include "heat/heat_result.hpp"
#include "material/swaps/material_book.hpp"
#include "platetally/account.hpp"
#include "platetally/breakdown.hpp"

namespace platetally::objects {

/// The plate's own sums, by layer ordinal.
struct PlateSums {
  const swaps::MaterialBook& material;
  const std::vector<double>& g_per_mm;  ///< by tool
  const std::vector<TimeBy>& time;      ///< heat waits are those of `heat`
  const heat::HeatResult& heat;
  std::size_t layers = 0;  ///< ordinals
};

/// All that is told of a plate's objects.
struct ObjectsTold {
  std::vector<ObjectAccount> objects;
  std::optional<PlatePicture> plate;
  std::optional<PlatePicture> layer;
  bool overflows = false;           ///< some of it is in no object, but in the rest
  std::size_t layers_together = 1;  ///< over which shares were formed
};

/// One for each object found.
std::vector<ObjectAccount> share_plate(const ObjectLedger& ledger, const PlateSums& plate);

}  // namespace platetally::objects
