// Small files, whole.
#pragma once

#include <cstddef>
#include <optional>
#include <string>

namespace platetally::base {

/// The first `most_bytes` bytes of a file; nothing if it cannot be read.
std::optional<std::string> read_file(const std::string& path, std::size_t most_bytes);

}  // namespace platetally::base
