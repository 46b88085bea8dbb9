/// @file
/// The log of a metering plug: watts over time, read forgivingly.
#pragma once

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
  std::vector<MeterSample> samples;     ///< in the order of time
  std::optional<double> start_epoch_s;  ///< of the first sample, UTC, where the log says it
  double interval_s = 0.0;              ///< median distance of samples
  std::vector<std::string> readings;    ///< how columns, separator and units were understood
  std::vector<RejectedLines> rejected;  ///< by reason
  std::vector<std::string> doubts;      ///< gaps, a clock set back, values that never change
  /// From the first sample to the end of the last.
  double duration_s() const {
    return samples.empty() ? 0.0 : samples.back().t_s + samples.back().lasts_s;
  }
  /// Where the power is known.
  double energy_wh() const;
};

/// How to read a log; empty: guessed, and said.
struct MeterLogOptions {
  std::string time_column;   ///< a heading, or a number from 1
  std::string watts_column;  ///< the same
  std::string wh_column;     ///< cumulative watt-hours, where there are no watts
};

/// Separator (comma, semicolon, tab, blanks), decimal comma, headings, seconds, ISO 8601 or epoch,
/// watts or cumulative watt-hours (kWh if the heading says so) are recognised. Samples may be
/// irregular; duplicates, negative values and lone spikes are left out and counted. Where samples
/// are missing the power is not known. Throws UnreadableLog: no sample, mostly negative watts.
MeterLog parse_meter_log(std::string_view text, const std::string& path,
                         const MeterLogOptions& options = {});
/// The same from a file.
MeterLog load_meter_log(const std::string& path, const MeterLogOptions& options = {});

/// Mean watts over from .. to; nothing where less than half of it is known.
std::optional<double> mean_w(const MeterLog& log, double from_s, double to_s);

}  // namespace platetally
