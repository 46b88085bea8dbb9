// Attended hours against a walk minute by minute; moments against dates that anybody can look up.
#include <gtest/gtest.h>

#include <algorithm>
#include <vector>

#include "plan/hours/calendar.hpp"
#include "plan/hours/moments.hpp"

namespace platetally::hours {
namespace {

constexpr Seconds kMinute = 60;
constexpr Seconds kHour = 3600;

std::vector<Span> spans_of(const std::vector<const char*>& texts) {
  std::vector<Span> spans;
  for (const char* text : texts) {
    const auto parsed = parse_hours(text);
    EXPECT_TRUE(parsed.has_value()) << text;
    for (const WeekSpan& span : parsed.value_or(std::vector<WeekSpan>{}))
      spans.push_back({span.from_s, span.to_s});
  }
  return spans;
}

bool is_in(const std::vector<Span>& spans, Seconds at_s) {
  const Seconds second = second_of_week(at_s);
  for (const Span& span : spans)
    if ((second >= span.from_s && second < span.to_s) ||
        (second + kWeek_s >= span.from_s && second + kWeek_s < span.to_s))
      return true;
  return false;
}

const std::vector<std::vector<const char*>> kWeeks{{"mon-fri 08:00-17:00", "sat 09:00-12:00"},
                                                   {"sun 22:00-06:00", "wed 00:00-24:00"},
                                                   {"sat-mon 20:00-04:30"},
                                                   {"mon-sun 07:00-12:00", "mon-sun 11:30-13:00"},
                                                   {"always"}};

TEST(Calendar, CountsAsAWalkMinuteByMinuteDoes) {
  const Seconds monday = *parse_moment("2026-05-04 00:00");
  for (const auto& week : kWeeks) {
    const std::vector<Span> spans = spans_of(week);
    const Calendar calendar(spans);
    for (const Seconds from_s :
         {monday - 3 * kHour, monday + 30 * kHour, monday + 6 * kDay_s + 23 * kHour}) {
      Seconds open_s = 0;
      Seconds leaves = 0;
      for (Seconds at_s = from_s; at_s < from_s + 9 * kDay_s; at_s += 30 * kMinute) {
        EXPECT_EQ(calendar.open_s(from_s, at_s), open_s) << week[0];
        EXPECT_EQ(calendar.leaves(from_s, at_s), leaves) << week[0] << " " << moment_text(at_s);
        Seconds closed_s = 0;
        for (const Span& gap : calendar.closed(from_s, at_s))
          closed_s += gap.to_s - gap.from_s;
        EXPECT_EQ(closed_s, at_s - from_s - open_s);
        const bool is_open = is_in(spans, at_s);
        open_s += is_open ? 30 * kMinute : 0;
        // Somebody has left once the first half hour without anybody has begun.
        leaves += !is_open && is_in(spans, at_s - 30 * kMinute) && at_s > from_s ? 1 : 0;
      }
    }
  }
}

TEST(Calendar, TheFirstStartIsTheFirstThatFits) {
  const Seconds monday = *parse_moment("2026-05-04 00:00");
  for (const auto& week : kWeeks) {
    const std::vector<Span> spans = spans_of(week);
    const Calendar calendar(spans);
    for (Seconds from_s = monday; from_s < monday + kWeek_s; from_s += 7 * kHour + 30 * kMinute)
      for (const Seconds need_s : {Seconds{0}, 30 * kMinute, 2 * kHour, 3 * kHour}) {
        Seconds slow_s = from_s;
        const auto fits = [&] {
          for (Seconds at_s = slow_s; at_s < slow_s + std::max(need_s, kMinute);
               at_s += 30 * kMinute)
            if (!is_in(spans, at_s))
              return false;
          return true;
        };
        while (!fits() && slow_s < from_s + 2 * kWeek_s)
          slow_s += 30 * kMinute;
        const Seconds start_s = calendar.first_start(from_s, need_s);
        // An empty need fits at the very end of a span too.
        if (need_s > 0) {
          EXPECT_EQ(start_s, slow_s) << week[0] << " from " << moment_text(from_s);
        }
        EXPECT_GE(start_s, from_s);
      }
  }
  EXPECT_EQ(Calendar(spans_of({"mon 08:00-09:00"})).first_start(monday, 2 * kHour), -1);
  EXPECT_TRUE(Calendar({}).is_never());
  EXPECT_EQ(Calendar(spans_of({"sun 22:00-06:00"})).longest_s(), 8 * kHour);
  EXPECT_EQ(Calendar(spans_of({"mon-fri 08:00-17:00"})).longest_gap_s(), 63 * kHour);
}

TEST(Moments, ReadAndWrittenBack) {
  EXPECT_EQ(parse_moment("1970-01-01 00:00"), 0);
  EXPECT_EQ(parse_moment("2000-03-01T12:34:56"), 951914096);  // 951868800 at 0:00, as date -u says
  EXPECT_EQ(second_of_week(*parse_moment("2026-05-04 00:00")), 0);  // a Monday
  for (const char* text : {"2026-02-28 23:59", "2028-02-29 00:00", "1999-12-31 07:05"})
    EXPECT_EQ(moment_text(*parse_moment(text)), text);
  for (const char* text :
       {"", "2026-05-04", "2026-5-4 07:30", "2026-02-29 07:30", "2026-05-04 24:00",
        "2026-05-04 07:60", "2026-05-04 07:30 ", "2026-05-04 07:30:61", "1969-12-31 00:00",
        "26-05-04 07:30", "2026-13-01 07:30", "2026-05-04x07:30"})
    EXPECT_FALSE(parse_moment(text).has_value()) << text;
}

TEST(Moments, HoursOfTheWeek) {
  const auto one = parse_hours("tue 7:30-16:00");
  ASSERT_TRUE(one.has_value());
  ASSERT_EQ(one->size(), 1U);
  EXPECT_EQ(one->front().from_s, kDay_s + 7 * kHour + 30 * kMinute);
  EXPECT_EQ(one->front().to_s, kDay_s + 16 * kHour);
  EXPECT_EQ(parse_hours("Sat-Mon 08:00-09:00")->size(), 3U);
  EXPECT_EQ(parse_hours("sun 22:00-06:00")->front().to_s, kWeek_s + 6 * kHour);
  for (const char* text : {"", "mon", "mon 8-9", "xyz 08:00-09:00", "mon-xyz 08:00-09:00",
                           "mon 08:00-08:00", "mon 08:00-25:00", "mon 08:00", "mon 08:00-09:00 "})
    EXPECT_FALSE(parse_hours(text).has_value()) << text;
}

}  // namespace
}  // namespace platetally::hours
