#include "base/files.hpp"

#include <filesystem>
#include <fstream>
#include <system_error>

namespace platetally::base {

std::optional<std::string> read_file(const std::string& path, std::size_t most_bytes) {
  // What reading a folder gives differs from one C++ library to another.
  std::error_code unknown;
  std::ifstream file(path, std::ios::binary);
  // The system would end a name at a zero byte.
  if (!file || path.find('\0') != std::string::npos || std::filesystem::is_directory(path, unknown))
    return std::nullopt;
  std::string text(most_bytes, '\0');
  file.read(text.data(), static_cast<std::streamsize>(text.size()));
  if (file.bad())
    return std::nullopt;
  text.resize(static_cast<std::size_t>(file.gcount()));
  return text;
}

}  // namespace platetally::base
