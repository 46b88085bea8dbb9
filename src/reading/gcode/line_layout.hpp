// Where the numbers of a plain move stand in its line.
//
// Lines that differ in their digits alone have one layout, and most lines have that of the line
// before. To know it again takes a glance at 32 bytes; then each number's bytes are where they are
// known to be.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>

#include "reading/gcode/equal_but_digits.hpp"

namespace platetally::gcode {

struct LineLayout {
  static constexpr std::size_t kMostBytes = 48;
  static constexpr std::size_t kShortBytes = 8;  ///< of a number that is read in one go
  enum Word : std::uint8_t { kX, kY, kZ, kE, kF };
  static constexpr std::size_t kWords = 5;
  static constexpr std::uint32_t kRapid = 1U << kWords;  ///< beside the bits of the words: G0

  struct Number {
    std::size_t word = 0;      ///< of which it is
    std::uint8_t begin = 0;    ///< of the digits in the line
    std::uint8_t bytes = 0;    ///< of the digits, and of the point among them
    std::uint8_t shift = 0;    ///< bits up to the top of kShortBytes, where they are no more
    std::uint64_t behind = 0;  ///< those of kShortBytes that stand behind the point
    double divisor = 1.0;      ///< of all digits as a whole number; below zero behind a minus
  };

  std::array<char, kMostBytes> text{};  ///< its digits zeros
  std::uint64_t within =
      ~std::uint64_t{0};   ///< bit i: byte i is of the line; as it stands, none is
  std::size_t bytes = 0;   ///< with the line end
  char command = '0';      ///< the digit of G0 or G1, the one that counts
  std::uint32_t said = 0;  ///< bit w: word w; kRapid
  std::size_t numbers = 0;
  std::array<Number, kWords> number;

  /// The line at `at` has it. Reads kMostBytes.
  bool fits(const char* at) const {
    std::uint64_t equal = equal_but_digits(at, text.data()) |
                          std::uint64_t{equal_but_digits(at + 16, text.data() + 16)} << 16;
    if (bytes > 32)
      equal |= std::uint64_t{equal_but_digits(at + 32, text.data() + 32)} << 32;
    return (equal & within) == within && at[1] == command;
  }
};

/// Finds that of the line at `at`, of which kMostBytes may be read; false where it is no plain
/// move, or too long.
bool find_layout(const char* at, LineLayout& layout);

}  // namespace platetally::gcode
