#include "reading/source/content.hpp"

#include <fmt/format.h>
#include <sys/stat.h>
#include <xxhash.h>

#include <fstream>
#include <memory>
#include <vector>

namespace platetally::source {

namespace {

constexpr std::size_t kHashBlock = 1 << 20;
constexpr std::int64_t kNanosecondsPerSecond = 1'000'000'000;

std::string hexadecimal(const XXH128_hash_t& hash) {
  return fmt::format("{:016x}{:016x}", hash.high64, hash.low64);
}

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
  const std::unique_ptr<XXH3_state_t, XXH_errorcode (*)(XXH3_state_t*)> state(XXH3_createState(),
                                                                              XXH3_freeState);
  XXH3_128bits_reset(state.get());
  std::vector<char> block(kHashBlock);
  while (file.read(block.data(), static_cast<std::streamsize>(block.size())) || file.gcount() > 0)
    XXH3_128bits_update(state.get(), block.data(), static_cast<std::size_t>(file.gcount()));
  if (file.bad())
    return std::nullopt;
  return hexadecimal(XXH3_128bits_digest(state.get()));
}

std::string hash_of_text(std::string_view text) {
  return hexadecimal(XXH3_128bits(text.data(), text.size()));
}

}  // namespace platetally::source
