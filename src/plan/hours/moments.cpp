#include "plan/hours/moments.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <chrono>

#include "base/letters.hpp"
#include "base/units.hpp"
#include "plan/hours/calendar.hpp"

namespace platetally {

namespace {

constexpr auto kMinute_s = static_cast<std::int64_t>(base::kSecondsPerMinute);
constexpr auto kHour_s = static_cast<std::int64_t>(base::kSecondsPerHour);

/// Reads from the front of a text.
class Front {
 public:
  explicit Front(std::string_view text) : text_(text) {}

  /// A whole number of `least` to `most` digits.
  std::optional<int> digits(std::size_t least, std::size_t most) {
    std::size_t many = 0;
    while (many < std::min(most, text_.size()) && base::is_digit(text_[many]))
      ++many;
    if (many < least)
      return std::nullopt;
    int value = 0;
    std::from_chars(text_.data(), text_.data() + many, value);
    text_.remove_prefix(many);
    return value;
  }
  bool takes(char c) {
    if (text_.empty() || text_.front() != c)
      return false;
    text_.remove_prefix(1);
    return true;
  }
  bool is_at_end() const { return text_.empty(); }

 private:
  std::string_view text_;
};

/// Seconds of a day from "7:30" or "07:30".
std::optional<std::int64_t> clock_time(Front& front, int last_hour) {
  const auto hour = front.digits(1, 2);
  if (!hour || !front.takes(':'))
    return std::nullopt;
  const auto minute = front.digits(2, 2);
  if (!minute || *hour > last_hour || *minute > 59 || (*hour == 24 && *minute > 0))
    return std::nullopt;
  return *hour * kHour_s + *minute * kMinute_s;
}

/// A day of the week from its first three letters; -1: none.
int day_of(std::string_view word) {
  constexpr std::array<std::string_view, 7> kDays{"mon", "tue", "wed", "thu", "fri", "sat", "sun"};
  for (std::size_t day = 0; day < kDays.size(); ++day)
    if (std::ranges::equal(word, kDays[day], [](char a, char b) { return base::lower(a) == b; }))
      return static_cast<int>(day);
  return -1;
}

}  // namespace

std::optional<std::int64_t> parse_moment(std::string_view text) {
  Front front(text);
  const auto year = front.digits(4, 4);
  const bool first = front.takes('-');
  const auto month = front.digits(2, 2);
  const bool second = front.takes('-');
  const auto day = front.digits(2, 2);
  if (!year || !first || !month || !second || !day || *year < 1970)
    return std::nullopt;
  const std::chrono::year_month_day date{std::chrono::year(*year),
                                         std::chrono::month(static_cast<unsigned>(*month)),
                                         std::chrono::day(static_cast<unsigned>(*day))};
  if (!date.ok() || !(front.takes(' ') || front.takes('T')))
    return std::nullopt;
  const auto time_s = clock_time(front, 23);
  int second_s = 0;
  if (front.takes(':')) {
    const auto seconds = front.digits(2, 2);
    if (!seconds || *seconds > 59)
      return std::nullopt;
    second_s = *seconds;
  }
  if (!time_s || !front.is_at_end())
    return std::nullopt;
  return std::chrono::sys_days(date).time_since_epoch().count() * hours::kDay_s + *time_s +
         second_s;
}

std::string moment_text(std::int64_t moment_s) {
  const std::int64_t days =
      moment_s >= 0 ? moment_s / hours::kDay_s : -((-moment_s + hours::kDay_s - 1) / hours::kDay_s);
  const std::chrono::year_month_day date{std::chrono::sys_days(std::chrono::days(days))};
  const std::int64_t rest_s = moment_s - days * hours::kDay_s;
  return fmt::format("{:04}-{:02}-{:02} {:02}:{:02}", static_cast<int>(date.year()),
                     static_cast<unsigned>(date.month()), static_cast<unsigned>(date.day()),
                     rest_s / kHour_s, rest_s % kHour_s / kMinute_s);
}

std::optional<std::vector<WeekSpan>> hours::parse_hours(std::string_view text) {
  if (text == "always")
    return std::vector<WeekSpan>{{0, hours::kWeek_s}};
  const std::size_t blank = text.find(' ');
  if (blank == std::string_view::npos)
    return std::nullopt;
  const std::string_view days = text.substr(0, blank);
  const std::size_t dash = days.find('-');
  const int first = day_of(days.substr(0, dash));
  const int last = dash == std::string_view::npos ? first : day_of(days.substr(dash + 1));
  Front front(text.substr(blank + 1));
  const auto from_s = clock_time(front, 23);
  const bool to = front.takes('-');
  const auto to_s = clock_time(front, 24);
  if (first < 0 || last < 0 || !from_s || !to || !to_s || !front.is_at_end() || *from_s == *to_s)
    return std::nullopt;
  const std::int64_t long_s = *to_s > *from_s ? *to_s - *from_s : *to_s + hours::kDay_s - *from_s;
  std::vector<WeekSpan> spans;
  for (int day = first;; day = (day + 1) % 7) {
    const std::int64_t start_s = day * hours::kDay_s + *from_s;
    spans.push_back({start_s, start_s + long_s});
    if (day == last)
      return spans;
  }
}

}  // namespace platetally
