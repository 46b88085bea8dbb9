#include "reading/source/content.hpp"

#include <sys/stat.h>

#include <fstream>
#include <vector>

#include "base/hash.hpp"

namespace platetally::source {

namespace {

constexpr std::size_t kHashBlock = 1 << 20;
constexpr std::int64_t kNanosecondsPerSecond = 1'000'000'000;

}  // namespace

std::optional<FileState> state_of(const std::string& path) {
  struct stat status {};
  if (::stat(path.c_str(), &status) != 0 || !S_ISREG(status.st_mode))
    return std::nullopt;
  return FileState{status.st_size,
                   status.st_mtim.tv_sec * kNanosecondsPerSecond + status.st_mtim.tv_nsec};
}

std::optional<std::string> hash_of_file(const std::string& path) {
  std::ifstream file(path, std::ios::binary);
  if (!file)
    return std::nullopt;
  base::Hash hash;
  std::vector<char> block(kHashBlock);
  while (file.read(block.data(), static_cast<std::streamsize>(block.size())) || file.gcount() > 0)
    hash.add({block.data(), static_cast<std::size_t>(file.gcount())});
  if (file.bad())
    return std::nullopt;
  return hash.text();
}

}  // namespace platetally::source
