// Seconds of every record: those of the motion, and those that neither the motion nor the file
// states. Heat waits are not among them: they are known only once the heat model has run.
#pragma once

#include "motion/timeline/swap_watch.hpp"
#include "platetally/machine.hpp"
#include "platetally/range.hpp"
#include "reading/interpreter/record.hpp"

namespace platetally::timeline {

/// Why a record takes the time it takes; also the causes that a band of total time is made of.
enum class Cause : std::uint8_t { motion, swap, long_swap, homing, probing, start_and_end, pause };
inline constexpr std::size_t kCauses = 7;

struct Duration {
  Range time_s;                 ///< all of it
  Cause cause = Cause::motion;  ///< of time_s less the two below
  Range long_swap_s;            ///< part of time_s: occasional long swaps
  Range start_s;                ///< part of time_s: the machine's start, on the first record
  Swap swap;                    ///< selection != none: what this record did to the tool in hand
};

class Durations {
 public:
  explicit Durations(const Machine& machine) : machine_(machine) {}

  /// The duration of the next record in program order. The first record also carries the machine's
  /// start seconds, end_of_plate its end seconds.
  Duration of(const interpreter::Record& record);

  /// Takes the next record if it is a move that carries nothing but its own motion; false: it was
  /// not taken and may carry more, use of().
  bool take_plain_move(const interpreter::Record& record) {
    if (!started_ || record.kind != interpreter::RecordKind::move)
      return false;
    watch_.see(record);
    return true;
  }

  /// Seconds of one swap between two tools of the machine, occasional long ones apart.
  static Range swap_s(const Machine& machine, int from, int to);

  /// What occasional long swaps add to a swap: nothing at best, their expectation, and twice that
  /// for an unlucky plate (over many swaps they average out).
  static Range long_swap_s(const Machine& machine);

  /// Whether a person makes that change.
  static bool is_by_hand(const Machine& machine, int from, int to) {
    return machine.swap.filament_change_by_hand &&
           swap_kind(machine, from, to) == SwapKind::filament_change;
  }

  /// Whether the change between two tools of the machine is another head or another filament.
  static SwapKind swap_kind(const Machine& machine, int from, int to);

 private:
  const Machine& machine_;
  SwapWatch watch_;
  bool started_ = false;
};

}  // namespace platetally::timeline
