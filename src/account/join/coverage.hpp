// How much of a plate could be read, and whether that is a plate at all.
#pragma once

#include <cstdint>
#include <string>

#include "platetally/account.hpp"

namespace platetally {

/// What came of reading some bytes as a plate.
struct Coverage {
  ReadingAccount reading;
  std::uint64_t bytes = 0;     ///< unpacked
  std::uint64_t lines = 0;     ///< of G-code
  std::uint64_t commands = 0;  ///< command words, understood or not
  std::string head;            ///< the first bytes
};

/// Throws UnreadablePlate where the bytes are no plate, or, unless `partial`, where most of it or
/// its end is missing.
void require_plate(const Coverage& coverage, bool partial);

/// The diagnostic that goes with an account of a part of a plate.
Diagnostic describe_part(const Coverage& coverage);

}  // namespace platetally
