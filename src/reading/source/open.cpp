// Raw files are read with read(2) into the caller's chunk; containers through archive.hpp.
#include "reading/source/open.hpp"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/stat.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <cstring>
#include <vector>

#include "base/hash.hpp"
#include "reading/source/archive.hpp"
#include "reading/source/gzip.hpp"

namespace platetally::source {

namespace {

constexpr std::size_t kHeadBytes = std::size_t{64} * 1024;
constexpr std::size_t kMostNames = 20;

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

/// One plate: the whole of what was opened.
class OnePlate : public Plates {
 public:
  explicit OnePlate(std::unique_ptr<ByteSource> bytes) : bytes_(std::move(bytes)) {}
  std::unique_ptr<ByteSource> next() override { return std::move(bytes_); }

 private:
  std::unique_ptr<ByteSource> bytes_;
};

/// The file that an archive is at; a packed stream owns its archive.
class MemberSource : public ByteSource {
 public:
  explicit MemberSource(Archive& archive) : archive_(archive) {}
  explicit MemberSource(std::unique_ptr<Archive> archive)
      : own_(std::move(archive)), archive_(*own_) {}
  std::size_t read(std::span<char> room) override { return archive_.read(room); }

 private:
  std::unique_ptr<Archive> own_;
  Archive& archive_;
};

/// Throws what an earlier attempt to read has thrown.
class BrokenSource : public ByteSource {
 public:
  explicit BrokenSource(SourceError error) : error_(std::move(error)) {}
  std::size_t read(std::span<char>) override { throw error_; }

 private:
  SourceError error_;
};

/// Looks at up to `most` bytes from the front of `source` and puts them back; what breaks there
/// breaks when it is read. Throws SourceError where not one byte can be read.
std::string look_at_head(std::unique_ptr<ByteSource>& source, std::size_t most) {
  std::string head(most, '\0');
  std::size_t have = 0;
  std::unique_ptr<ByteSource> rest = std::move(source);
  try {
    while (have < head.size()) {
      const std::size_t got = rest->read({head.data() + have, head.size() - have});
      if (got == 0)
        break;
      have += got;
    }
  } catch (const SourceError& error) {
    if (have == 0)
      throw;
    rest = std::make_unique<BrokenSource>(error);
  }
  head.resize(have);
  source = std::make_unique<PrefixedSource>(head, std::move(rest));
  return head;
}

/// Of a zip or a tar.
class ContainerPlates : public Plates {
 public:
  ContainerPlates(std::unique_ptr<ByteSource> packed, Container kind)
      : archive_(std::move(packed), kind) {}

  std::unique_ptr<ByteSource> next() override {
    while (archive_.next_file()) {
      std::unique_ptr<ByteSource> bytes = std::make_unique<MemberSource>(archive_);
      if (looks_like_plate(look_at_head(bytes, kHeadBytes))) {
        ++plates_;
        return bytes;
      }
      if (passed_over_.size() < kMostNames)
        passed_over_.push_back(archive_.name());
      else
        passed_over_.back() = "and more";
    }
    if (plates_ == 0 && passed_over_.empty())
      throw SourceError("is a container without a file");
    if (plates_ == 0)
      throw SourceError(fmt::format(
          "is a container without a plate; expected G-code text, found only files like '{}'",
          passed_over_.front()));
    return nullptr;
  }
  std::string member() const override { return archive_.name(); }
  std::vector<std::string> passed_over() const override { return passed_over_; }

 private:
  Archive archive_;
  std::size_t plates_ = 0;
  std::vector<std::string> passed_over_;
};

/// Counts what is read, and hashes it.
class CountedSource : public ByteSource {
 public:
  CountedSource(std::unique_ptr<ByteSource> source, std::shared_ptr<ReadSoFar> so_far)
      : source_(std::move(source)), so_far_(std::move(so_far)) {}
  std::size_t read(std::span<char> room) override {
    const std::size_t got = take(room);
    so_far_->bytes += got;
    return got;
  }
  /// A stream of unknown length is not read on for long: it may have no end.
  std::string hash_of_all() {
    constexpr std::size_t kMostOfStream = std::size_t{1} << 20;
    std::vector<char> rest(kChunkBytes);
    std::size_t read_on = 0;
    try {
      while (!ended_ && (so_far_->in_all > 0 || read_on < kMostOfStream))
        read_on += take(rest);
    } catch (const SourceError&) {
      return "";
    }
    return ended_ ? hash_.text() : "";
  }

 private:
  std::size_t take(std::span<char> room) {
    const std::size_t got = source_->read(room);
    ended_ = got == 0;
    hash_.add({room.data(), got});
    return got;
  }

  std::unique_ptr<ByteSource> source_;
  std::shared_ptr<ReadSoFar> so_far_;
  base::Hash hash_;
  bool ended_ = false;
};

/// A source that somebody else has as well.
class SharedSource : public ByteSource {
 public:
  explicit SharedSource(std::shared_ptr<ByteSource> source) : source_(std::move(source)) {}
  std::size_t read(std::span<char> room) override { return source_->read(room); }

 private:
  std::shared_ptr<ByteSource> source_;
};

std::unique_ptr<ByteSource> open_raw(const std::string& path, std::uint64_t& size) {
  if (path.find('\0') != std::string::npos)
    throw SourceError("cannot be opened: its name holds a zero byte");
  const bool is_input = path == "-";
  const int descriptor =
      is_input ? STDIN_FILENO : ::open(path.c_str(), O_RDONLY | O_CLOEXEC | O_NOCTTY);
  if (descriptor < 0)
    throw SourceError(fmt::format("cannot be opened: {}", std::strerror(errno)));
  auto file = std::make_unique<FileSource>(descriptor);
  struct stat status {};
  const bool known = ::fstat(descriptor, &status) == 0;
  if (known && !is_input && S_ISDIR(status.st_mode))
    throw SourceError("is a directory; expected a file");
  size = known && S_ISREG(status.st_mode) ? static_cast<std::uint64_t>(status.st_size) : 0;
  return file;
}

/// What a packed stream held: a plate, or a tar of several.
std::unique_ptr<Plates> plates_in(std::unique_ptr<ByteSource> unpacked) {
  if (recognise(look_at_head(unpacked, kMagicBytes)) == Container::tar)
    return std::make_unique<ContainerPlates>(std::move(unpacked), Container::tar);
  return std::make_unique<OnePlate>(std::move(unpacked));
}

/// Looks at the first bytes and puts an unpacker in front where they ask for one.
std::unique_ptr<Plates> plates_of(std::unique_ptr<ByteSource> raw) {
  const Container kind = recognise(look_at_head(raw, kMagicBytes));
  switch (kind) {
    case Container::none:
      return std::make_unique<OnePlate>(std::move(raw));
    case Container::zip:
    case Container::tar:
      return std::make_unique<ContainerPlates>(std::move(raw), kind);
    case Container::gzip:
      return plates_in(std::make_unique<GzipSource>(std::move(raw)));
    case Container::stream:
      break;
  }
  auto archive = std::make_unique<Archive>(std::move(raw), kind);
  if (!archive->next_file())
    throw SourceError("is a container without a file");
  return plates_in(std::make_unique<MemberSource>(std::move(archive)));
}

std::unique_ptr<Plates> counted_plates_of(std::unique_ptr<ByteSource> raw, std::uint64_t size) {
  const auto so_far = std::make_shared<ReadSoFar>(ReadSoFar{0, size});
  const auto counted = std::make_shared<CountedSource>(std::move(raw), so_far);
  std::unique_ptr<Plates> plates = plates_of(std::make_unique<SharedSource>(counted));
  plates->so_far = so_far;
  plates->hash_of_all = [counted] { return counted->hash_of_all(); };
  return plates;
}

/// Whether a line begins a command: blanks, perhaps a line number, then G, M or T and a number.
bool begins_command(std::string_view line) {
  const auto skip = [&line](std::string_view characters) {
    line.remove_prefix(std::min(line.find_first_not_of(characters), line.size()));
  };
  const std::string_view digits = "0123456789";
  skip(" \t/");
  if (line.starts_with('N') || line.starts_with('n')) {
    line.remove_prefix(1);
    skip("0123456789 \t");
  }
  if (line.empty() || std::string_view("GMTgmt").find(line.front()) == std::string_view::npos)
    return false;
  line.remove_prefix(1);
  skip(" \t-");
  return !line.empty() && digits.find(line.front()) != std::string_view::npos;
}

}  // namespace

bool looks_like_plate(std::string_view head) {
  if (head.starts_with(kByteOrderMark))
    head.remove_prefix(kByteOrderMark.size());
  if (head.find('\0') != std::string_view::npos)
    return false;
  bool only_comments = false;
  bool other = false;
  while (!head.empty()) {
    const std::string_view line = head.substr(0, head.find('\n'));
    head.remove_prefix(std::min(line.size() + 1, head.size()));
    if (begins_command(line))
      return true;
    const std::size_t first = line.find_first_not_of(" \t\r");
    if (first == std::string_view::npos)
      continue;
    if (line[first] == ';' || line[first] == '(')
      only_comments = true;
    else
      other = true;
  }
  return only_comments && !other;
}

std::unique_ptr<Plates> open_path(const std::string& path) {
  std::uint64_t size = 0;
  auto raw = open_raw(path, size);
  return counted_plates_of(std::move(raw), size);
}

std::unique_ptr<Plates> open_supply(std::unique_ptr<ByteSource> bytes) {
  return counted_plates_of(std::move(bytes), 0);
}

std::unique_ptr<Plates> open_memory(std::string_view bytes) {
  return counted_plates_of(std::make_unique<MemorySource>(bytes), bytes.size());
}

}  // namespace platetally::source
