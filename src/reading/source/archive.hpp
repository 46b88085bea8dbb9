// A container as a sequence of files, each unpacked as it is read.
#pragma once

#include <cstdint>
#include <memory>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "reading/source/byte_source.hpp"

struct archive;

namespace platetally::source {

enum class Container { none, stream, zip };

/// What the first bytes of a file (8 are enough) say that it is.
Container recognise(std::string_view head);

class Archive {
 public:
  /// Throws SourceError where `packed` is no sound container of that kind.
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
  static long give(archive* target, void* self_pointer, const void** bytes);

  std::unique_ptr<ByteSource> packed_;
  const Container kind_;
  std::vector<char> buffer_;
  archive* archive_;
  std::string name_;
  std::uint64_t taken_ = 0;
  std::uint64_t taken_before_file_ = 0;
  std::uint64_t unpacked_ = 0;
};

}  // namespace platetally::source
