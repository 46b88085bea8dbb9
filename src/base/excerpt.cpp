#include "base/excerpt.hpp"

#include <algorithm>
#include <cstdint>

namespace platetally::base {

namespace {

constexpr std::size_t kExcerptBytes = 120;

bool continues_character(char byte) {
  return (static_cast<unsigned char>(byte) & 0xC0U) == 0x80U;
}

}  // namespace

void set_excerpt(Diagnostic& diagnostic, std::string_view line) {
  while (!line.empty() && (line.back() == '\n' || line.back() == '\r'))
    line.remove_suffix(1);
  std::size_t begin = 0;
  if (line.size() > kExcerptBytes) {
    const std::uint64_t column = diagnostic.column > 0 ? diagnostic.column - 1 : 0;
    const std::uint64_t centred = column > kExcerptBytes / 2 ? column - kExcerptBytes / 2 : 0;
    begin = static_cast<std::size_t>(std::min<std::uint64_t>(centred, line.size() - kExcerptBytes));
  }
  std::size_t end = std::min(line.size(), begin + kExcerptBytes);
  while (begin < end && begin > 0 && continues_character(line[begin]))
    ++begin;
  while (end > begin && end < line.size() && continues_character(line[end]))
    --end;
  diagnostic.excerpt = line.substr(begin, end - begin);
  diagnostic.excerpt_offset = begin;
}

}  // namespace platetally::base
