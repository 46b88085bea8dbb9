// Where results go: standard output, or a file that is whole or not there.
#pragma once

#include <sys/types.h>

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

 private:
  void replace_file(std::string_view results);

  std::string path_;  ///< empty: standard output
  int fd_ = -1;       ///< standard output or a device; -1: a file, replaced when complete
  mode_t mode_ = 0;   ///< of the file to be written
};

/// Makes sure that no file is opened in the place of a closed standard stream, and that a closed
/// pipe is an error code and not a signal.
void prepare_streams();

}  // namespace platetally::cli
