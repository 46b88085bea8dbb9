// Cuts bytes into blocks of whole lines.
#pragma once

#include <cstdint>
#include <string_view>
#include <vector>

#include "reading/source/byte_source.hpp"

namespace platetally::source {

inline constexpr std::size_t kLongestLine = 1 << 20;

struct Block {
  std::string_view text;     ///< whole lines with their ends; valid until the next call
  std::uint64_t offset = 0;  ///< of its first byte
  bool too_long =
      false;  ///< one line beyond kLongestLine: `text` is its head, the rest was skipped
};

/// Lines end at LF; the last line may have no end. Memory: one chunk, and more only while a line
/// does not fit in, up to kLongestLine and a chunk.
class BlockReader {
 public:
  explicit BlockReader(ByteSource& source);

  /// False at the end; a block is never empty. Throws SourceError when the source breaks; whole
  /// lines that came before it have been given.
  bool next(Block& block);

  std::uint64_t bytes() const { return bytes_; }  ///< read from the source so far

 private:
  bool fill();
  void skip_byte_order_mark();
  bool give(Block& block, std::size_t length);
  bool skip_line(Block& block);

  ByteSource& source_;
  std::vector<char> buffer_;
  std::size_t begin_ = 0;  ///< of what has not been given
  std::size_t end_ = 0;
  std::vector<char> long_line_;
  std::uint64_t bytes_ = 0;
  std::uint64_t offset_ = 0;  ///< of begin_ in the plate
};

}  // namespace platetally::source
