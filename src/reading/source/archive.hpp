// A container as a sequence of files, each unpacked as it is read.
#pragma once

#include <cstddef>
#include <cstdint>
#include <memory>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "reading/source/byte_source.hpp"
#include "reading/source/unpacked_bound.hpp"

struct archive;

namespace platetally::source {

/// A stream holds one file, the others several.
enum class Container { none, gzip, stream, zip, tar };

/// So many bytes from the front decide what a file is: a tar says so at byte 257.
inline constexpr std::size_t kMagicBytes = 512;

/// What the first bytes of a file (kMagicBytes are enough) say that it is.
Container recognise(std::string_view head);

class Archive {
 public:
  /// Throws SourceError where `packed` is no sound container of that kind, which is not gzip.
  Archive(std::unique_ptr<ByteSource> packed, Container kind);
  Archive(const Archive&) = delete;
  Archive& operator=(const Archive&) = delete;
  ~Archive();

  /// Goes to the next file, folders left out; false at the end. Throws SourceError.
  bool next_file();
  /// Of the file that it is at; empty for gz, zstd and xz.
  const std::string& name() const { return name_; }
  /// Fills the front of `room`; 0 at the end of the file. Throws SourceError.
  std::size_t read(std::span<char> room);

 private:
  [[noreturn]] void fail(const char* what) const;
  void require_end_of_zip();
  std::size_t take_packed();
  static std::ptrdiff_t give(archive* target, void* self_pointer, const void** bytes);

  std::unique_ptr<ByteSource> packed_;
  const Container kind_;
  std::vector<char> buffer_;
  archive* archive_;
  std::string name_;
  UnpackedBound bound_;
  std::string tail_;  ///< of what was taken in, of a zip
  std::uint64_t entries_ = 0;
};

}  // namespace platetally::source
