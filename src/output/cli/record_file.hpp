// The CSV of a recording: flushed line by line, so that nothing that was recorded is lost.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

namespace platetally::cli {

class RecordFile {
 public:
  /// Continues a file that is there. Throws RunError.
  RecordFile(const std::string& path, bool is_wh, double gap_s);
  ~RecordFile();
  RecordFile(const RecordFile&) = delete;
  RecordFile& operator=(const RecordFile&) = delete;

  /// More than any plug carries (three phases of 32 A at 230 V are 22 kW).
  static constexpr double kMost_w = 25000.0;

  /// A number as the plug gave it, at that second of the epoch. Gives the watts that were written;
  /// the first of a counter gives none yet, and what no plug can draw is marked and left out.
  std::optional<double> take(double value, double now_s);
  /// A line that says what happened; readers of logs pass it over.
  void mark(std::string_view what);

  std::uint64_t samples() const { return samples_; }
  std::uint64_t gaps() const { return gaps_; }
  std::uint64_t left_out() const { return left_out_; }

 private:
  void write(const std::string& line);
  void leave_out(double value);
  std::optional<double> watts_of_counter(double value, double step_s);
  void add_watts(double w, double step_s);

  std::string path_;
  int fd_ = -1;
  bool is_wh_;
  double gap_s_;
  double begin_s_ = -1.0;
  double last_s_ = -1.0;
  double last_w_ = 0.0;  ///< of the sample before, and of the one before that
  double earlier_w_ = 0.0;
  double last_counter_wh_ = 0.0;
  std::optional<double> other_counter_wh_;  ///< that was left out, and may be right after all
  double sum_wh_ = 0.0;
  std::uint64_t samples_ = 0;
  std::uint64_t gaps_ = 0;
  std::uint64_t left_out_ = 0;
};

}  // namespace platetally::cli
