// Chance numbers that are the same everywhere: splitmix64 (Steele, Lea, Flood, "Fast splittable
// pseudorandom number generators", 2014).
#pragma once

#include <cstddef>
#include <cstdint>

namespace platetally::solve {

class Chance {
 public:
  explicit Chance(std::uint64_t seed) : state_(seed) {}

  std::uint64_t bits() {
    std::uint64_t z = (state_ += 0x9e3779b97f4a7c15U);
    z = (z ^ (z >> 30U)) * 0xbf58476d1ce4e5b9U;
    z = (z ^ (z >> 27U)) * 0x94d049bb133111ebU;
    return z ^ (z >> 31U);
  }
  /// 0 .. many-1
  std::size_t below(std::size_t many) { return static_cast<std::size_t>(bits() % many); }
  /// 0 .. 1
  double share() { return static_cast<double>(bits() >> 11U) * 0x1p-53; }

 private:
  std::uint64_t state_;
};

}  // namespace platetally::solve
