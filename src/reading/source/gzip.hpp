// A gzip file (RFC 1952), member after member, as its bytes. zlib holds the checksum and the length
// of each member against what was unpacked.
#pragma once

#include <zlib.h>

#include <memory>
#include <vector>

#include "reading/source/byte_source.hpp"
#include "reading/source/unpacked_bound.hpp"

namespace platetally::source {

class GzipSource : public ByteSource {
 public:
  explicit GzipSource(std::unique_ptr<ByteSource> packed);
  GzipSource(const GzipSource&) = delete;
  GzipSource& operator=(const GzipSource&) = delete;
  ~GzipSource() override;

  /// Throws SourceError where the file breaks off or is damaged, with whatever came before given.
  std::size_t read(std::span<char> room) override;

 private:
  bool refill();
  bool begin_member();
  std::size_t inflate_into(std::span<char> room);

  std::unique_ptr<ByteSource> packed_;
  std::vector<char> buffer_;
  z_stream stream_{};
  UnpackedBound bound_;
  bool in_member_ = false;
  bool had_member_ = false;
};

}  // namespace platetally::source
