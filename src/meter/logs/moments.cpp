#include "meter/logs/moments.hpp"

#include <algorithm>
#include <array>
#include <cctype>
#include <chrono>
#include <string>

#include "base/units.hpp"

namespace platetally::meter {

namespace {

bool is_digit(char c) {
  return c >= '0' && c <= '9';
}
bool is_letter(char c) {
  return std::isalpha(static_cast<unsigned char>(c)) != 0;
}

void skip_blanks(std::string_view& text) {
  while (!text.empty() && (text.front() == ' ' || text.front() == '\t'))
    text.remove_prefix(1);
}

/// As many digits as there are, at most `most`.
bool take_number(std::string_view& text, std::size_t most, int& value) {
  value = 0;
  std::size_t count = 0;
  while (count < most && !text.empty() && is_digit(text.front())) {
    value = 10 * value + (text.front() - '0');
    text.remove_prefix(1);
    ++count;
  }
  return count > 0;
}

bool take(std::string_view& text, char wanted) {
  if (text.empty() || text.front() != wanted)
    return false;
  text.remove_prefix(1);
  return true;
}

std::string take_word(std::string_view& text) {
  std::string word;
  while (!text.empty() && is_letter(text.front())) {
    word += static_cast<char>(std::tolower(static_cast<unsigned char>(text.front())));
    text.remove_prefix(1);
  }
  return word;
}

/// 1 to 12, by the first three letters; 0 for anything else.
int month_named(const std::string& word) {
  constexpr std::array<std::string_view, 12> kMonths{"jan", "feb", "mar", "apr", "may", "jun",
                                                     "jul", "aug", "sep", "oct", "nov", "dec"};
  if (word.size() < 3)
    return 0;
  const auto found = std::find(kMonths.begin(), kMonths.end(), word.substr(0, 3));
  return found == kMonths.end() ? 0 : static_cast<int>(found - kMonths.begin()) + 1;
}

/// "25 Nov 2026", or "Nov 25, 2026".
bool take_named_month(std::string_view& text, WrittenDate& date) {
  date.named_month = true;
  if (is_letter(text.front())) {
    date.second = month_named(take_word(text));
    skip_blanks(text);
    if (date.second == 0 || !take_number(text, 2, date.first))
      return false;
    take(text, ',');
  } else {
    if (!take_number(text, 2, date.first))
      return false;
    if (!take(text, '-'))
      skip_blanks(text);
    date.second = month_named(take_word(text));
    if (date.second == 0)
      return false;
    take(text, '-');
  }
  skip_blanks(text);
  return take_number(text, 4, date.third);
}

/// "2026-11-25", "25.11.2026", "11/25/26".
bool take_numbers(std::string_view& text, WrittenDate& date) {
  const std::size_t before = text.size();
  if (!take_number(text, 4, date.first) || text.empty())
    return false;
  date.year_first = before - text.size() == 4;
  date.separator = text.front();
  if (date.separator != '-' && date.separator != '/' && date.separator != '.')
    return false;
  text.remove_prefix(1);
  return take_number(text, 2, date.second) && take(text, date.separator) &&
         take_number(text, date.year_first ? 2 : 4, date.third);
}

double minutes_and_seconds(std::string_view& text, bool& sound) {
  int minutes = 0;
  sound = take_number(text, 2, minutes) && minutes < 60;
  double seconds = minutes * base::kSecondsPerMinute;
  if (!sound || !take(text, ':'))
    return seconds;
  int whole = 0;
  sound = take_number(text, 2, whole) && whole < 61;
  seconds += whole;
  if (text.empty() || (text.front() != '.' && text.front() != ','))
    return seconds;
  text.remove_prefix(1);
  double place = 0.1;
  for (int digit = 0; !text.empty() && take_number(text, 1, digit); place /= 10.0)
    seconds += digit * place;
  return seconds;
}

/// "Z", "+01:00", "+0100", " CET": seconds ahead of UTC; false for anything else.
bool take_zone(std::string_view& text, double& zone_s) {
  skip_blanks(text);
  if (text.empty())
    return true;
  if (text.front() == '+' || text.front() == '-') {
    const double sign = text.front() == '-' ? -1.0 : 1.0;
    text.remove_prefix(1);
    int hours = 0;
    int minutes = 0;
    if (!take_number(text, 2, hours))
      return false;
    take(text, ':');
    if (!text.empty() && !take_number(text, 2, minutes))
      return false;
    zone_s = sign * (hours * base::kSecondsPerHour + minutes * base::kSecondsPerMinute);
    return text.empty();
  }
  constexpr std::size_t kLongestZone = 5;
  const std::string name = take_word(text);
  return !name.empty() && name.size() <= kLongestZone && text.empty();
}

}  // namespace

std::optional<WrittenDate> take_date(std::string_view& text) {
  WrittenDate date;
  if (text.empty())
    return std::nullopt;
  for (const auto& form : {&take_numbers, &take_named_month}) {
    std::string_view rest = text;
    date = {};
    if (!form(rest, date))
      continue;
    text = rest;
    return date;
  }
  return std::nullopt;
}

std::optional<double> days_of(const WrittenDate& date, DateOrder order) {
  int year = date.year_first ? date.first : date.third;
  int month = date.second;
  int day = date.year_first ? date.third : date.first;
  if (!date.year_first && !date.named_month && order == DateOrder::month_first)
    std::swap(month, day);
  if (year < 100)
    year += 2000;
  const std::chrono::year_month_day when{std::chrono::year(year),
                                         std::chrono::month(static_cast<unsigned>(month)),
                                         std::chrono::day(static_cast<unsigned>(day))};
  if (!when.ok() || year < 1970)
    return std::nullopt;
  return static_cast<double>(std::chrono::sys_days(when).time_since_epoch().count());
}

std::optional<ClockTime> read_clock(std::string_view text) {
  ClockTime time;
  skip_blanks(text);
  int hours = 0;
  bool sound = false;
  if (!take_number(text, 4, hours) || !take(text, ':'))
    return std::nullopt;
  time.seconds = minutes_and_seconds(text, sound);
  if (!sound)
    return std::nullopt;
  skip_blanks(text);
  std::string_view rest = text;
  const std::string word = take_word(rest);
  if (word == "am" || word == "pm" || word == "a" || word == "p") {
    take(rest, '.');
    take_word(rest);  // the m of "p.m."
    take(rest, '.');
    if (hours < 1 || hours > 12)
      return std::nullopt;
    hours = hours % 12 + (word.front() == 'p' ? 12 : 0);
    time.twelve_hours = true;
    text = rest;
  }
  time.seconds += hours * base::kSecondsPerHour;
  if (!take_zone(text, time.zone_s))
    return std::nullopt;
  return time;
}

std::optional<double> read_moment(std::string_view text, DateOrder order, bool date_alone) {
  const std::optional<WrittenDate> date = take_date(text);
  if (!date)
    return std::nullopt;
  const std::optional<double> days = days_of(*date, order);
  if (!days)
    return std::nullopt;
  if (text.empty())
    return date_alone ? std::optional(*days * base::kSecondsPerDay) : std::nullopt;
  if (text.front() == 'T' || text.front() == 't' || text.front() == ',' || text.front() == '_')
    text.remove_prefix(1);
  else if (text.front() != ' ' && text.front() != '\t')
    return std::nullopt;
  const std::optional<ClockTime> clock = read_clock(text);
  if (!clock || clock->seconds > base::kSecondsPerDay)
    return std::nullopt;
  return *days * base::kSecondsPerDay + clock->seconds - clock->zone_s;
}

}  // namespace platetally::meter
