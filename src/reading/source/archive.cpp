// Containers go through libarchive, which holds checksums against what it unpacks; but a zip is
// read from the front, entry by entry, and one whose header is damaged would be passed over without
// a word. So its entries are counted, and held against the number in the record that ends it.
#include "reading/source/archive.hpp"

#include <archive.h>
#include <archive_entry.h>
#include <fmt/format.h>

#include <cerrno>

namespace platetally::source {

namespace {

constexpr std::size_t kEndRecord = 22;                  // PKWARE APPNOTE.TXT, section 4.3.16
constexpr std::size_t kMostTail = kEndRecord + 0xFFFF;  // with the longest comment behind it

unsigned two_bytes(std::string_view bytes, std::size_t at) {
  return static_cast<unsigned char>(bytes[at]) |
         static_cast<unsigned>(static_cast<unsigned char>(bytes[at + 1])) << 8U;
}

/// libarchive may fail without a word.
std::string reason_of(archive* failed) {
  const char* reason = archive_error_string(failed);
  return reason == nullptr ? "no reason given" : reason;
}

}  // namespace

Container recognise(std::string_view head) {
  using std::string_view_literals::operator""sv;
  if (head.starts_with("\x1f\x8b"sv))
    return Container::gzip;
  if (head.starts_with("\x28\xb5\x2f\xfd"sv) || head.starts_with("\xfd"
                                                                 "7zXZ\0"sv))
    return Container::stream;
  if (head.starts_with("PK\x03\x04"sv))
    return Container::zip;
  constexpr std::size_t kTarMagic = 257;  // POSIX.1-2001, pax interchange format
  return head.size() > kTarMagic && head.substr(kTarMagic).starts_with("ustar"sv) ? Container::tar
                                                                                  : Container::none;
}

Archive::Archive(std::unique_ptr<ByteSource> packed, Container kind)
    : packed_(std::move(packed)), kind_(kind), buffer_(kChunkBytes), archive_(archive_read_new()) {
  if (archive_ == nullptr)
    throw SourceError("not enough memory to unpack it");
  switch (kind) {
    case Container::zip:
      archive_read_support_format_zip_streamable(archive_);
      break;
    case Container::tar:
      archive_read_support_format_tar(archive_);
      break;
    default:
      archive_read_support_filter_zstd(archive_);
      archive_read_support_filter_xz(archive_);
      archive_read_support_format_raw(archive_);
  }
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
    if (status == ARCHIVE_EOF) {
      if (kind_ == Container::zip)
        require_end_of_zip();
      return false;
    }
    if (status < ARCHIVE_WARN)
      fail("is no sound container");
    // Bytes that only begin like packed ones would be passed on as they are.
    if (kind_ == Container::stream && archive_filter_code(archive_, 0) == ARCHIVE_FILTER_NONE)
      fail("begins like a packed file and is none");
    const char* path = kind_ == Container::stream ? nullptr : archive_entry_pathname(entry);
    name_ = path == nullptr ? "" : path;
    ++entries_;
    const bool is_file =
        kind_ == Container::tar ? archive_entry_filetype(entry) == AE_IFREG : !name_.ends_with('/');
    if (is_file)
      break;
  }
  bound_.begin_file();
  return true;
}

/// The end of a zip says how many entries there are.
void Archive::require_end_of_zip() {
  while (take_packed() > 0) {  // what libarchive has not asked for
  }
  using std::string_view_literals::operator""sv;
  const std::size_t at = tail_.rfind("PK\x05\x06"sv);
  if (at == std::string::npos || tail_.size() - at < kEndRecord)
    throw SourceError("breaks off or is damaged (the record that ends a zip is missing)");
  const unsigned stated = two_bytes(tail_, at + 10);
  constexpr unsigned kStatedElsewhere = 0xFFFF;  // a large zip has another record
  if (stated != kStatedElsewhere && stated != (entries_ & 0xFFFFU))
    throw SourceError(
        fmt::format("is damaged (it has {} files by its end, {} were found)", stated, entries_));
}

std::size_t Archive::read(std::span<char> room) {
  const la_ssize_t got = archive_read_data(archive_, room.data(), room.size());
  if (got < 0)
    fail("breaks off or is damaged");
  bound_.give(static_cast<std::uint64_t>(got));
  return static_cast<std::size_t>(got);
}

void Archive::fail(const char* what) const {
  throw SourceError(fmt::format("{} ({})", what, reason_of(archive_)));
}

/// The next packed bytes, into the buffer.
std::size_t Archive::take_packed() {
  const std::size_t got = packed_->read(buffer_);
  bound_.take_packed(got);
  if (kind_ == Container::zip) {
    tail_.append(buffer_.data(), got);
    if (tail_.size() > kMostTail)
      tail_.erase(0, tail_.size() - kMostTail);
  }
  return got;
}

std::ptrdiff_t Archive::give(archive* target, void* self_pointer, const void** bytes) {
  auto& self = *static_cast<Archive*>(self_pointer);
  *bytes = self.buffer_.data();
  try {
    return static_cast<std::ptrdiff_t>(self.take_packed());
  } catch (const SourceError& error) {
    archive_set_error(target, EIO, "%s", error.what());
    return -1;
  }
}

}  // namespace platetally::source
