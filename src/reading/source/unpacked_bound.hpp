// A decompression bomb is harmless to memory, because everything is streamed; to keep it from
// costing hours, unpacking stops when a file is both beyond 64 MiB and more than kMostRatio times
// what was packed. Deflate reaches 1032:1 on constant bytes; real plates pack 3 to 6 times, plates
// of many equal layers up to some 200 times (zstd, xz).
#pragma once

#include <fmt/format.h>

#include <cstdint>

#include "reading/source/byte_source.hpp"

namespace platetally::source {

class UnpackedBound {
 public:
  void take_packed(std::uint64_t bytes) { packed_ += bytes; }
  /// Throws SourceError. What was taken in may hold the bytes of files to come, but never less than
  /// this one's.
  void give(std::uint64_t bytes) {
    unpacked_ += bytes;
    if (unpacked_ > kFreeBytes && unpacked_ > kMostRatio * (packed_ - before_file_ + kChunkBytes))
      throw SourceError(fmt::format(
          "unpacks to more than {} times its size; that is no plate, reading stopped", kMostRatio));
  }
  /// What is unpacked next is another file of the container.
  void begin_file() {
    before_file_ = packed_;
    unpacked_ = 0;
  }

 private:
  static constexpr std::uint64_t kFreeBytes = std::uint64_t{64} << 20;
  static constexpr std::uint64_t kMostRatio = 1000;

  std::uint64_t packed_ = 0;
  std::uint64_t before_file_ = 0;
  std::uint64_t unpacked_ = 0;
};

}  // namespace platetally::source
