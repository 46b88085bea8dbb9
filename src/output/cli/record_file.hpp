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

  /// A number as the plug gave it, now. Gives the watts that were written; the first of a counter
  /// gives none yet.
  std::optional<double> take(double value);
  /// A line that says what happened; readers of logs pass it over.
  void mark(std::string_view what);

  std::uint64_t samples() const { return samples_; }
  std::uint64_t gaps() const { return gaps_; }

 private:
  void write(const std::string& line);

  std::string path_;
  int fd_ = -1;
  bool is_wh_;
  double gap_s_;
  double begin_s_ = -1.0;
  double last_s_ = -1.0;
  double last_w_ = 0.0;
  double last_counter_wh_ = 0.0;
  double sum_wh_ = 0.0;
  std::uint64_t samples_ = 0;
  std::uint64_t gaps_ = 0;
};

}  // namespace platetally::cli
