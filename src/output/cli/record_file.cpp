#include "output/cli/record_file.hpp"

#include <fcntl.h>
#include <fmt/format.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>

#include "output/cli/clock.hpp"
#include "output/cli/commands.hpp"

namespace platetally::cli {

RecordFile::RecordFile(const std::string& path, bool is_wh, double gap_s)
    : path_(path), is_wh_(is_wh), gap_s_(gap_s) {
  fd_ = ::open(path.c_str(), O_WRONLY | O_CREAT | O_APPEND | O_CLOEXEC, 0666);
  if (fd_ < 0)
    throw RunError(fmt::format("{}: cannot be written: {}", path, std::strerror(errno)));
  if (::lseek(fd_, 0, SEEK_END) == 0)
    write("utc,epoch seconds,watts,cumulative wh");
  else
    mark("recording begins again");
}

RecordFile::~RecordFile() {
  if (fd_ >= 0)
    ::close(fd_);
}

void RecordFile::write(const std::string& line) {
  const std::string whole = line + '\n';
  // One call a line: a line is there as a whole or not at all.
  if (::write(fd_, whole.data(), whole.size()) != static_cast<ssize_t>(whole.size()))
    throw RunError(fmt::format("{}: cannot be written: {}", path_, std::strerror(errno)));
}

void RecordFile::mark(std::string_view what) {
  std::string text(what);
  for (char& c : text)
    if (static_cast<unsigned char>(c) < 0x20)
      c = ' ';
  write(fmt::format("# {} {}", utc_moment(now_exact_s()), text));
}

std::optional<double> RecordFile::take(double value) {
  const double now_s = now_exact_s();
  const double step_s = last_s_ >= 0.0 ? now_s - last_s_ : 0.0;
  if (step_s < 0.0)
    mark(fmt::format("the clock was set back by {:.1f} s", -step_s));
  const bool gap = step_s > gap_s_;
  if (gap) {
    ++gaps_;
    mark(fmt::format("gap of {:.1f} s", step_s));
  }
  double w = value;
  if (is_wh_) {
    const double wh = value - last_counter_wh_;
    const bool first = last_s_ < 0.0;
    last_counter_wh_ = value;
    last_s_ = now_s;
    if (first || step_s <= 0.0)
      return std::nullopt;
    if (wh < 0.0) {
      mark("the counter begins anew");
      return std::nullopt;
    }
    w = wh * 3600.0 / step_s;
    sum_wh_ += wh;
  } else {
    if (step_s > 0.0 && !gap)
      sum_wh_ += last_w_ * step_s / 3600.0;
    last_w_ = value;
    last_s_ = now_s;
  }
  write(fmt::format("{},{:.3f},{:.3f},{:.4f}", utc_moment(now_s), now_s, w, sum_wh_));
  ++samples_;
  return w;
}

}  // namespace platetally::cli
