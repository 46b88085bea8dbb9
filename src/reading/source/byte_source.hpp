// Where bytes come from.
#pragma once

#include <cstddef>
#include <span>
#include <stdexcept>
#include <string_view>

namespace platetally::source {

/// The source cannot be opened, or breaks in the middle. what() is one line that goes on after the
/// name: "cannot be opened: ..."
class SourceError : public std::runtime_error {
 public:
  using std::runtime_error::runtime_error;
};

class ByteSource {
 public:
  virtual ~ByteSource() = default;
  /// Fills the front of `room`; returns how many bytes, 0 at the end. Throws SourceError.
  virtual std::size_t read(std::span<char> room) = 0;
};

/// Some programs put it in front of a text (UTF-8).
inline constexpr std::string_view kByteOrderMark = "\xEF\xBB\xBF";

inline constexpr std::size_t kChunkBytes = std::size_t{256} * 1024;

}  // namespace platetally::source
