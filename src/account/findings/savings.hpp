// What could be saved on a plate, and how.
#pragma once

#include <vector>

#include "account/ledgers/footprint.hpp"
#include "account/ledgers/tool_use.hpp"
#include "account/whatif/kept_plate.hpp"
#include "account/whatif/placement.hpp"
#include "platetally/account.hpp"
#include "platetally/order.hpp"

namespace platetally::findings {

/// What the levers are looked for in.
struct Evidence {
  const whatif::KeptPlate& plate;
  const std::vector<ledgers::ToolUse>& uses;  ///< by tool
};

struct Levers {
  std::vector<Finding> findings;  ///< each tried; largest time saved first
  whatif::Placement placement;    ///< of the finding "place-on-bed"; no shift without it
};

/// Every lever that saves something. A variant is played only where a glance at the account says
/// that it may pay; on `threads`, with the same findings whatever their number.
Levers find_levers(const Evidence& evidence, int threads = 1);

/// Copies on the bed that look alike in the raster: islands of about the same size. 1 where nothing
/// repeats; copies closer than a cell count as one.
std::size_t count_copies(const ledgers::Footprint& footprint);

}  // namespace platetally::findings
