// The hours of the week in which somebody is there. Times are whole seconds since 1970-01-01 0:00
// of the workshop's own clock, which keeps no summer time.
#pragma once

#include <cstdint>
#include <vector>

#include "base/units.hpp"

namespace platetally::hours {

/// Seconds, and a moment or a span in them.
using Seconds = std::int64_t;

inline constexpr auto kDay_s = static_cast<Seconds>(base::kSecondsPerDay);
inline constexpr Seconds kWeek_s = 7 * kDay_s;

/// From one moment to another.
struct Span {
  Seconds from_s = 0;
  Seconds to_s = 0;
  bool operator==(const Span&) const = default;
};

class Calendar {
 public:
  /// Spans of the week, from Monday 0:00; one that ends behind the week goes on in its first hours.
  explicit Calendar(const std::vector<Span>& attended);

  bool is_never() const { return open_.empty(); }
  bool is_always() const { return always_; }
  /// The longest that somebody stays; a week where somebody always does.
  Seconds longest_s() const;
  /// The shortest.
  Seconds shortest_s() const;
  /// The longest that nobody is there.
  Seconds longest_gap_s() const;

  /// The first moment from `from_s` on from which somebody is there for `need_s`; -1 if that never
  /// happens.
  Seconds first_start(Seconds from_s, Seconds need_s) const;
  /// How long somebody is there between two moments.
  Seconds open_s(Seconds from_s, Seconds to_s) const;
  /// How often somebody leaves between two moments.
  Seconds leaves(Seconds from_s, Seconds to_s) const;
  /// The spans between two moments in which nobody is there.
  std::vector<Span> closed(Seconds from_s, Seconds to_s) const;

 private:
  Seconds open_since_week_zero(Seconds at_s) const;
  Seconds leaves_since_week_zero(Seconds at_s) const;

  std::vector<Span> open_;  ///< of a week, in order, apart; the last may end behind the week
  Seconds open_a_week_s_ = 0;
  bool always_ = false;
};

/// Seconds since Monday 0:00.
Seconds second_of_week(Seconds at_s);

}  // namespace platetally::hours
