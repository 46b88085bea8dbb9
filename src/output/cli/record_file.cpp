#include "output/cli/record_file.hpp"

#include <fcntl.h>
#include <fmt/format.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cmath>
#include <cstring>

#include "base/units.hpp"
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

void RecordFile::leave_out(double value) {
  ++left_out_;
  mark(fmt::format("{} was left out: more than any plug carries", value));
}

/// Watts since the last sample; nothing for the first, and where the counter jumps. What is as far
/// from the last value as from the next one is a slip; where the next one agrees with it, the
/// counter has another beginning.
std::optional<double> RecordFile::watts_of_counter(double value, double step_s) {
  const auto watts_since = [&](double earlier_wh) {
    return (value - earlier_wh) * base::kJoulesPerWattHour / step_s;
  };
  const auto fits = [&](double w) { return w >= 0.0 && w <= kMost_w; };
  const double w = watts_since(last_counter_wh_);
  if (fits(w)) {
    sum_wh_ += value - last_counter_wh_;
    last_counter_wh_ = value;
    other_counter_wh_.reset();
    return w;
  }
  if (w < 0.0 || (other_counter_wh_ && fits(watts_since(*other_counter_wh_)))) {
    mark("the counter begins anew");
    last_counter_wh_ = value;
    other_counter_wh_.reset();
    return std::nullopt;
  }
  other_counter_wh_ = value;
  leave_out(value);
  return std::nullopt;
}

/// The last sample's watts hold until now. A single one that towers above both its neighbours is a
/// slip of the plug, and counts as the higher of them; motors and heaters that start stay below.
void RecordFile::add_watts(double w, double step_s) {
  constexpr double kTowers = 10.0;
  constexpr double kNeverASlip_w = 1000.0;
  const double neighbour_w = std::max({earlier_w_, w, 0.0});
  const bool slip = last_w_ > std::max(kTowers * neighbour_w, kNeverASlip_w);
  sum_wh_ += base::wh_from_j((slip ? neighbour_w : last_w_) * step_s);
}

std::optional<double> RecordFile::take(double value, double now_s) {
  if (!is_wh_ && std::abs(value) > kMost_w) {
    leave_out(value);
    return std::nullopt;
  }
  const bool first = last_s_ < 0.0;
  const double step_s = first ? 0.0 : now_s - last_s_;
  if (step_s < 0.0)
    mark(fmt::format("the clock was set back by {:.1f} s", -step_s));
  const bool gap = step_s > gap_s_;
  if (gap) {
    ++gaps_;
    mark(fmt::format("gap of {:.1f} s", step_s));
  }
  double w = value;
  if (is_wh_) {
    if (first || step_s <= 0.0) {
      last_counter_wh_ = value;
      last_s_ = now_s;
      return std::nullopt;
    }
    const std::optional<double> since = watts_of_counter(value, step_s);
    if (!since) {
      if (!other_counter_wh_)
        last_s_ = now_s;
      return std::nullopt;
    }
    w = *since;
  } else {
    if (step_s > 0.0 && !gap)
      add_watts(w, step_s);
    earlier_w_ = last_w_;
    last_w_ = value;
  }
  last_s_ = now_s;
  write(fmt::format("{},{:.3f},{:.3f},{:.4f}", utc_moment(now_s), now_s, w, sum_wh_));
  ++samples_;
  return w;
}

}  // namespace platetally::cli
