#include "output/cli/clock.hpp"

#include <fmt/chrono.h>

#include <chrono>
#include <cmath>

namespace platetally::cli {

namespace {

std::chrono::sys_seconds moment_of(double epoch_s) {
  return std::chrono::sys_seconds(
      std::chrono::seconds(static_cast<std::int64_t>(std::floor(epoch_s))));
}

}  // namespace

double now_exact_s() {
  return std::chrono::duration<double>(std::chrono::system_clock::now().time_since_epoch()).count();
}

std::int64_t now_s() {
  return static_cast<std::int64_t>(std::floor(now_exact_s()));
}

std::string utc_date(double epoch_s) {
  return fmt::format("{:%Y-%m-%d}", moment_of(epoch_s));
}

std::string utc_moment(double epoch_s) {
  return fmt::format("{:%Y-%m-%dT%H:%M:%SZ}", moment_of(epoch_s));
}

}  // namespace platetally::cli
