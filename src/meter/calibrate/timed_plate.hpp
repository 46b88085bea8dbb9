// A plate that was read once and is timed many times, on machines that differ.
#pragma once

#include <memory>
#include <string>
#include <vector>

#include "platetally/machine.hpp"
#include "reading/interpreter/row_queue.hpp"

namespace platetally::calibrate {

/// One plate on one machine.
struct PlateTimes {
  double of_print_s = 0.0;  ///< as totals.time_of_print_s
  double all_s = 0.0;  ///< from the first line on, with start, homing, probing and end; without
                       ///< heat waits and pauses
  bool has_head_changes = false;
  bool has_filament_changes = false;
};

class TimedPlate {
 public:
  /// Reads the only plate of `path`. What the words mean is asked of the machine now: its dialect,
  /// area, tools and corner model must not change later. Throws UnreadablePlate with the path in
  /// its message.
  TimedPlate(const std::string& path, const Machine& machine);

  PlateTimes times(const Machine& machine) const;
  std::size_t bytes() const { return rows_.bytes(); }

 private:
  interpreter::RowQueue rows_;
};

/// Of all plates, on all cores; in their order whatever the threads.
std::vector<PlateTimes> times_of(const std::vector<TimedPlate>& plates, const Machine& machine);

}  // namespace platetally::calibrate
