// Wall time without zones: what is asked is when to be there. A plate that runs over a change of
// the clocks is off by that hour.
#include "platetally/clock.hpp"

#include <fmt/chrono.h>
#include <fmt/format.h>

#include <algorithm>
#include <chrono>
#include <cmath>

#include "base/units.hpp"
#include "platetally/account.hpp"
#include "platetally/prices.hpp"

namespace platetally {

namespace {

constexpr auto kMinutesPerHour = static_cast<std::int64_t>(base::kMinutesPerHour);
constexpr std::int64_t kMinutesPerDay = 24 * kMinutesPerHour;
constexpr std::int64_t kMostMinutes = 366 * kMinutesPerDay;  // that are gone through

/// Digits of `text` from `at` on, `count` of them; -1 if they are not all digits.
int digits(std::string_view text, std::size_t at, std::size_t count) {
  int value = 0;
  for (const char c : text.substr(at, count)) {
    if (c < '0' || c > '9')
      return -1;
    value = 10 * value + (c - '0');
  }
  return value;
}

std::int64_t floor_div(std::int64_t a, std::int64_t b) {
  return a / b - (a % b < 0 ? 1 : 0);
}

WallTime later(const WallTime& time, double by_s) {
  return {time.minutes + std::llround(base::min_from_s(by_s))};
}

bool is_attended(const AttendedHours& hours, double hour) {
  return hours.from_h <= hours.to_h ? hour >= hours.from_h && hour < hours.to_h
                                    : hour >= hours.from_h || hour < hours.to_h;
}

/// Minute by minute; a print of a year is half a million of them.
double unattended_s(const WallTime& start, double time_s, const AttendedHours& attended) {
  const auto whole =
      std::llround(std::min(base::min_from_s(time_s), static_cast<double>(kMostMinutes)));
  double minutes = 0.0;
  for (std::int64_t i = 0; i < whole; ++i)
    minutes += is_attended(attended, WallTime{start.minutes + i}.hour()) ? 0.0 : 1.0;
  return base::kSecondsPerMinute * minutes;
}

/// Minutes until somebody is there; 0 while somebody is. Nothing where nobody ever is.
std::optional<std::int64_t> until_attended(const WallTime& time, const AttendedHours& attended) {
  for (std::int64_t i = 0; i <= kMinutesPerDay; ++i)
    if (is_attended(attended, WallTime{time.minutes + i}.hour()))
      return i;
  return std::nullopt;
}

/// Gives every stop its minute. Returns by how many minutes the plate is late where each waits
/// until somebody is there, and with it what comes behind; nothing where that never ends.
std::optional<std::int64_t> time_stops(const WallTime& start, const AttendedHours* attended,
                                       std::vector<Stop>& stops) {
  std::optional<std::int64_t> late = 0;
  for (Stop& stop : stops) {
    const WallTime at = later(start, stop.after.expected);
    stop.at = at.text();
    stop.at_early = later(start, stop.after.low).text();
    stop.at_late = later(start, stop.after.high).text();
    if (attended == nullptr)
      continue;
    stop.unattended = !is_attended(*attended, at.hour());
    const auto waits =
        late ? until_attended({at.minutes + *late}, *attended) : std::optional<std::int64_t>();
    late = waits ? std::optional(*late + *waits) : std::nullopt;
  }
  return late;
}

/// Stops that nobody attends speak against printing the plate as it is.
void judge_stops(Account& account) {
  const Clock& clock = *account.clock;
  if (!clock.stops_unattended || *clock.stops_unattended == 0)
    return;
  VerdictReason reason{"stops-unattended", Grade::look,
                       fmt::format("{} of {} {} in hours with nobody there, the first at {}",
                                   *clock.stops_unattended, account.stops.size(),
                                   account.totals.manual_changes > 0 ? "stops come" : "pauses come",
                                   std::ranges::find_if(account.stops, [](const Stop& stop) {
                                     return stop.unattended.value_or(false);
                                   })->at)};
  Verdict& verdict = account.verdict;
  const auto place = std::ranges::find_if(
      verdict.reasons, [](const VerdictReason& other) { return other.grade < Grade::look; });
  verdict.reasons.insert(place, std::move(reason));
  verdict.grade = verdict.reasons.front().grade;
}

}  // namespace

double WallTime::hour() const {
  const std::int64_t of_day = minutes - floor_div(minutes, kMinutesPerDay) * kMinutesPerDay;
  return static_cast<double>(of_day) / static_cast<double>(kMinutesPerHour);
}

std::string WallTime::text() const {
  const std::int64_t days = floor_div(minutes, kMinutesPerDay);
  const std::int64_t of_day = minutes - days * kMinutesPerDay;
  const std::chrono::year_month_day date{std::chrono::sys_days{std::chrono::days{days}}};
  return fmt::format("{:04}-{:02}-{:02} {:02}:{:02}", static_cast<int>(date.year()),
                     static_cast<unsigned>(date.month()), static_cast<unsigned>(date.day()),
                     of_day / kMinutesPerHour, of_day % kMinutesPerHour);
}

std::optional<WallTime> parse_wall_time(std::string_view text) {
  constexpr std::string_view kForm = "YYYY-MM-DDTHH:MM";
  const bool has_seconds = text.size() == kForm.size() + 3 && text[kForm.size()] == ':' &&
                           digits(text, kForm.size() + 1, 2) >= 0;
  if ((text.size() != kForm.size() && !has_seconds) || text[4] != '-' || text[7] != '-' ||
      (text[10] != 'T' && text[10] != ' ') || text[13] != ':')
    return std::nullopt;
  const int year = digits(text, 0, 4), month = digits(text, 5, 2), day = digits(text, 8, 2);
  const int hour = digits(text, 11, 2), minute = digits(text, 14, 2);
  if (year < 1 || month < 1 || day < 1 || hour < 0 || hour > 23 || minute < 0 || minute > 59)
    return std::nullopt;
  const std::chrono::year_month_day date{std::chrono::year(year),
                                         std::chrono::month(static_cast<unsigned>(month)),
                                         std::chrono::day(static_cast<unsigned>(day))};
  if (!date.ok())
    return std::nullopt;
  const std::int64_t days = std::chrono::sys_days(date).time_since_epoch().count();
  return WallTime{days * kMinutesPerDay + hour * kMinutesPerHour + minute};
}

void add_clock(Account& account, const WallTime& start, Prices* prices) {
  const Range& time = account.totals.time;
  Clock clock;
  clock.start = start.text();
  account.made_from.set("start", clock.start);
  const auto first = std::ranges::find_if(
      account.layers, [](const LayerAccount& layer) { return layer.index > 0; });
  clock.first_layer = later(start, first == account.layers.end() ? 0.0 : first->start_s).text();
  clock.done = later(start, time.expected).text();
  clock.done_early = later(start, time.low).text();
  clock.done_late = later(start, time.high).text();
  if (prices != nullptr) {
    prices->start_hour = start.hour();
    if (prices->attended)
      clock.unattended_s = unattended_s(start, time.expected, *prices->attended);
  }
  const AttendedHours* attended =
      prices != nullptr && prices->attended ? &*prices->attended : nullptr;
  const std::optional<std::int64_t> late = time_stops(start, attended, account.stops);
  if (attended != nullptr) {
    clock.stops_unattended = static_cast<std::uint64_t>(std::ranges::count_if(
        account.stops, [](const Stop& stop) { return stop.unattended.value_or(false); }));
    const std::uint64_t in_all = account.totals.pauses + account.totals.manual_changes;
    if (late && in_all > 0 && in_all == account.stops.size())
      clock.done_attended = WallTime{later(start, time.expected).minutes + *late}.text();
  }
  account.clock = std::move(clock);
  judge_stops(account);
}

}  // namespace platetally
