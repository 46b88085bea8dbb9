// Figures by chance from a seed, whatever the standard library.
#pragma once

#include <cmath>
#include <cstdint>
#include <random>
#include <string>
#include <vector>

namespace platetally::test {

class Random {
 public:
  explicit Random(unsigned seed) : engine_(seed) {}

  /// 0 .. count-1; of nothing 0.
  std::size_t below(std::size_t count) { return count == 0 ? 0 : engine_() % count; }
  /// from .. to, both included.
  int whole(int from, int to) {
    return from + static_cast<int>(below(static_cast<std::size_t>(to - from) + 1));
  }
  bool one_in(std::size_t count) { return below(count) == 0; }
  /// 0 <= share < 1.
  double share() { return static_cast<double>(engine_()) / 4294967296.0; }
  double real(double from, double to) { return from + (to - from) * share(); }
  /// Between 1e-6 and 1e6, as often small as large, and now and then nothing at all.
  double amount() { return one_in(8) ? 0.0 : std::pow(10.0, real(-6.0, 6.0)); }
  std::uint64_t count() { return below(one_in(4) ? 100'000'000 : 20); }
  template <typename Type>
  const Type& of(const std::vector<Type>& list) {
    return list[below(list.size())];
  }

 private:
  std::mt19937 engine_;
};

/// Names as files and people may write them: what means something to HTML, CSV, JSON, terminals and
/// spreadsheets, bytes that are no text, and nothing at all.
inline const std::vector<std::string>& hostile_names() {
  static const std::vector<std::string> names{
      "",
      "seed-tray tags",
      "</script><script>alert(1)</script>",
      "\"><img src=x onerror=alert(1)>",
      "' onload='x",
      "a & b &amp; c",
      "]]><!-- lantern",
      "=1+1",
      "@cmd, \"quoted\"",
      "two\r\nlines\tand a tab",
      "\xff\xfe\x80 no text",
      "moss \xed\xa0\x80",
      "\x1b[31mred\x07",
      "\xe2\x80\xae turned",
      "\xf0\x9f\x8c\xb1 seedling",
      "{\"key\": [1, 2]}",
      "C:\\labels\\oak.gcode",
      std::string(300, 'w'),
      std::string("nul\0inside", 10),
  };
  return names;
}

}  // namespace platetally::test
