// What could be saved on a plate, and how.
#pragma once

#include <vector>

#include "account/ledgers/footprint.hpp"
#include "account/ledgers/tool_use.hpp"
#include "platetally/account.hpp"
#include "platetally/machine.hpp"
#include "platetally/order.hpp"

namespace platetally::findings {

/// What the levers are looked for in.
struct Evidence {
  const Account& account;  ///< all but its findings; with its bed picture
  const Machine& machine;
  const ledgers::Footprint& footprint;
  const std::vector<ledgers::ToolUse>& uses;  ///< by tool
};

/// Every lever that saves something, the largest first: by purge, then by time, then by energy.
std::vector<Finding> find_levers(const Evidence& evidence);

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

/// Copies on the bed that look alike in the raster: islands of about the same size. 1 where nothing
/// repeats; copies closer than a cell count as one.
std::size_t count_copies(const ledgers::Footprint& footprint);

}  // namespace platetally::findings
