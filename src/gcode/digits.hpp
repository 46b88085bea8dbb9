// Which of 16 bytes are digits: bit i is of byte i.
#pragma once

#if defined(__SSE2__)
#include <emmintrin.h>
#endif

#include <bit>
#include <cstdint>
#include <cstring>

namespace platetally::gcode {

/// For machines of any kind whose words begin with their lowest byte, eight bytes at a time.
inline std::uint32_t digits_by_words(const char* first) {
  static_assert(std::endian::native == std::endian::little);
  constexpr std::uint64_t kOnes = 0x0101010101010101U;
  const auto of_eight = [](const char* at) {
    std::uint64_t bytes = 0;
    std::memcpy(&bytes, at, sizeof bytes);
    const std::uint64_t above_zero = bytes ^ ('0' * kOnes);
    const std::uint64_t high_bits = 0x80 * kOnes;
    // Above 9 the sum reaches the high bit; a byte that had it keeps it.
    const std::uint64_t others =
        (((above_zero & ~high_bits) + (0x80 - 10) * kOnes) | above_zero) & high_bits;
    // One bit a byte, gathered on top.
    return static_cast<std::uint32_t>(((~others & high_bits) >> 7) * 0x0102040810204080U >> 56);
  };
  return of_eight(first) | of_eight(first + 8) << 8;
}

inline std::uint32_t digits_in_16(const char* first) {
#if defined(__SSE2__)
  __m128i bytes;
  std::memcpy(&bytes, first, sizeof bytes);
  const __m128i above_zero = _mm_sub_epi8(bytes, _mm_set1_epi8('0'));
  const __m128i digits = _mm_cmpeq_epi8(_mm_min_epu8(above_zero, _mm_set1_epi8(9)), above_zero);
  return static_cast<std::uint32_t>(_mm_movemask_epi8(digits));
#else
  return digits_by_words(first);
#endif
}

}  // namespace platetally::gcode
