// What the core uses of C++20 and the C++ library for WebAssembly does not have yet; force-included
// in every file there.
#pragma once

#include <fast_float/fast_float.h>

#include <charconv>
#include <cmath>

namespace std {

/// As the standard says: `value` is left alone where the text is no number or none that a double
/// holds.
inline from_chars_result from_chars(const char* first, const char* last, double& value,
                                    chars_format format = chars_format::general) {
  double read = 0.0;
  const auto general = static_cast<unsigned>(chars_format::general);
  const auto form = static_cast<unsigned>(format) == general ? fast_float::chars_format::general
                    : format == chars_format::fixed          ? fast_float::chars_format::fixed
                                                             : fast_float::chars_format::scientific;
  const auto result = fast_float::from_chars(first, last, read, form);
  if (result.ec != errc{})
    return {result.ptr, result.ec};
  // Beyond what a double holds the reader says infinity or zero.
  const char* digit = first;
  while (digit != result.ptr && (*digit == '-' || *digit == '0' || *digit == '.'))
    ++digit;
  const bool states_digits = digit != result.ptr && *digit >= '1' && *digit <= '9';
  if (states_digits && (std::isinf(read) || read == 0.0))
    return {result.ptr, errc::result_out_of_range};
  value = read;
  return {result.ptr, errc{}};
}

}  // namespace std
