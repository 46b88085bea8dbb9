// A plate that was read once and is timed many times, on machines that differ.
#pragma once

#include <memory>
#include <string>
#include <vector>

#include "platetally/machine.hpp"
#include "reading/interpreter/move_batch.hpp"

namespace platetally::calibrate {

/// Seconds of one plate on one machine, heat waits and pauses apart.
struct PlateTimes {
  double of_print_s = 0.0;  ///< as totals.time_of_print_s
  double all_s = 0.0;       ///< from the first line on, with start, homing, probing and end
};

/// What of a plate could be told by finished prints.
struct PlateTraits {
  bool extrudes = false;
  bool has_head_changes = false;
  bool has_filament_changes = false;
};

class KeptPlate {
 public:
  /// Reads the only plate of `path`. What the words mean is asked of the machine now: its dialect,
  /// area, tools and corner model must not change later. Throws UnreadablePlate with the path in
  /// its message.
  KeptPlate(const std::string& path, const Machine& machine);

  PlateTimes times(const Machine& machine) const;
  PlateTraits traits(const Machine& machine) const;
  std::size_t bytes() const { return moves_.bytes(); }

 private:
  interpreter::MoveBatch moves_;
};

/// Of all plates, on all cores; in their order whatever the threads.
std::vector<PlateTimes> times_of(const std::vector<KeptPlate>& plates, const Machine& machine);

}  // namespace platetally::calibrate
