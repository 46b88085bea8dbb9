// What the supply delivers besides heat, what it loses, and what everything draws together.
#pragma once

#include <cstddef>

#include "platetally/machine.hpp"

namespace platetally::heat {

/// Loads that are not heaters, W; all on the supply's DC side.
struct Loads {
  double motors_w = 0.0;
  double fans_w = 0.0;
};

/// What the supply takes from the mains beyond what it delivers.
double supply_loss_w(const Supply& supply, double dc_w, double ac_w);

/// From the mains with everything on at once, each heater at its rated power.
double connected_load_w(const Machine& machine, std::size_t tiles, bool has_enclosure_heater);

}  // namespace platetally::heat
