// Cuts bytes into lines.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "source/byte_source.hpp"

namespace platetally::source {

inline constexpr std::size_t kLongestLine = 1 << 20;

struct SourceLine {
  std::string_view text;     ///< without its end; valid until the next call
  std::uint64_t number = 0;  ///< 1-based
  std::uint64_t offset = 0;  ///< of its first byte
  bool too_long = false;     ///< longer than kLongestLine: `text` is its head, the rest was skipped
};

/// Lines end at LF; a CR before it is dropped. The last line may have no end. Memory: one chunk,
/// and one partial line of at most kLongestLine.
class LineReader {
 public:
  explicit LineReader(ByteSource& source);

  /// False at the end. Throws SourceError when the source breaks.
  bool next(SourceLine& line);

  std::uint64_t bytes() const { return bytes_; }  ///< read from the source so far
  std::uint64_t lines() const { return lines_; }  ///< given so far

 private:
  bool fill();
  void emit(SourceLine& line, std::string_view text, bool too_long);
  bool next_across_chunks(SourceLine& line);

  ByteSource& source_;
  std::vector<char> chunk_;
  std::size_t begin_ = 0;
  std::size_t end_ = 0;
  std::string partial_;
  std::uint64_t bytes_ = 0;
  std::uint64_t lines_ = 0;
  std::uint64_t offset_ = 0;
};

}  // namespace platetally::source
