// Text compared with every digit taken for a 0, 16 bytes at a time: bit i of a result is of byte i.
#pragma once

#if defined(__SSE2__)
#include <emmintrin.h>
#elif defined(__wasm_simd128__)
#include <wasm_simd128.h>
#endif

#include <bit>
#include <cstdint>
#include <cstring>

namespace platetally::gcode {

/// Eight bytes of text, the first one lowest, whatever the machine's words begin with.
inline std::uint64_t eight_bytes(const char* at) {
  std::uint64_t bytes = 0;
  std::memcpy(&bytes, at, sizeof bytes);
  if constexpr (std::endian::native == std::endian::big)
    bytes = __builtin_bswap64(bytes);
  return bytes;
}

/// Bytes at `at` that are those of `pattern`, or digits where it has a 0. For machines of any kind.
inline std::uint32_t equal_but_digits_by_words(const char* at, const char* pattern) {
  constexpr std::uint64_t kOnes = 0x0101010101010101U;
  constexpr std::uint64_t kHigh = 0x80 * kOnes;
  const auto of_eight = [](const char* text, const char* like) {
    const std::uint64_t bytes = eight_bytes(text);
    const std::uint64_t wanted = eight_bytes(like);
    const std::uint64_t above_zero = bytes ^ ('0' * kOnes);
    // Above 9 the sum reaches the high bit; a byte that had it keeps it.
    const std::uint64_t others =
        (((above_zero & ~kHigh) + (0x80 - 10) * kOnes) | above_zero) & kHigh;
    const std::uint64_t digits = ((~others & kHigh) >> 7) * 0xFF;
    const std::uint64_t apart = (bytes ^ (above_zero & digits)) ^ wanted;
    const std::uint64_t same = ~(((apart & ~kHigh) + ~kHigh) | apart) & kHigh;
    // One bit a byte, gathered on top.
    return static_cast<std::uint32_t>((same >> 7) * 0x0102040810204080U >> 56);
  };
  return of_eight(at, pattern) | of_eight(at + 8, pattern + 8) << 8;
}

inline std::uint32_t equal_but_digits(const char* at, const char* pattern) {
#if defined(__SSE2__)
  __m128i bytes;
  __m128i wanted;
  std::memcpy(&bytes, at, sizeof bytes);
  std::memcpy(&wanted, pattern, sizeof wanted);
  const __m128i above_zero = _mm_sub_epi8(bytes, _mm_set1_epi8('0'));
  const __m128i digits = _mm_cmpeq_epi8(_mm_min_epu8(above_zero, _mm_set1_epi8(9)), above_zero);
  const __m128i zeroed = _mm_sub_epi8(bytes, _mm_and_si128(above_zero, digits));
  return static_cast<std::uint32_t>(_mm_movemask_epi8(_mm_cmpeq_epi8(zeroed, wanted)));
#elif defined(__wasm_simd128__)
  const v128_t bytes = wasm_v128_load(at);
  const v128_t above_zero = wasm_i8x16_sub(bytes, wasm_u8x16_splat('0'));
  const v128_t digits = wasm_u8x16_lt(above_zero, wasm_u8x16_splat(10));
  const v128_t zeroed = wasm_i8x16_sub(bytes, wasm_v128_and(above_zero, digits));
  return wasm_i8x16_bitmask(wasm_i8x16_eq(zeroed, wasm_v128_load(pattern)));
#else
  return equal_but_digits_by_words(at, pattern);
#endif
}

/// Where digits stand in the line at `at`, of which 32 bytes may be read: bit i is of byte i, none
/// is set behind the line.
inline std::uint32_t digits_of_line(const char* at) {
  char zeros[16];
  char ends[16];
  std::memset(zeros, '0', sizeof zeros);
  std::memset(ends, '\n', sizeof ends);
  const auto of_both = [at](const char* pattern) {
    return equal_but_digits(at, pattern) | equal_but_digits(at + 16, pattern) << 16;
  };
  const std::uint32_t line_ends = of_both(ends);
  const std::uint32_t within = (line_ends & (0U - line_ends)) - 1;  // all where no line ends
  return of_both(zeros) & within;
}

}  // namespace platetally::gcode
