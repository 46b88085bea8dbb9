// Raw files are read with read(2) into the caller's chunk; containers go through libarchive. A
// decompression bomb is harmless to memory, because everything is streamed; to keep it from costing
// hours, unpacking stops when the plate is both beyond 64 MiB and more than kMostRatio times what
// was packed. Deflate reaches 1032:1 on constant bytes; real plates pack 3 to 6 times, plates of
// many equal layers up to some 200 times (zstd, xz).
#include "source/open.hpp"

#include <archive.h>
#include <archive_entry.h>
#include <fcntl.h>
#include <fmt/format.h>
#include <sys/stat.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <cstring>
#include <vector>

namespace platetally::source {

namespace {

constexpr std::uint64_t kFreeBytes = std::uint64_t{64} << 20;
constexpr std::uint64_t kMostRatio = 1000;

class FileSource : public ByteSource {
 public:
  explicit FileSource(int descriptor) : descriptor_(descriptor) {}
  FileSource(const FileSource&) = delete;
  FileSource& operator=(const FileSource&) = delete;
  ~FileSource() override {
    if (descriptor_ > STDIN_FILENO)
      ::close(descriptor_);
  }
  std::size_t read(std::span<char> room) override {
    for (;;) {
      const ssize_t got = ::read(descriptor_, room.data(), room.size());
      if (got >= 0)
        return static_cast<std::size_t>(got);
      if (errno != EINTR)
        throw SourceError(fmt::format("cannot be read: {}", std::strerror(errno)));
    }
  }

 private:
  int descriptor_;
};

class MemorySource : public ByteSource {
 public:
  explicit MemorySource(std::string_view bytes) : bytes_(bytes) {}
  std::size_t read(std::span<char> room) override {
    const std::size_t count = std::min(room.size(), bytes_.size());
    std::memcpy(room.data(), bytes_.data(), count);
    bytes_.remove_prefix(count);
    return count;
  }

 private:
  std::string_view bytes_;
};

/// Gives back bytes that were read to look at, then goes on with the source.
class PrefixedSource : public ByteSource {
 public:
  PrefixedSource(std::string prefix, std::unique_ptr<ByteSource> rest)
      : prefix_(std::move(prefix)), rest_(std::move(rest)) {}
  std::size_t read(std::span<char> room) override {
    if (given_ == prefix_.size())
      return rest_->read(room);
    const std::size_t count = std::min(room.size(), prefix_.size() - given_);
    std::memcpy(room.data(), prefix_.data() + given_, count);
    given_ += count;
    return count;
  }

 private:
  std::string prefix_;
  std::size_t given_ = 0;
  std::unique_ptr<ByteSource> rest_;
};

enum class Container { none, stream, zip };

Container recognise(std::string_view head) {
  using std::string_view_literals::operator""sv;
  if (head.starts_with("\x1f\x8b"sv) || head.starts_with("\x28\xb5\x2f\xfd"sv) ||
      head.starts_with("\xfd"
                       "7zXZ\0"sv))
    return Container::stream;
  return head.starts_with("PK\x03\x04"sv) ? Container::zip : Container::none;
}

class ArchiveSource : public ByteSource {
 public:
  /// Reads the first file in it.
  ArchiveSource(std::unique_ptr<ByteSource> packed, Container kind)
      : packed_(std::move(packed)), buffer_(kChunkBytes), archive_(archive_read_new()) {
    if (archive_ == nullptr)
      throw SourceError("not enough memory to unpack it");
    archive_read_support_filter_gzip(archive_);
    archive_read_support_filter_zstd(archive_);
    archive_read_support_filter_xz(archive_);
    if (kind == Container::zip)
      archive_read_support_format_zip_streamable(archive_);
    else
      archive_read_support_format_raw(archive_);
    if (archive_read_open(archive_, this, nullptr, &ArchiveSource::give, nullptr) != ARCHIVE_OK)
      fail("is no sound container");
    find_file();
    // Bytes that only begin like packed ones would be passed on as they are.
    if (kind == Container::stream && archive_filter_code(archive_, 0) == ARCHIVE_FILTER_NONE)
      fail("begins like a packed file and is none");
  }
  ArchiveSource(const ArchiveSource&) = delete;
  ArchiveSource& operator=(const ArchiveSource&) = delete;
  ~ArchiveSource() override { archive_read_free(archive_); }

  std::size_t read(std::span<char> room) override {
    const la_ssize_t got = archive_read_data(archive_, room.data(), room.size());
    if (got < 0)
      fail("breaks off or is damaged");
    unpacked_ += static_cast<std::uint64_t>(got);
    if (unpacked_ > kFreeBytes && unpacked_ > kMostRatio * taken_)
      throw SourceError(fmt::format(
          "unpacks to more than {} times its size; that is no plate, reading stopped", kMostRatio));
    return static_cast<std::size_t>(got);
  }

 private:
  void find_file() {
    archive_entry* entry = nullptr;
    for (;;) {
      const int status = archive_read_next_header(archive_, &entry);
      if (status == ARCHIVE_EOF)
        throw SourceError("is a container without a file");
      if (status < ARCHIVE_WARN)
        fail("is no sound container");
      const char* path = archive_entry_pathname(entry);
      const bool folder = path != nullptr && *path != '\0' && path[std::strlen(path) - 1] == '/';
      if (!folder)
        return;
    }
  }

  [[noreturn]] void fail(const char* what) const {
    const char* reason = archive_error_string(archive_);
    throw SourceError(fmt::format("{} ({})", what, reason == nullptr ? "no reason given" : reason));
  }

  static la_ssize_t give(archive* target, void* self_pointer, const void** bytes) {
    auto& self = *static_cast<ArchiveSource*>(self_pointer);
    *bytes = self.buffer_.data();
    try {
      const std::size_t got = self.packed_->read(self.buffer_);
      self.taken_ += got;
      return static_cast<la_ssize_t>(got);
    } catch (const SourceError& error) {
      archive_set_error(target, EIO, "%s", error.what());
      return -1;
    }
  }

  std::unique_ptr<ByteSource> packed_;
  std::vector<char> buffer_;
  archive* archive_;
  std::uint64_t taken_ = 0;
  std::uint64_t unpacked_ = 0;
};

std::unique_ptr<ByteSource> open_raw(const std::string& path) {
  if (path == "-")
    return std::make_unique<FileSource>(STDIN_FILENO);
  const int descriptor = ::open(path.c_str(), O_RDONLY | O_CLOEXEC | O_NOCTTY);
  if (descriptor < 0)
    throw SourceError(fmt::format("cannot be opened: {}", std::strerror(errno)));
  auto file = std::make_unique<FileSource>(descriptor);
  struct stat status {};
  if (::fstat(descriptor, &status) == 0 && S_ISDIR(status.st_mode))
    throw SourceError("is a directory; expected a file");
  return file;
}

/// Looks at the first bytes and puts an unpacker in front where they ask for one.
std::unique_ptr<ByteSource> unpacked(std::unique_ptr<ByteSource> raw) {
  std::string head(8, '\0');
  std::size_t have = 0;
  while (have < head.size()) {
    const std::size_t got = raw->read({head.data() + have, head.size() - have});
    if (got == 0)
      break;
    have += got;
  }
  head.resize(have);
  const Container kind = recognise(head);
  auto whole = std::make_unique<PrefixedSource>(std::move(head), std::move(raw));
  if (kind == Container::none)
    return whole;
  return std::make_unique<ArchiveSource>(std::move(whole), kind);
}

}  // namespace

std::unique_ptr<ByteSource> open_path(const std::string& path) {
  return unpacked(open_raw(path));
}

std::unique_ptr<ByteSource> open_memory(std::string_view bytes) {
  return unpacked(std::make_unique<MemorySource>(bytes));
}

}  // namespace platetally::source
