#include "line_writer.hpp"

namespace plate_maker {

namespace {

/// Appends value / 10^decimals.
void append_fixed(std::string& to, std::int64_t value, int decimals) {
  char text[24];
  char* const text_end = text + sizeof text;
  char* at = text_end;
  const bool negative = value < 0;
  std::uint64_t rest =
      negative ? 0 - static_cast<std::uint64_t>(value) : static_cast<std::uint64_t>(value);
  for (int digit = 0; digit < decimals; ++digit) {
    *--at = static_cast<char>('0' + rest % 10);
    rest /= 10;
  }
  if (decimals > 0)
    *--at = '.';
  do {
    *--at = static_cast<char>('0' + rest % 10);
    rest /= 10;
  } while (rest != 0);
  if (negative)
    *--at = '-';
  to.append(at, text_end);
}

}  // namespace

void LineWriter::begin(std::string_view command) {
  line_begin_ = buffer_.size();
  if (style_.checksums) {
    buffer_ += 'N';
    append_fixed(buffer_, static_cast<std::int64_t>(++numbered_), 0);
    buffer_ += ' ';
  }
  buffer_ += command;
}

void LineWriter::word(char letter, std::int64_t value, int decimals) {
  buffer_ += ' ';
  buffer_ += letter;
  append_fixed(buffer_, value, decimals);
}

void LineWriter::end() {
  if (style_.checksums) {
    unsigned checksum = 0;
    for (std::size_t at = line_begin_; at < buffer_.size(); ++at)
      checksum ^= static_cast<unsigned char>(buffer_[at]);
    buffer_ += '*';
    append_fixed(buffer_, checksum, 0);
  }
  finish_line();
}

void LineWriter::command(std::string_view line) {
  begin(line);
  end();
}

void LineWriter::plain(std::string_view line) {
  buffer_ += line;
  finish_line();
}

void LineWriter::finish_line() {
  buffer_ += style_.crlf ? "\r\n" : "\n";
  ++lines_;
  if (buffer_.size() >= kFlushAt - 4096)
    flush();
}

void LineWriter::flush() {
  if (std::fwrite(buffer_.data(), 1, buffer_.size(), out_) != buffer_.size())
    ok_ = false;
  flushed_ += buffer_.size();
  buffer_.clear();
}

}  // namespace plate_maker
