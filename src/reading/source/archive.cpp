// Containers go through libarchive. A decompression bomb is harmless to memory, because everything
// is streamed; to keep it from costing hours, unpacking stops when a file is both beyond 64 MiB and
// more than kMostRatio times what was packed. Deflate reaches 1032:1 on constant bytes; real plates
// pack 3 to 6 times, plates of many equal layers up to some 200 times (zstd, xz).
#include "reading/source/archive.hpp"

#include <archive.h>
#include <archive_entry.h>
#include <fmt/format.h>

#include <cerrno>

namespace platetally::source {

namespace {

constexpr std::uint64_t kFreeBytes = std::uint64_t{64} << 20;
constexpr std::uint64_t kMostRatio = 1000;

/// libarchive may fail without a word.
std::string reason_of(archive* failed) {
  const char* reason = archive_error_string(failed);
  return reason == nullptr ? "no reason given" : reason;
}

}  // namespace

Container recognise(std::string_view head) {
  using std::string_view_literals::operator""sv;
  if (head.starts_with("\x1f\x8b"sv) || head.starts_with("\x28\xb5\x2f\xfd"sv) ||
      head.starts_with("\xfd"
                       "7zXZ\0"sv))
    return Container::stream;
  return head.starts_with("PK\x03\x04"sv) ? Container::zip : Container::none;
}

Archive::Archive(std::unique_ptr<ByteSource> packed, Container kind)
    : packed_(std::move(packed)), kind_(kind), buffer_(kChunkBytes), archive_(archive_read_new()) {
  if (archive_ == nullptr)
    throw SourceError("not enough memory to unpack it");
  archive_read_support_filter_gzip(archive_);
  archive_read_support_filter_zstd(archive_);
  archive_read_support_filter_xz(archive_);
  if (kind == Container::zip)
    archive_read_support_format_zip_streamable(archive_);
  else
    archive_read_support_format_raw(archive_);
  if (archive_read_open(archive_, this, nullptr, &Archive::give, nullptr) != ARCHIVE_OK) {
    const std::string reason = reason_of(archive_);
    archive_read_free(archive_);
    throw SourceError(fmt::format("is no sound container ({})", reason));
  }
}

Archive::~Archive() {
  archive_read_free(archive_);
}

bool Archive::next_file() {
  archive_entry* entry = nullptr;
  for (;;) {
    const int status = archive_read_next_header(archive_, &entry);
    if (status == ARCHIVE_EOF)
      return false;
    if (status < ARCHIVE_WARN)
      fail("is no sound container");
    // Bytes that only begin like packed ones would be passed on as they are.
    if (kind_ == Container::stream && archive_filter_code(archive_, 0) == ARCHIVE_FILTER_NONE)
      fail("begins like a packed file and is none");
    const char* path = kind_ == Container::zip ? archive_entry_pathname(entry) : nullptr;
    name_ = path == nullptr ? "" : path;
    if (!name_.ends_with('/'))
      break;
  }
  taken_before_file_ = taken_;
  unpacked_ = 0;
  return true;
}

std::size_t Archive::read(std::span<char> room) {
  const la_ssize_t got = archive_read_data(archive_, room.data(), room.size());
  if (got < 0)
    fail("breaks off or is damaged");
  unpacked_ += static_cast<std::uint64_t>(got);
  // What was taken in may hold the bytes of the files to come, but never less than this one's.
  if (unpacked_ > kFreeBytes &&
      unpacked_ > kMostRatio * (taken_ - taken_before_file_ + buffer_.size()))
    throw SourceError(fmt::format(
        "unpacks to more than {} times its size; that is no plate, reading stopped", kMostRatio));
  return static_cast<std::size_t>(got);
}

void Archive::fail(const char* what) const {
  throw SourceError(fmt::format("{} ({})", what, reason_of(archive_)));
}

long Archive::give(archive* target, void* self_pointer, const void** bytes) {
  auto& self = *static_cast<Archive*>(self_pointer);
  *bytes = self.buffer_.data();
  try {
    const std::size_t got = self.packed_->read(self.buffer_);
    self.taken_ += got;
    return static_cast<long>(got);
  } catch (const SourceError& error) {
    archive_set_error(target, EIO, "%s", error.what());
    return -1;
  }
}

}  // namespace platetally::source
