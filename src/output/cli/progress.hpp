// One line on standard error that says how much of the plate has been read, and is wiped at the
// end.
#pragma once

#include <chrono>
#include <cstdint>
#include <string>

#include "platetally/audit.hpp"

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

/// The same for an audit: plates, bytes, rate, time left.
class AuditProgressLine {
 public:
  explicit AuditProgressLine(bool shown) : shown_(shown) {}
  ~AuditProgressLine() { wipe(); }
  AuditProgressLine(const AuditProgressLine&) = delete;
  AuditProgressLine& operator=(const AuditProgressLine&) = delete;

  void draw(const AuditProgress& state);
  void wipe();

 private:
  bool shown_;
  bool drawn_ = false;
  std::chrono::steady_clock::time_point begin_ = std::chrono::steady_clock::now();
  std::chrono::steady_clock::time_point last_{};
};

}  // namespace platetally::cli
