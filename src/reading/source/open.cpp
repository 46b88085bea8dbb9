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

#include "reading/source/archive.hpp"

namespace platetally::source {

namespace {

constexpr std::size_t kMagicBytes = 8;
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

/// Up to `most` bytes from the front of `source`.
std::string read_head(ByteSource& source, std::size_t most) {
  std::string head(most, '\0');
  std::size_t have = 0;
  while (have < head.size()) {
    const std::size_t got = source.read({head.data() + have, head.size() - have});
    if (got == 0)
      break;
    have += got;
  }
  head.resize(have);
  return head;
}

class ZipPlates : public Plates {
 public:
  explicit ZipPlates(std::unique_ptr<ByteSource> packed)
      : archive_(std::move(packed), Container::zip) {}

  std::unique_ptr<ByteSource> next() override {
    while (archive_.next_file()) {
      auto bytes = std::make_unique<MemberSource>(archive_);
      std::string head = read_head(*bytes, kHeadBytes);
      if (looks_like_plate(head)) {
        ++plates_;
        return std::make_unique<PrefixedSource>(std::move(head), std::move(bytes));
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
std::unique_ptr<Plates> plates_of(std::unique_ptr<ByteSource> raw) {
  std::string head = read_head(*raw, kMagicBytes);
  const Container kind = recognise(head);
  auto whole = std::make_unique<PrefixedSource>(std::move(head), std::move(raw));
  if (kind == Container::none)
    return std::make_unique<OnePlate>(std::move(whole));
  if (kind == Container::zip)
    return std::make_unique<ZipPlates>(std::move(whole));
  auto archive = std::make_unique<Archive>(std::move(whole), kind);
  if (!archive->next_file())
    throw SourceError("is a container without a file");
  return std::make_unique<OnePlate>(std::make_unique<MemberSource>(std::move(archive)));
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
  return plates_of(open_raw(path));
}

std::unique_ptr<Plates> open_memory(std::string_view bytes) {
  return plates_of(std::make_unique<MemorySource>(bytes));
}

}  // namespace platetally::source
