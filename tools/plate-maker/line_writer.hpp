// Writes lines of words with fixed decimals: the same bytes everywhere, whatever locale or library.
#pragma once

#include <cstdint>
#include <cstdio>
#include <string>
#include <string_view>

namespace plate_maker {

class LineWriter {
 public:
  struct Style {
    bool crlf = false;
    bool checksums = false;  ///< N words in front, *checksum behind
  };

  LineWriter(std::FILE* out, Style style) : out_(out), style_(style) { buffer_.reserve(kFlushAt); }

  /// A line is begun with its command, gets its words, and is ended.
  void begin(std::string_view command);
  void word(char letter, std::int64_t value, int decimals);
  /// Added to the line as it is.
  void text(std::string_view text) { buffer_ += text; }
  void end();

  /// A whole line with a command.
  void command(std::string_view line);
  /// A whole line that is a comment or empty: no line number, no checksum.
  void plain(std::string_view line);

  void flush();

  std::uint64_t lines() const { return lines_; }
  std::uint64_t bytes() const { return flushed_ + buffer_.size(); }
  /// False once the disk refused.
  bool ok() const { return ok_; }

 private:
  static constexpr std::size_t kFlushAt = 1 << 18;
  void finish_line();

  std::FILE* out_;
  Style style_;
  std::string buffer_;
  std::size_t line_begin_ = 0;
  std::uint64_t flushed_ = 0;
  std::uint64_t lines_ = 0;
  std::uint64_t numbered_ = 0;
  bool ok_ = true;
};

}  // namespace plate_maker
