/// @file
/// Several machines on one circuit: what they draw when they are switched on together, and how far
/// apart their starts have to be. A hint: the local electrical code and a licensed electrician
/// decide.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "platetally/machine.hpp"
#include "platetally/made_from.hpp"

namespace platetally {

/// So many machines of one kind.
struct CircuitMachines {
  Machine machine;  ///< of that kind
  int count = 1;    ///< 1 .. 100
};

/// A circuit, and what is to hang on it.
struct CircuitPlan {
  double volts = 230.0;  ///< of the circuit
  double amps = 16.0;    ///< of the breaker
  double continuous_share =
      0.8;                  ///< of it that may be drawn for hours (common practice, no source)
  double bed_c = 60.0;      ///< set point of the beds
  double nozzle_c = 215.0;  ///< set point of the heads
  std::vector<CircuitMachines> machines;  ///< by kind
};

/// One kind of machine: each of them.
struct CircuitRow {
  std::string machine;             ///< its name
  int count = 0;                   ///< of this kind
  double connected_load_w = 0.0;   ///< everything on at once
  double cold_start_peak_w = 0.0;  ///< highest while it heats up
  double heat_up_s = 0.0;          ///< from the room until bed and heads hold
  double printing_w = 0.0;         ///< mean while all hold and the axes move
  double burst_w = 0.0;  ///< while printing: 99 % of the time below, heaters switching fully
};

/// What they draw together.
struct CircuitReport {
  double circuit_w = 0.0;                ///< volts times amps
  double continuous_w = 0.0;             ///< the share that may be drawn for hours
  std::vector<CircuitRow> rows;          ///< by kind of machine
  int machines = 0;                      ///< of all kinds
  double connected_load_w = 0.0;         ///< of all, everything on at once
  double together_peak_w = 0.0;          ///< all started at one instant
  double together_quarter_hour_w = 0.0;  ///< highest 15-minute mean of that
  double printing_w = 0.0;               ///< all of them printing, mean
  double burst_95_w = 0.0;               ///< printing: 95 % and 99 % of the time below
  double burst_99_w = 0.0;               ///< 99 % of the time below
  std::optional<double> stagger_s;       ///< between starts; 0: none needed; absent: none is enough
  double staggered_peak_w = 0.0;         ///< with that stagger
  double staggered_quarter_hour_w = 0.0;  ///< highest 15-minute mean of that
  MadeFrom made_from;                     ///< machines and options
};

/// Simulates a cold start of each kind of machine, all their heads and zones, and lays the curves
/// beside each other. Throws std::invalid_argument, with one line, for a plan without sense.
CircuitReport plan_circuit(const CircuitPlan& plan);

/// For people. Ends with a newline.
std::string to_text(const CircuitReport& report);
/// Schema "platetally.circuit/1".
std::string to_json(const CircuitReport& report);

}  // namespace platetally
