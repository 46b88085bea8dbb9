// Where the records of shares lie in their files: they are read again in the order of the input,
// and in that of the report, and never all kept.
#pragma once

#include <cstdint>
#include <map>
#include <string>
#include <vector>

namespace platetally::audit_stage {

/// A line of one of the files.
struct LinePlace {
  std::uint64_t index = 0;   ///< of the plate's file in the input
  std::uint32_t file = 0;    ///< index of the share's file
  std::uint32_t bytes = 0;   ///< without the line end
  std::uint64_t offset = 0;  ///< of its first byte
  std::uint64_t line = 0;    ///< from 1
};

class ShareFiles {
 public:
  explicit ShareFiles(std::vector<std::string> names) : names_(std::move(names)) {}
  ~ShareFiles();
  ShareFiles(const ShareFiles&) = delete;
  ShareFiles& operator=(const ShareFiles&) = delete;

  const std::string& name(std::size_t file) const { return names_[file]; }
  std::size_t count() const { return names_.size(); }
  /// Throws std::runtime_error where it cannot be read any more.
  std::string line(const LinePlace& place);

 private:
  int descriptor(std::uint32_t file);

  std::vector<std::string> names_;
  std::map<std::uint32_t, int> open_;
};

}  // namespace platetally::audit_stage
