// One column of a log, over lines from all of it: what its cells can be read as, whether its
// numbers run, and the words of its heading.
#pragma once

#include <algorithm>
#include <initializer_list>
#include <string>
#include <string_view>
#include <vector>

#include "meter/logs/cutting.hpp"

namespace platetally::meter {

inline constexpr double kMostPart = 0.75;    // of the cells that say what a column is
inline constexpr double kRuns = 0.97;        // of the steps of a column that runs,
inline constexpr double kMostlyRuns = 0.75;  // or would but for faults

struct Column {
  std::string name;
  std::vector<std::string> words;
  std::vector<double> numbers;
  double number = 0.0, moment = 0.0, clock = 0.0, date = 0.0;  ///< shares of the filled cells
  double filled = 0.0;                                         ///< of all
  double rising = 0.0;                                         ///< of the steps between numbers
  double least = 0.0, most = 0.0;
  std::string example;

  bool has(std::initializer_list<std::string_view> any) const {
    return std::any_of(any.begin(), any.end(), [this](std::string_view word) {
      return std::find(words.begin(), words.end(), word) != words.end();
    });
  }
  bool is_number() const { return number >= kMostPart && filled > 0.0; }
  bool runs() const { return is_number() && rising >= kRuns && most > least; }
  /// But for faulty lines and clocks that were set.
  bool mostly_runs() const { return is_number() && rising >= kMostlyRuns && most > least; }
  bool is_step() const {
    return has({"delta", "dt", "step", "steps", "diff", "difference", "interval", "period"});
  }
  bool is_energy() const { return has({"wh", "kwh", "mwh", "energy", "consumption", "consumed"}); }
  bool is_power() const {
    // "power", and words that end with it, such as one for active power.
    return has({"w", "kw", "mw", "watt", "watts", "milliwatts", "kilowatts"}) ||
           std::any_of(words.begin(), words.end(),
                       [](std::string_view word) { return word.ends_with("power"); });
  }
  bool is_time() const {
    return has({"time",    "timestamp", "date",    "datetime",     "utc",      "epoch",
                "seconds", "second",    "sec",     "secs",         "s",        "t",
                "ms",      "when",      "elapsed", "stamp",        "minutes",  "min",
                "hours",   "changed",   "updated", "milliseconds", "unixtime", "clock"});
  }
  bool is_bed() const { return has({"bed", "heatbed", "heated_bed"}); }
  bool is_nozzle() const {
    return has({"nozzle", "hotend", "extruder", "head", "tool", "tool0", "extruder0"});
  }
  bool is_part() const { return is_bed() || is_nozzle(); }
};

/// Lines from all of the log, in their order; those at the beginning one after the other.
std::vector<std::string_view> some_lines(const std::vector<TextLine>& lines, std::size_t first);

/// The columns of those lines.
std::vector<Column> columns_of(const std::vector<std::string_view>& rows, const Cutting& cutting);

}  // namespace platetally::meter
