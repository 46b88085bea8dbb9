// Our own chance numbers: a hash of what is asked for, so that no order of calls matters.
// The mixing is splitmix64 (Steele, Lea and Flood, OOPSLA 2014; constants from memory).
#pragma once

#include <cstdint>

namespace plate_maker {

inline std::uint64_t mix(std::uint64_t value) {
  value += 0x9e3779b97f4a7c15ULL;
  value = (value ^ (value >> 30)) * 0xbf58476d1ce4e5b9ULL;
  value = (value ^ (value >> 27)) * 0x94d049bb133111ebULL;
  return value ^ (value >> 31);
}

inline std::uint64_t chance(std::int64_t seed, std::uint64_t a, std::uint64_t b) {
  return mix(mix(mix(static_cast<std::uint64_t>(seed)) ^ a) ^ b);
}

}  // namespace plate_maker
