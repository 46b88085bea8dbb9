// One line on standard error that says how much of the plate has been read, and is wiped at the
// end.
#pragma once

#include <cstdint>
#include <string>

namespace platetally::cli {

class Progress {
 public:
  Progress(const std::string& path, bool shown);
  ~Progress() { wipe(); }
  Progress(const Progress&) = delete;
  Progress& operator=(const Progress&) = delete;

  /// May be called as often as one likes: draws only what has changed.
  void read(std::uint64_t bytes);
  void wipe();

 private:
  bool shown_;
  std::uint64_t size_ = 0;  ///< 0: not known, as for a stream or a packed file
  std::uint64_t drawn_ = 0;
};

}  // namespace platetally::cli
