// What a file is: its state on the disk, and a hash of what it holds.
#pragma once

#include <cstdint>
#include <optional>
#include <string>

namespace platetally::source {

/// What a file system says of a file without reading it.
struct FileState {
  std::int64_t size_bytes = 0;
  std::int64_t modified_ns = 0;
  bool operator==(const FileState&) const = default;
};

/// Nothing where there is no such regular file.
std::optional<FileState> state_of(const std::string& path);

/// 128 bits of the content in hexadecimal (XXH3), or nothing where it cannot be read.
std::optional<std::string> hash_of_file(const std::string& path);

}  // namespace platetally::source
