#include "output/cli/clock.hpp"

#include <fmt/format.h>

#include <chrono>
#include <cmath>

namespace platetally::cli {

double now_exact_s() {
  return std::chrono::duration<double>(std::chrono::system_clock::now().time_since_epoch()).count();
}

std::int64_t now_s() {
  return static_cast<std::int64_t>(std::floor(now_exact_s()));
}

std::string utc_date(double epoch_s) {
  const auto moment = std::chrono::sys_seconds(
      std::chrono::seconds(static_cast<std::int64_t>(std::floor(epoch_s))));
  const std::chrono::year_month_day date(std::chrono::floor<std::chrono::days>(moment));
  return fmt::format("{:04}-{:02}-{:02}", static_cast<int>(date.year()),
                     static_cast<unsigned>(date.month()), static_cast<unsigned>(date.day()));
}

std::string utc_moment(double epoch_s) {
  constexpr std::int64_t kDay_s = 86'400;
  const auto whole_s = static_cast<std::int64_t>(std::floor(epoch_s));
  const std::int64_t in_day_s = (whole_s % kDay_s + kDay_s) % kDay_s;
  return fmt::format("{}T{:02}:{:02}:{:02}Z", utc_date(epoch_s), in_day_s / 3600,
                     in_day_s / 60 % 60, in_day_s % 60);
}

}  // namespace platetally::cli
