#include "output/cli/output.hpp"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <csignal>
#include <cstdlib>
#include <cstring>
#include <filesystem>

#include "output/cli/commands.hpp"

namespace platetally::cli {

namespace {

[[noreturn]] void fail(const std::string& path, int error) {
  throw RunError(fmt::format("{}: cannot be written: {}", path, std::strerror(error)));
}

/// False when the reader has gone away.
bool write_all(int fd, std::string_view text, const std::string& name) {
  while (!text.empty()) {
    const ssize_t written = ::write(fd, text.data(), text.size());
    if (written >= 0)
      text.remove_prefix(static_cast<std::size_t>(written));
    else if (errno == EPIPE)
      return false;
    else if (errno != EINTR)
      fail(name, errno);
  }
  return true;
}

/// A fresh file beside `path`; the name comes back in `name`.
int make_sibling(const std::string& path, std::string& name) {
  const std::filesystem::path folder = std::filesystem::path(path).parent_path();
  name = (folder / ".platetally-XXXXXX").string();
  const int fd = ::mkstemp(name.data());
  if (fd < 0)
    fail(path, errno);
  return fd;
}

mode_t mode_of_new_files() {
  const mode_t mask = ::umask(0);
  ::umask(mask);
  return 0666 & ~mask;
}

}  // namespace

Output::Output(const std::string& path, const std::string& input) : path_(path) {
  if (path_.empty()) {
    fd_ = STDOUT_FILENO;
    return;
  }
  struct stat status {};
  if (::stat(path_.c_str(), &status) == 0) {
    struct stat source {};
    if (::stat(input.c_str(), &source) == 0 && source.st_dev == status.st_dev &&
        source.st_ino == status.st_ino)
      throw UsageError(fmt::format("-o {}: that is the input", path_));
    if (S_ISDIR(status.st_mode))
      fail(path_, EISDIR);
    if (::access(path_.c_str(), W_OK) != 0)
      fail(path_, errno);
    mode_ = status.st_mode & 07777;
    if (!S_ISREG(status.st_mode)) {
      fd_ = ::open(path_.c_str(), O_WRONLY | O_CLOEXEC);
      if (fd_ < 0)
        fail(path_, errno);
      return;
    }
    // Through a link, so that the link stays one.
    path_ = std::filesystem::canonical(path_).string();
  } else {
    mode_ = mode_of_new_files();
  }
  // Only to see that it can be done: nothing is left behind if the work is broken off.
  std::string name;
  ::close(make_sibling(path_, name));
  ::unlink(name.c_str());
}

Output::~Output() {
  if (fd_ > STDERR_FILENO)
    ::close(fd_);
}

void Output::write(std::string_view results) {
  if (fd_ >= 0)
    write_all(fd_, results, path_.empty() ? "standard output" : path_);
  else
    replace_file([&](int fd) { write_all(fd, results, path_); });
}

void Output::write_parts(const std::function<void(const Sink&)>& work) {
  constexpr std::size_t kBlock = std::size_t{1} << 18;
  const auto fill = [&](int fd) {
    std::string block;
    const auto pass_on = [&] {
      write_all(fd, block, path_.empty() ? "standard output" : path_);
      block.clear();
    };
    work([&](std::string_view part) {
      block += part;
      if (block.size() >= kBlock)
        pass_on();
    });
    pass_on();
  };
  if (fd_ >= 0)
    fill(fd_);
  else
    replace_file(fill);
}

void Output::replace_file(const std::function<void(int fd)>& fill) {
  std::string name;
  const int fd = make_sibling(path_, name);
  try {
    fill(fd);
    if (::fchmod(fd, mode_) != 0 || ::fsync(fd) != 0)
      fail(path_, errno);
  } catch (...) {
    ::close(fd);
    ::unlink(name.c_str());
    throw;
  }
  if (::close(fd) != 0 || ::rename(name.c_str(), path_.c_str()) != 0) {
    const int error = errno;
    ::unlink(name.c_str());
    fail(path_, error);
  }
}

LineOutput::LineOutput(const std::string& path) : path_(path), fd_(STDOUT_FILENO) {
  if (path_.empty())
    return;
  fd_ = ::open((path_ + ".partial").c_str(), O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0666);
  if (fd_ < 0)
    fail(path_ + ".partial", errno);
}

LineOutput::~LineOutput() {
  if (fd_ <= STDERR_FILENO)
    return;
  // A run that was refused has said nothing, and leaves nothing.
  if (::lseek(fd_, 0, SEEK_END) == 0)
    ::unlink((path_ + ".partial").c_str());
  ::close(fd_);
}

void LineOutput::write(std::string_view line) {
  const std::string whole = std::string(line) + '\n';
  write_all(fd_, whole, path_.empty() ? "standard output" : path_);
}

void LineOutput::finish() {
  if (path_.empty())
    return;
  if (::fsync(fd_) != 0 || ::rename((path_ + ".partial").c_str(), path_.c_str()) != 0)
    fail(path_, errno);
}

void prepare_streams() {
  std::signal(SIGPIPE, SIG_IGN);
  // Read-only, so that what is written there still fails as it would on a closed stream.
  for (int fd = ::open("/dev/null", O_RDONLY); fd >= 0; fd = ::open("/dev/null", O_RDONLY))
    if (fd > STDERR_FILENO) {
      ::close(fd);
      break;
    }
}

}  // namespace platetally::cli
