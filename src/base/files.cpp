#include "base/files.hpp"

#include <filesystem>
#include <fstream>
#include <system_error>

namespace platetally::base {

std::optional<std::string> read_file(const std::string& path, std::size_t most_bytes) {
  // What reading a folder gives differs from one C++ library to another.
  std::error_code unknown;
  std::ifstream file(path, std::ios::binary);
  if (!file || std::filesystem::is_directory(path, unknown) ||
      path.find('\0') != std::string::npos)  // the system would end the name there
    return std::nullopt;
  std::string text(most_bytes, '\0');
  file.read(text.data(), static_cast<std::streamsize>(text.size()));
  if (file.bad())
    return std::nullopt;
  text.resize(static_cast<std::size_t>(file.gcount()));
  return text;
}

}  // namespace platetally::base
