#include "reading/source/gzip.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace platetally::source {

namespace {

constexpr int kGzipOnly = MAX_WBITS + 16;
constexpr unsigned char kMagic[] = {0x1f, 0x8b};

}  // namespace

GzipSource::GzipSource(std::unique_ptr<ByteSource> packed)
    : packed_(std::move(packed)), buffer_(kChunkBytes) {
  if (inflateInit2(&stream_, kGzipOnly) != Z_OK)
    throw SourceError("not enough memory to unpack it");
}

GzipSource::~GzipSource() {
  inflateEnd(&stream_);
}

/// False at the end of the packed bytes.
bool GzipSource::refill() {
  if (stream_.avail_in > 0)
    return true;
  const std::size_t got = packed_->read(buffer_);
  bound_.take_packed(got);
  stream_.next_in = reinterpret_cast<Bytef*>(buffer_.data());
  stream_.avail_in = static_cast<uInt>(got);
  return got > 0;
}

/// False behind the last one. Between members and behind the last, zeros may fill up a block of a
/// tape; anything else belongs to no member.
bool GzipSource::begin_member() {
  while (refill()) {
    if (had_member_ && *stream_.next_in == 0) {
      ++stream_.next_in;
      --stream_.avail_in;
      continue;
    }
    if (had_member_ && *stream_.next_in != kMagic[0])
      throw SourceError("is damaged (bytes behind its end that belong to no packed file)");
    if (had_member_)
      inflateReset(&stream_);
    in_member_ = had_member_ = true;
    return true;
  }
  return false;
}

std::size_t GzipSource::inflate_into(std::span<char> room) {
  stream_.next_out = reinterpret_cast<Bytef*>(room.data());
  stream_.avail_out = static_cast<uInt>(std::min<std::size_t>(room.size(), kChunkBytes));
  const uInt begin = stream_.avail_out;
  const int status = inflate(&stream_, Z_NO_FLUSH);
  const std::size_t got = begin - stream_.avail_out;
  if (status == Z_STREAM_END)
    in_member_ = false;
  else if (status != Z_OK && status != Z_BUF_ERROR)
    throw SourceError(
        fmt::format("is damaged ({})", stream_.msg == nullptr ? "no reason given" : stream_.msg));
  return got;
}

std::size_t GzipSource::read(std::span<char> room) {
  while (in_member_ || begin_member()) {
    if (!refill())
      throw SourceError("breaks off (the end of its packed bytes is missing)");
    const std::size_t got = inflate_into(room);
    bound_.give(got);
    if (got > 0)
      return got;
  }
  return 0;
}

}  // namespace platetally::source
