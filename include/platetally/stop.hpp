/// @file
/// Where a print stands still until a person has come.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>

#include "platetally/range.hpp"

namespace platetally {

/// Account::stops holds so many; a plate with more says so (diagnostic stops-not-listed).
inline constexpr std::size_t kMostStops = 1000;

/// The print waits for a person, whatever the hour.
struct Stop {
  std::string what;         ///< "pause" or "manual-change" (SwapPolicy::filament_change_by_hand)
  std::uint64_t layer = 0;  ///< LayerAccount::index of the layer that it interrupts or leads to
  std::uint64_t line = 0;   ///< of the word that asks for it
  int tool = -1;            ///< of a manual change: whose filament is put in; else -1
  /// s from the beginning of the first line until it begins; heat waits are in it, and low and high
  /// are the band of all that comes before it. Of a plate that is played otherwise: at the same
  /// share of its layer's time.
  Range after;
  // Absent without a start (add_clock), and as if a person had come to earlier ones at once:
  std::string at;                  ///< by the wall clock, as expected
  std::string at_early;            ///< by the low end of `after`
  std::string at_late;             ///< by the high end
  std::optional<bool> unattended;  ///< `at` is outside Prices::attended; absent without these too
};

}  // namespace platetally
