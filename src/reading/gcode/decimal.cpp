// Plain arithmetic over columns, for the compiler to do several numbers at once; built as
// motion/planning/move_block.cpp is.
#include "reading/gcode/decimal.hpp"

#include <bit>

#include "base/simd.hpp"

namespace platetally::gcode {

PLATETALLY_WIDE void find_quotients(const std::uint64_t* digits, const double* divisor,
                                    std::size_t count, double* value) {
  constexpr std::uint64_t kPairs = 0x00FF00FF00FF00FFU;
  constexpr std::uint64_t kQuads = 0x0000FFFF0000FFFFU;
  constexpr std::uint64_t kHalf = 0x00000000FFFFFFFFU;
  // A double of this exponent has the whole number in its lowest bits.
  constexpr double kTwoTo52 = 4503599627370496.0;
  for (std::size_t i = 0; i < count; ++i) {
    const std::uint64_t single = digits[i];
    const std::uint64_t tens = single & kPairs;
    const std::uint64_t pairs = (tens << 3) + (tens << 1) + ((single >> 8) & kPairs);
    const std::uint64_t hundreds = pairs & kQuads;
    const std::uint64_t quads =
        (hundreds << 6) + (hundreds << 5) + (hundreds << 2) + ((pairs >> 16) & kQuads);
    const std::uint64_t whole = (quads & kHalf) * 10000 + (quads >> 32);
    const double number =
        std::bit_cast<double>(whole | std::bit_cast<std::uint64_t>(kTwoTo52)) - kTwoTo52;
    value[i] = number / divisor[i];
  }
}

}  // namespace platetally::gcode
