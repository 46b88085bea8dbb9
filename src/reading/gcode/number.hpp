// The numbers of G-code: fixed point, no exponent ("X1E5" is X1 and E5), and exact, because a
// mantissa below 2^53 and a power of ten up to 10^22 are both exact doubles and their quotient is
// rounded once (W. D. Clinger, How to read floating point numbers accurately, 1990). Longer numbers
// go to std::from_chars.
#pragma once

#include <algorithm>
#include <charconv>
#include <cmath>
#include <cstddef>
#include <cstdint>

#include "base/letters.hpp"

namespace platetally::gcode {

using Iterator = const char*;

struct Number {
  double value = 0.0;
  std::int32_t whole = 0;      ///< the digits before the point, for command numbers
  std::int32_t fraction = -1;  ///< the digits behind it, -1 without a point
};

using base::is_blank;
using base::is_digit;
using base::is_letter;
using base::upper;

inline constexpr double kPowersOfTen[] = {1e0,  1e1,  1e2,  1e3,  1e4,  1e5,  1e6,  1e7,
                                          1e8,  1e9,  1e10, 1e11, 1e12, 1e13, 1e14, 1e15,
                                          1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22};
inline constexpr std::size_t kLongestNumber = 40;

inline std::int32_t bounded(std::uint64_t digits) {
  return digits > 1'000'000 ? 1'000'000 : static_cast<std::int32_t>(digits);
}

/// The whole number again, blanks dropped, for numbers that are long or cut by blanks.
inline bool read_slowly(Iterator& first, Iterator last, Number& number) {
  char digits[kLongestNumber + 1];
  std::size_t count = 0;
  bool negative = false;
  Iterator at = first;
  if (at != last && (*at == '+' || *at == '-'))
    negative = *at++ == '-';
  Iterator end = at;
  for (; at != last && (is_digit(*at) || *at == '.' || is_blank(*at)); ++at) {
    if (is_blank(*at))
      continue;
    if (count == kLongestNumber)
      return false;
    digits[count++] = *at;
    end = at + 1;
  }
  double value = 0.0;
  const auto [stop, error] =
      std::from_chars(digits, digits + count, value, std::chars_format::fixed);
  if (error != std::errc() || stop != digits + count || !std::isfinite(value))
    return false;
  number.value = negative ? -value : value;
  number.whole = bounded(static_cast<std::uint64_t>(std::min(std::abs(value), 1e9)));
  number.fraction = -1;
  if (negative)
    number.whole = -number.whole;
  first = end;
  return true;
}

/// A number at `first`. False leaves `first` alone: no number, or a malformed one. `joins`: digits
/// behind blanks go on with it, as the standard has it.
inline bool read_number(Iterator& first, Iterator last, bool joins, Number& number) {
  Iterator at = first;
  const bool negative = at != last && *at == '-';
  if (at != last && (*at == '-' || *at == '+'))
    ++at;
  std::uint64_t mantissa = 0;
  const Iterator digits_begin = at;
  while (at != last && is_digit(*at))
    mantissa = mantissa * 10 + static_cast<std::uint64_t>(*at++ - '0');
  auto digits = at - digits_begin;
  const std::uint64_t whole = mantissa;
  std::uint64_t behind = 0;
  std::ptrdiff_t decimals = 0;
  const bool has_point = at != last && *at == '.';
  if (has_point) {
    const Iterator point = at++;
    while (at != last && is_digit(*at)) {
      const auto digit = static_cast<std::uint64_t>(*at++ - '0');
      mantissa = mantissa * 10 + digit;
      behind = behind * 10 + digit;
    }
    decimals = at - point - 1;
    digits += decimals;
  }
  Iterator next = at;
  while (joins && next != last && is_blank(*next))
    ++next;
  const bool goes_on = next != last && next != at && (is_digit(*next) || *next == '.');
  if (digits == 0 && !goes_on)
    return false;
  if (goes_on || digits > 18 || mantissa >= (std::uint64_t{1} << 53))
    return read_slowly(first, last, number);
  if (at != last && *at == '.')
    return false;
  const double value = static_cast<double>(mantissa) / kPowersOfTen[decimals];
  number.value = negative ? -value : value;
  number.whole = negative ? -bounded(whole) : bounded(whole);
  number.fraction = has_point && decimals > 0 ? bounded(behind) : -1;
  first = at;
  return true;
}

}  // namespace platetally::gcode
