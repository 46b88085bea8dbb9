// Which column of a log is what.
#pragma once

#include <array>
#include <optional>
#include <string>
#include <vector>

#include "meter/logs/cutting.hpp"
#include "meter/logs/moments.hpp"
#include "platetally/meter.hpp"

namespace platetally::meter {

enum class TimeForm {
  number,         ///< that runs
  step,           ///< from line to line
  clock,          ///< seconds since midnight
  moment,         ///< date and time in one cell
  date_and_clock  ///< in two
};

enum class ValueForm {
  none,
  watts,
  counter,  ///< watt-hours that add up
  steps,    ///< watt-hours since the line before
  volts_amps
};

/// How the cells of a log are read.
struct Layout {
  TimeForm time_form = TimeForm::number;
  std::size_t time = 0;
  std::size_t date = 0;  ///< of date_and_clock
  DateOrder date_order = DateOrder::day_first;
  double time_scale = 1.0;  ///< to seconds, of numbers
  bool holds = false;       ///< lines are written where something changes
  ValueForm value_form = ValueForm::watts;
  std::size_t value = 1;
  std::size_t second_value = 1;                                    ///< of volts_amps: the amperes
  double value_scale = 1.0;                                        ///< to W or Wh
  bool unit_is_stated = false;                                     ///< by its heading or the caller
  std::array<std::optional<std::size_t>, kHeaterColumns> heaters;  ///< by HeaterColumn
  std::array<double, kHeaterColumns> heater_scale{1, 1, 1, 1, 1, 1};
  std::optional<std::size_t> session;
  std::vector<std::string> readings;

  std::size_t last_column() const;
};

/// From some of the lines. Throws UnreadableLog with `path`; where no column fits, with a line for
/// each: what it looks like and the option that names it.
Layout find_layout(const std::vector<TextLine>& lines, const Cutting& cutting,
                   const std::string& path, const MeterLogOptions& options);

/// Whether a cell holds a number or a time: what no heading does.
bool can_be_read(std::string_view cell);

}  // namespace platetally::meter
