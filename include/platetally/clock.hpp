/// @file
/// When a plate is done, by the wall clock.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

namespace platetally {

struct Account;
struct Prices;

/// A minute of the calendar, in the user's own time; without time zones and their changes.
struct WallTime {
  std::int64_t minutes = 0;  ///< since 1970-01-01 00:00
  /// Hours since midnight.
  double hour() const;
  /// "2026-12-01 18:30"
  std::string text() const;
};

/// "2026-12-01T18:30", also with a blank between and with seconds, which are left out. Nothing for
/// anything else.
std::optional<WallTime> parse_wall_time(std::string_view text);

/// When things come; a minute each.
struct Clock {
  std::string start;                   ///< as asked for
  std::string first_layer;             ///< when it begins
  std::string done;                    ///< as expected
  std::string done_early;              ///< by the low end of the time
  std::string done_late;               ///< by the high end
  std::optional<double> unattended_s;  ///< outside Prices::attended; absent without it
  /// Of Account::stops, those outside Prices::attended; absent without it.
  std::optional<std::uint64_t> stops_unattended;
  /// When it is done if every stop waits until somebody is there; empty without attended hours or
  /// stops, and where not all stops are listed.
  std::string done_attended;
};

/// Puts the clock into the account and its stops; stops that nobody attends become a reason of the
/// verdict. With prices, energy is priced by the hours in which it falls.
/// Before add_prices, which looks at Prices::start_hour.
void add_clock(Account& account, const WallTime& start, Prices* prices);

}  // namespace platetally
