// What filament is for.
#pragma once

#include <cstddef>
#include <cstdint>

namespace platetally::swaps {

/// Where the filament of a move goes.
enum class Use : std::uint8_t {
  none,  ///< nothing new: travel, drawing back, returning what was drawn back
  part,
  purge,     ///< after the first swap
  start_up,  ///< waste before the first swap: purge lines, priming
};
inline constexpr std::size_t kUses = 4;

/// What waste was recognised by.
enum class Mark : std::uint8_t { none, at_rest, place, comment, tower };
inline constexpr std::size_t kMarks = 5;

}  // namespace platetally::swaps
