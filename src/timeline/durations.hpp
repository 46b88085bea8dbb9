// Seconds of every record: those of the motion, and those that neither the motion nor the file
// states. Heat waits are not among them: they are known only once the heat model has run.
#pragma once

#include "motion/timed_record.hpp"
#include "platetally/machine.hpp"
#include "platetally/range.hpp"
#include "timeline/swap_watch.hpp"

namespace platetally::timeline {

enum class Cause : std::uint8_t { motion, swap, procedure, pause };

struct Duration {
  Range time_s;
  Cause cause = Cause::motion;
  Swap swap;  ///< selection != none: what this record did to the tool in hand
};

class Durations {
 public:
  explicit Durations(const Machine& machine) : machine_(machine) {}

  /// The duration of the next record in program order. The first record also carries the machine's
  /// start seconds, end_of_plate its end seconds.
  Duration of(const motion::TimedRecord& timed);

  /// Seconds of one swap between two tools of the machine: low, expected and high, with the share
  /// of occasional long ones in the expected value and one of them in the high one.
  static Range swap_s(const Machine& machine, int from, int to);

  /// Whether the change between two tools of the machine is another head or another filament.
  static SwapKind swap_kind(const Machine& machine, int from, int to);

 private:
  const Machine& machine_;
  SwapWatch watch_;
  bool started_ = false;
};

}  // namespace platetally::timeline
