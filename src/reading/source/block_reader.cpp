#include "reading/source/block_reader.hpp"

#include <algorithm>
#include <cstring>

namespace platetally::source {

BlockReader::BlockReader(ByteSource& source) : source_(source), buffer_(kChunkBytes) {}

/// Reads on behind what is there, which moves to the front. False at the end of the source.
bool BlockReader::fill() {
  std::memmove(buffer_.data(), buffer_.data() + begin_, end_ - begin_);
  end_ -= begin_;
  begin_ = 0;
  if (end_ == buffer_.size())
    buffer_.resize(std::min(2 * buffer_.size(), kLongestLine + kChunkBytes));
  const std::size_t room = std::min(buffer_.size() - end_, kChunkBytes);
  const std::size_t got = source_.read({buffer_.data() + end_, room});
  bytes_ += got;
  end_ += got;
  return got > 0;
}

/// In front of the first line, where it is no part of it.
void BlockReader::skip_byte_order_mark() {
  while (end_ < kByteOrderMark.size() && fill()) {
  }
  if (std::string_view(buffer_.data(), end_).starts_with(kByteOrderMark)) {
    begin_ = kByteOrderMark.size();
    offset_ = kByteOrderMark.size();
  }
}

bool BlockReader::give(Block& block, std::size_t length) {
  block = {{buffer_.data() + begin_, length}, offset_, false};
  begin_ += length;
  offset_ += length;
  return true;
}

bool BlockReader::next(Block& block) {
  std::size_t seen = 0;  // bytes without a line end
  if (bytes_ == 0)
    skip_byte_order_mark();
  for (;;) {
    const std::string_view rest(buffer_.data() + begin_, end_ - begin_);
    const std::size_t first_end = rest.find('\n', seen);
    if (std::min(first_end, rest.size()) > kLongestLine)
      return skip_line(block);
    if (first_end != std::string_view::npos)
      return give(block, rest.rfind('\n') + 1);
    seen = rest.size();
    if (!fill())
      return seen > 0 && give(block, seen);
  }
}

/// The head of a line that is too long; its rest is read and dropped.
bool BlockReader::skip_line(Block& block) {
  long_line_.assign(buffer_.data() + begin_, buffer_.data() + begin_ + kLongestLine);
  block = {{long_line_.data(), long_line_.size()}, offset_, true};
  for (;;) {
    const std::string_view rest(buffer_.data() + begin_, end_ - begin_);
    const std::size_t line_end = rest.find('\n');
    const std::size_t length = line_end == std::string_view::npos ? rest.size() : line_end + 1;
    begin_ += length;
    offset_ += length;
    if (line_end != std::string_view::npos || !fill())
      return true;
  }
}

}  // namespace platetally::source
