// Which column of a log is what.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "platetally/meter.hpp"

namespace platetally::meter {

/// How the lines of a log are cut and read.
struct Layout {
  char separator = ',';  ///< ' ': any run of blanks
  bool decimal_comma = false;
  std::size_t time = 0;
  std::size_t value = 1;
  bool cumulative = false;   ///< the value counts watt-hours
  double value_scale = 1.0;  ///< to W or Wh
  double time_scale = 1.0;   ///< to seconds, of numbers
  bool has_heading = false;
  std::vector<std::string> readings;
};

std::vector<std::string_view> cut(std::string_view line, char separator);

/// From the first lines with text. Throws UnreadableLog with `path`.
Layout find_layout(const std::vector<std::string_view>& head, const std::string& path,
                   const MeterLogOptions& options);

std::optional<double> read_number(std::string_view text, bool decimal_comma);

/// Seconds of a number, a clock time, or an ISO 8601 moment (then since 1970, UTC).
std::optional<double> read_time(std::string_view text, const Layout& layout);

}  // namespace platetally::meter
