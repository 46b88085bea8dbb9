#include "output/audit/share_files.hpp"

#include <fcntl.h>
#include <fmt/format.h>
#include <unistd.h>

#include <stdexcept>

namespace platetally::audit_stage {

namespace {
constexpr std::size_t kMostOpen = 64;  // far below what a process may have
}

ShareFiles::~ShareFiles() {
  for (const auto& [file, descriptor] : open_)
    ::close(descriptor);
}

int ShareFiles::descriptor(std::uint32_t file) {
  if (const auto found = open_.find(file); found != open_.end())
    return found->second;
  if (open_.size() == kMostOpen) {
    ::close(open_.begin()->second);
    open_.erase(open_.begin());
  }
  const int opened = ::open(names_[file].c_str(), O_RDONLY | O_CLOEXEC);
  if (opened < 0)
    throw std::runtime_error(fmt::format("{}: cannot be read", names_[file]));
  return open_[file] = opened;
}

std::string ShareFiles::line(const LinePlace& place) {
  std::string text(place.bytes, '\0');
  const int from = descriptor(place.file);
  std::size_t have = 0;
  while (have < text.size()) {
    const ssize_t count = ::pread(from, text.data() + have, text.size() - have,
                                  static_cast<off_t>(place.offset + have));
    if (count <= 0)
      throw std::runtime_error(
          fmt::format("{}:{}: was changed while it was merged", names_[place.file], place.line));
    have += static_cast<std::size_t>(count);
  }
  return text;
}

}  // namespace platetally::audit_stage
