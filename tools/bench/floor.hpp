// The floor of reading: a plain scanner written by hand, byte by byte. It reads every word's value
// and adds it up; it checks nothing, keeps nothing and knows no line, command, checksum or
// malformed number. What the reader costs is stated as a multiple of it, taken in the same run. The
// reader has gone below it since it knows a line's layout again and works out numbers side by side;
// the floor stays what it was, as the yardstick of all earlier figures.
#pragma once

#include <cstdint>
#include <cstring>
#include <string_view>

namespace platetally::bench {

struct FloorSum {
  double values = 0.0;
  std::uint64_t words = 0;
  std::uint64_t lines = 0;
};

/// Adds the words of whole lines. Comments are passed over.
inline void scan_floor(std::string_view text, FloorSum& sum) {
  static constexpr double kPowersOfTen[] = {1e0,  1e1,  1e2,  1e3,  1e4,  1e5,  1e6,
                                            1e7,  1e8,  1e9,  1e10, 1e11, 1e12, 1e13,
                                            1e14, 1e15, 1e16, 1e17, 1e18};
  const char* at = text.data();
  const char* const end = at + text.size();
  while (at != end) {
    const char c = *at++;
    if (c == '\n') {
      ++sum.lines;
      continue;
    }
    if (c == ';' || c == '(') {
      const auto* stop =
          static_cast<const char*>(std::memchr(at, '\n', static_cast<std::size_t>(end - at)));
      at = stop == nullptr ? end : stop;
      continue;
    }
    if (static_cast<unsigned char>((c | 0x20) - 'a') > 25)
      continue;
    const bool negative = at != end && *at == '-';
    at += negative;
    std::uint64_t mantissa = 0;
    while (at != end && static_cast<unsigned char>(*at - '0') < 10)
      mantissa = mantissa * 10 + static_cast<std::uint64_t>(*at++ - '0');
    std::ptrdiff_t decimals = 0;
    if (at != end && *at == '.') {
      const char* const point = ++at;
      while (at != end && static_cast<unsigned char>(*at - '0') < 10)
        mantissa = mantissa * 10 + static_cast<std::uint64_t>(*at++ - '0');
      decimals = at - point;
    }
    const double value = static_cast<double>(static_cast<std::int64_t>(mantissa)) /
                         kPowersOfTen[decimals < 19 ? decimals : 18];
    sum.values += negative ? -value : value;
    ++sum.words;
  }
}

}  // namespace platetally::bench
