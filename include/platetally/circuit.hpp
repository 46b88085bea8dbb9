// Several machines on one circuit: what they draw when they are switched on together, and how far
// apart their starts have to be. A hint: the local electrical code and a licensed electrician
// decide.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "platetally/machine.hpp"

namespace platetally {

struct CircuitMachines {
  Machine machine;
  int count = 1;  ///< 1 .. 100
};

struct CircuitPlan {
  double volts = 230.0;
  double amps = 16.0;  ///< of the breaker
  double continuous_share =
      0.8;  ///< of it that may be drawn for hours (common practice, no source)
  double bed_c = 60.0;
  double nozzle_c = 215.0;
  std::vector<CircuitMachines> machines;
};

/// One kind of machine: each of them.
struct CircuitRow {
  std::string machine;
  int count = 0;
  double connected_load_w = 0.0;
  double cold_start_peak_w = 0.0;
  double heat_up_s = 0.0;   ///< from the room until bed and heads hold
  double printing_w = 0.0;  ///< mean while all hold and the axes move
  double burst_w = 0.0;     ///< while printing: 99 % of the time below, heaters switching fully
};

struct CircuitReport {
  double circuit_w = 0.0;     ///< volts times amps
  double continuous_w = 0.0;  ///< the share that may be drawn for hours
  std::vector<CircuitRow> rows;
  int machines = 0;
  double connected_load_w = 0.0;
  double together_peak_w = 0.0;          ///< all started at one instant
  double together_quarter_hour_w = 0.0;  ///< highest 15-minute mean of that
  double printing_w = 0.0;               ///< all of them printing, mean
  double burst_95_w = 0.0;               ///< printing: 95 % and 99 % of the time below
  double burst_99_w = 0.0;
  std::optional<double> stagger_s;  ///< between starts; 0: none needed; absent: none is enough
  double staggered_peak_w = 0.0;
  double staggered_quarter_hour_w = 0.0;
};

/// Simulates a cold start of each kind of machine, all their heads and zones, and lays the curves
/// beside each other. Throws std::invalid_argument, with one line, for a plan without sense.
CircuitReport plan_circuit(const CircuitPlan& plan);

/// For people, and as JSON (schema "platetally.circuit/1").
std::string to_text(const CircuitReport& report);
std::string to_json(const CircuitReport& report);

}  // namespace platetally
