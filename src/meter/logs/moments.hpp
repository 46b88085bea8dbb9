// Instants as people and machines write them: 2026-11-25T17:05:31Z, 25.11.2026 17:05, 11/25/2026
// 5:05:31 PM, 25 Nov 2026 17:05:31, 17:05:31.
#pragma once

#include <optional>
#include <string_view>

namespace platetally::meter {

/// Which comes first where a date is only numbers and does not begin with the year.
enum class DateOrder { day_first, month_first };

/// A date as it is written: its numbers in the order of the text.
struct WrittenDate {
  int first = 0;   ///< day or month, or the year
  int second = 0;  ///< month or day
  int third = 0;   ///< year, or the day
  bool year_first = false;
  bool named_month = false;  ///< `second` is the month beyond doubt
  char separator = '-';
};

/// Takes a date off the front of `text`, where there is one.
std::optional<WrittenDate> take_date(std::string_view& text);

/// Days since 1970; nothing for a date that does not exist.
std::optional<double> days_of(const WrittenDate& date, DateOrder order);

/// Seconds since midnight, of all of `text`: "17:05", "5:05:31.25 PM"; what counts up may go beyond
/// a day. `zone_s`: what a zone behind it ("Z", "+01:00") takes off; 0 without one or with a name
/// that says nothing.
struct ClockTime {
  double seconds = 0.0;
  double zone_s = 0.0;
  bool twelve_hours = false;
};
std::optional<ClockTime> read_clock(std::string_view text);

/// Date and clock, one behind the other: seconds since 1970. Nothing for anything else; a date
/// alone is midnight only if `date_alone`.
std::optional<double> read_moment(std::string_view text, DateOrder order, bool date_alone = false);

}  // namespace platetally::meter
