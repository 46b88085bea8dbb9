// What the heat model hands to the ledgers.
#pragma once

#include <cstdint>
#include <vector>

#include "platetally/breakdown.hpp"
#include "platetally/diagnostic.hpp"

namespace platetally::heat {

struct LayerHeat {
  double start_s = -1.0;  ///< clock at the layer's first second; -1: the layer never ran
  double wait_s = 0.0;    ///< heat and cool waits
  EnergyBy energy;
  std::uint64_t zones_active = 0;  ///< tiles held at the target at some time in the layer (bits)
  std::uint64_t zones_warm = 0;    ///< tiles held at the transition temperature (bits)
};

struct ToolHeat {
  double active_s = 0.0;   ///< in hand
  double standby_s = 0.0;  ///< not in hand and its heater set
  double energy_wh = 0.0;  ///< of its head, before the supply
};

struct ZoneHeat {
  double active_s = 0.0;
  double neighbour_s = 0.0;
  double energy_wh = 0.0;  ///< before the supply
  double peak_c = 0.0;
};

/// Bed and first head over one step: means.
struct HeaterSample {
  double start_s = 0.0;
  double duration_s = 0.0;
  double bed_c = 0.0;      ///< of the sensors of the tiles that are held at the target
  double bed_duty = 0.0;   ///< of what those tiles take when they are on all the time
  double head_c = 0.0;     ///< of the first head
  double head_duty = 0.0;  ///< of it
};

struct HeatResult {
  double total_s = 0.0;  ///< spans and waits
  double wait_s = 0.0;
  EnergyBy energy;                ///< from the wall
  std::vector<LayerHeat> layers;  ///< by the ordinal in the records
  std::vector<ToolHeat> tools;    ///< by tool number
  std::vector<ZoneHeat> zones;    ///< row-major
  std::uint64_t zones_used = 0;   ///< bits: held at the target at any time
  double peak_power_w = 0.0;      ///< highest mains power in any step
  double connected_load_w = 0.0;  ///< every heater, motor and fan at full, with the supply's loss
  double peak_quarter_hour_w = 0.0;  ///< highest 15-minute mean
  double book_in_j = 0.0;            ///< heat put into the network
  double book_out_j = 0.0;           ///< lost to the room or carried off by the plastic
  double book_stored_j = 0.0;
  double book_residual = 0.0;                ///< |in - out - stored| / max(in, 1 J)
  std::uint64_t steps = 0;                   ///< of the network
  std::vector<PowerSample> power;            ///< at most 4096 samples, evenly merged
  std::vector<HeaterSample> heaters;         ///< by step; empty unless asked for
  std::vector<double> waited_before_stop_s;  ///< by HeatLog::stop_lines: all waits up to there
  std::vector<Diagnostic> diagnostics;
};

}  // namespace platetally::heat
