#include "source/line_reader.hpp"

#include <cstring>

namespace platetally::source {

LineReader::LineReader(ByteSource& source) : source_(source), chunk_(kChunkBytes) {}

bool LineReader::fill() {
  begin_ = 0;
  end_ = source_.read(chunk_);
  bytes_ += end_;
  return end_ > 0;
}

void LineReader::emit(SourceLine& line, std::string_view text, bool too_long) {
  if (!text.empty() && text.back() == '\r')
    text.remove_suffix(1);
  line.text = text;
  line.number = ++lines_;
  line.too_long = too_long;
}

bool LineReader::next(SourceLine& line) {
  if (begin_ == end_ && !fill())
    return false;
  line.offset = offset_;
  const char* from = chunk_.data() + begin_;
  const auto* found = static_cast<const char*>(std::memchr(from, '\n', end_ - begin_));
  if (found == nullptr)
    return next_across_chunks(line);
  const auto length = static_cast<std::size_t>(found - from);
  begin_ += length + 1;
  offset_ += length + 1;
  const bool too_long = length > kLongestLine;
  emit(line, {from, too_long ? kLongestLine : length}, too_long);
  return true;
}

bool LineReader::next_across_chunks(SourceLine& line) {
  partial_.clear();
  bool too_long = false;
  for (;;) {
    const char* from = chunk_.data() + begin_;
    const std::size_t left = end_ - begin_;
    const auto* found = static_cast<const char*>(std::memchr(from, '\n', left));
    const std::size_t length = found != nullptr ? static_cast<std::size_t>(found - from) : left;
    const std::size_t room = kLongestLine - partial_.size();
    partial_.append(from, std::min(length, room));
    too_long = too_long || length > room;
    offset_ += length;
    begin_ += length;
    if (found != nullptr) {
      ++begin_;
      ++offset_;
      break;
    }
    if (!fill())
      break;
  }
  emit(line, partial_, too_long);
  return true;
}

}  // namespace platetally::source
