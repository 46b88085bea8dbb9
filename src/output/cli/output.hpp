// Where results go: standard output, or a file that is whole or not there.
#pragma once

#include <sys/types.h>

#include <functional>
#include <string>
#include <string_view>

namespace platetally::cli {

class Output {
 public:
  /// Opened before the long work, so that a place that cannot be written is told at once.
  /// `path` empty: standard output. `input` is never overwritten. Throws RunError.
  Output(const std::string& path, const std::string& input);
  ~Output();
  Output(const Output&) = delete;
  Output& operator=(const Output&) = delete;

  bool is_standard_output() const { return path_.empty(); }

  /// All of the results, once. A reader who has gone away wants no more: that is no error.
  /// Throws RunError when they cannot be written; then the file is as it was before.
  void write(std::string_view results);
  /// The same of results that come in parts, for which `work` calls what it is given.
  using Sink = std::function<void(std::string_view part)>;
  void write_parts(const std::function<void(const Sink&)>& work);

 private:
  void replace_file(const std::function<void(int fd)>& fill);

  std::string path_;  ///< empty: standard output
  int fd_ = -1;       ///< standard output or a device; -1: a file, replaced when complete
  mode_t mode_ = 0;   ///< of the file to be written
};

/// Results that are worth having line by line: at once on standard output, else in FILE.partial,
/// which takes the place of FILE when it is whole. A broken run leaves FILE.partial with all that
/// it said.
class LineOutput {
 public:
  /// Throws RunError.
  explicit LineOutput(const std::string& path);
  ~LineOutput();
  LineOutput(const LineOutput&) = delete;
  LineOutput& operator=(const LineOutput&) = delete;

  /// The line end is added. A reader who has gone away wants no more. Throws RunError.
  void write(std::string_view line);
  void finish();

 private:
  std::string path_;
  int fd_ = -1;
};

/// Makes sure that no file is opened in the place of a closed standard stream, and that a closed
/// pipe is an error code and not a signal.
void prepare_streams();

}  // namespace platetally::cli
