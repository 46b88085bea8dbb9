#include "plan/hours/calendar.hpp"

#include <algorithm>

namespace platetally::hours {

namespace {

constexpr Seconds kFirstMonday_s = 4 * kDay_s;  // 1970-01-01 was a Thursday

Seconds week_of(Seconds at_s) {
  const Seconds since = at_s - kFirstMonday_s;
  return since >= 0 ? since / kWeek_s : -((-since + kWeek_s - 1) / kWeek_s);
}

}  // namespace

Seconds second_of_week(Seconds at_s) {
  return at_s - kFirstMonday_s - week_of(at_s) * kWeek_s;
}

Calendar::Calendar(const std::vector<Span>& attended) {
  std::vector<Span> spans;
  for (const Span& span : attended) {
    if (span.to_s <= span.from_s)
      continue;
    spans.push_back({span.from_s, std::min(span.to_s, kWeek_s)});
    if (span.to_s > kWeek_s)
      spans.push_back({0, std::min(span.to_s - kWeek_s, kWeek_s)});
  }
  std::ranges::sort(spans, {}, &Span::from_s);
  for (const Span& span : spans)
    if (!open_.empty() && span.from_s <= open_.back().to_s)
      open_.back().to_s = std::max(open_.back().to_s, span.to_s);
    else
      open_.push_back(span);
  for (const Span& span : open_)
    open_a_week_s_ += span.to_s - span.from_s;
  always_ = open_a_week_s_ == kWeek_s;
  // Sunday night that goes on into Monday is one span.
  if (!always_ && open_.size() > 1 && open_.front().from_s == 0 && open_.back().to_s == kWeek_s) {
    open_.back().to_s += open_.front().to_s;
    open_.erase(open_.begin());
  }
}

Seconds Calendar::longest_s() const {
  Seconds longest = always_ ? kWeek_s : 0;
  for (const Span& span : open_)
    longest = std::max(longest, span.to_s - span.from_s);
  return longest;
}

Seconds Calendar::shortest_s() const {
  Seconds shortest = kWeek_s;
  for (const Span& span : open_)
    shortest = std::min(shortest, span.to_s - span.from_s);
  return shortest;
}

Seconds Calendar::longest_gap_s() const {
  if (always_ || open_.empty())
    return always_ ? 0 : kWeek_s;
  Seconds longest = open_.front().from_s + kWeek_s - open_.back().to_s;
  for (std::size_t i = 1; i < open_.size(); ++i)
    longest = std::max(longest, open_[i].from_s - open_[i - 1].to_s);
  return longest;
}

Seconds Calendar::first_start(Seconds from_s, Seconds need_s) const {
  if (always_)
    return from_s;
  if (longest_s() < need_s || open_.empty())
    return -1;
  // The week before may still go on; two weeks later every span has come by.
  Seconds zero_s = kFirstMonday_s + (week_of(from_s) - 1) * kWeek_s;
  for (int week = 0; week < 4; ++week, zero_s += kWeek_s)
    for (const Span& span : open_) {
      const Seconds start_s = std::max(from_s, zero_s + span.from_s);
      if (start_s + need_s <= zero_s + span.to_s)
        return start_s;
    }
  return -1;
}

Seconds Calendar::open_since_week_zero(Seconds at_s) const {
  const Seconds week = week_of(at_s);
  const Seconds second = second_of_week(at_s);
  Seconds open_s = week * open_a_week_s_;
  for (const Span& span : open_) {
    open_s += std::clamp<Seconds>(second - span.from_s, 0, span.to_s - span.from_s);
    // What of the span before reaches into this week has been counted with that week.
    if (span.to_s > kWeek_s)
      open_s -= span.to_s - kWeek_s - std::min(second, span.to_s - kWeek_s);
  }
  return open_s;
}

Seconds Calendar::open_s(Seconds from_s, Seconds to_s) const {
  if (to_s <= from_s)
    return 0;
  return always_ ? to_s - from_s : open_since_week_zero(to_s) - open_since_week_zero(from_s);
}

Seconds Calendar::leaves_since_week_zero(Seconds at_s) const {
  const Seconds second = second_of_week(at_s);
  Seconds count = week_of(at_s) * static_cast<Seconds>(open_.size());
  for (const Span& span : open_)
    count += second > (span.to_s > kWeek_s ? span.to_s - kWeek_s : span.to_s) ? 1 : 0;
  return count;
}

Seconds Calendar::leaves(Seconds from_s, Seconds to_s) const {
  if (always_ || to_s <= from_s)
    return 0;
  return leaves_since_week_zero(to_s) - leaves_since_week_zero(from_s);
}

std::vector<Span> Calendar::closed(Seconds from_s, Seconds to_s) const {
  std::vector<Span> gaps;
  if (always_ || to_s <= from_s)
    return gaps;
  Seconds at_s = from_s;
  for (Seconds zero_s = kFirstMonday_s + (week_of(from_s) - 1) * kWeek_s; zero_s < to_s;
       zero_s += kWeek_s)
    for (const Span& span : open_) {
      if (zero_s + span.to_s <= at_s)
        continue;
      const Seconds opens_s = std::min(zero_s + span.from_s, to_s);
      if (opens_s > at_s)
        gaps.push_back({at_s, opens_s});
      at_s = std::max(at_s, std::min(zero_s + span.to_s, to_s));
    }
  if (at_s < to_s)
    gaps.push_back({at_s, to_s});
  return gaps;
}

}  // namespace platetally::hours
