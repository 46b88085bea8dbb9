/// @file
/// The log of a metering plug: watts over time, read forgivingly.
#pragma once

#include <algorithm>
#include <array>
#include <cstdint>
#include <optional>
#include <stdexcept>
#include <string>
#include <string_view>
#include <vector>

namespace platetally {

/// The log cannot be used at all; what() is one line, "FILE:LINE: ..." where a line is concerned.
class UnreadableLog : public std::runtime_error {
 public:
  using std::runtime_error::runtime_error;
};

/// Power from t_s on, until the next sample or for `lasts_s`, whichever is shorter.
struct MeterSample {
  double t_s = 0.0;      ///< from the first sample
  double w = 0.0;        ///< watts from the wall
  double lasts_s = 0.0;  ///< longest time that it stands for
};

/// What a log may hold of a machine's heaters beside watts.
enum HeaterColumn : std::uint8_t {
  kBedTarget,     ///< degC; 0 or below: off
  kBedC,          ///< degC
  kBedDuty,       ///< share of full power, 0 .. 1
  kNozzleTarget,  ///< degC; 0 or below: off
  kNozzleC,       ///< degC
  kNozzleDuty     ///< share of full power, 0 .. 1
};
inline constexpr std::size_t kHeaterColumns = 6;  ///< of HeaterColumn

/// Set points, temperatures and duties from t_s on, until the next one or for `lasts_s`.
struct HeaterReading {
  double t_s = 0.0;                             ///< from the first line
  double lasts_s = 0.0;                         ///< longest time that it stands for
  std::array<double, kHeaterColumns> values{};  ///< by HeaterColumn; NaN: not known
};

/// Lines that were left out for one reason.
struct RejectedLines {
  std::string reason;            ///< a few words
  std::uint64_t count = 0;       ///< how many
  std::uint64_t first_line = 0;  ///< from 1
};

/// A log of a metering plug, as it was understood.
struct MeterLog {
  std::string path;                     ///< as given
  std::string hash;                     ///< of its bytes
  std::vector<MeterSample> samples;     ///< in the order of time; empty: the log has no watts
  std::vector<HeaterReading> heaters;   ///< in the order of time; empty: nothing said of heaters
  std::vector<double> sessions_s;       ///< where each session begins, where the log tells
  std::optional<double> start_epoch_s;  ///< of the first sample, UTC, where the log says it
  double interval_s = 0.0;              ///< median distance of samples
  std::vector<std::string> readings;    ///< how columns, separator and units were understood
  std::vector<RejectedLines> rejected;  ///< by reason
  std::vector<std::string> doubts;      ///< gaps, a clock set back, values that never change
  /// From the first line to the end of the last.
  double duration_s() const {
    return std::max(samples.empty() ? 0.0 : samples.back().t_s + samples.back().lasts_s,
                    heaters.empty() ? 0.0 : heaters.back().t_s + heaters.back().lasts_s);
  }
  /// Where the power is known.
  double energy_wh() const;
};

/// How to read a log; empty: guessed, and said.
struct MeterLogOptions {
  std::string time_column;   ///< a heading, or a number from 1
  std::string watts_column;  ///< the same
  std::string wh_column;     ///< watt-hours that add up, where there are no watts
  std::string unit;          ///< of either: "mW", "W", "kW", "mWh", "Wh" or "kWh"
  std::string date_order;    ///< "day-first" or "month-first"
  std::array<std::string, kHeaterColumns> heater_columns;  ///< by HeaterColumn
};

/// Separator (comma, semicolon, tab, blanks) or an object of JSON a line; decimal comma, headings;
/// seconds that run or steps of them, clock times, dates in any order, ISO 8601 or epoch; watts,
/// volts and amperes, or watt-hours that add up, in kilo and milli by their heading; set points,
/// temperatures and duties of bed and nozzle. Samples may be irregular; duplicates, negative values
/// and lone spikes are left out and counted. Where samples are missing the power is not known.
/// Throws UnreadableLog: no sample, mostly negative watts, no columns that fit (then a line for
/// each column says what it looks like, and which option would name it).
MeterLog parse_meter_log(std::string_view text, const std::string& path,
                         const MeterLogOptions& options = {});
/// The same from a file, plain or packed (gz, zstd, xz).
MeterLog load_meter_log(const std::string& path, const MeterLogOptions& options = {});

/// The parts of a log: its sessions, or what long gaps leave. Times begin anew in each.
std::vector<MeterLog> sessions_of(const MeterLog& log);

/// Mean watts over from .. to; nothing where less than half of it is known.
std::optional<double> mean_w(const MeterLog& log, double from_s, double to_s);

}  // namespace platetally
