// Laws that attended hours obey whatever they are, on weeks of chance to the second.
#include <gtest/gtest.h>

#include <algorithm>
#include <ctime>
#include <ostream>
#include <random>

#include "plan/hours/calendar.hpp"
#include "plan/hours/moments.hpp"
#include "support/test_names.hpp"

namespace platetally::hours {
namespace {

constexpr Seconds kHour = 3600;
constexpr Seconds kMonday = 1777852800;  // 2026-05-04 00:00

class Weeks {
 public:
  explicit Weeks(unsigned seed) : random_(seed) {}

  Seconds below(Seconds most) {
    return std::uniform_int_distribution<Seconds>(0, most - 1)(random_);
  }
  /// One to five spans, some of which go on into the next week.
  std::vector<Span> spans() {
    std::vector<Span> spans;
    for (Seconds many = 1 + below(5); many > 0; --many) {
      const Seconds from_s = below(kWeek_s);
      spans.push_back({from_s, from_s + 1 + below(2 * kDay_s)});
    }
    return spans;
  }
  /// Within ten weeks of a Monday.
  Seconds moment() { return kMonday + below(10 * kWeek_s) - 5 * kWeek_s; }

 private:
  std::mt19937_64 random_;
};

TEST(CalendarLaws, OpenAndClosedAreAllOfTheTime) {
  Weeks weeks(1);
  for (int round = 0; round < 400; ++round) {
    const Calendar calendar(weeks.spans());
    const Seconds from_s = weeks.moment();
    const Seconds to_s = from_s + weeks.below(3 * kWeek_s);
    Seconds closed_s = 0, last_s = from_s;
    for (const Span& gap : calendar.closed(from_s, to_s)) {
      EXPECT_LT(gap.from_s, gap.to_s);
      EXPECT_GE(gap.from_s, last_s);
      EXPECT_LE(gap.to_s, to_s);
      EXPECT_EQ(calendar.open_s(gap.from_s, gap.to_s), 0);
      closed_s += gap.to_s - gap.from_s;
      last_s = gap.to_s;
    }
    EXPECT_EQ(calendar.open_s(from_s, to_s) + closed_s, to_s - from_s);
  }
}

TEST(CalendarLaws, SpansAddUpWhereverTheyAreCut) {
  Weeks weeks(2);
  for (int round = 0; round < 400; ++round) {
    const Calendar calendar(weeks.spans());
    const Seconds from_s = weeks.moment();
    const Seconds middle_s = from_s + weeks.below(kWeek_s);
    const Seconds to_s = middle_s + weeks.below(kWeek_s);
    EXPECT_EQ(calendar.open_s(from_s, middle_s) + calendar.open_s(middle_s, to_s),
              calendar.open_s(from_s, to_s));
    EXPECT_EQ(calendar.leaves(from_s, middle_s) + calendar.leaves(middle_s, to_s),
              calendar.leaves(from_s, to_s));
    EXPECT_EQ(calendar.open_s(to_s, from_s), 0) << "no time runs back";
    EXPECT_EQ(calendar.leaves(to_s, from_s), 0);
  }
}

TEST(CalendarLaws, EveryWeekIsLikeTheOther) {
  Weeks weeks(3);
  for (int round = 0; round < 300; ++round) {
    const Calendar calendar(weeks.spans());
    const Seconds from_s = weeks.moment(), long_s = weeks.below(kWeek_s);
    EXPECT_EQ(calendar.open_s(from_s, from_s + long_s),
              calendar.open_s(from_s + 7 * kWeek_s, from_s + 7 * kWeek_s + long_s));
    const Seconds start_s = calendar.first_start(from_s, long_s);
    const Seconds later_s = calendar.first_start(from_s + 3 * kWeek_s, long_s);
    EXPECT_EQ(start_s < 0, later_s < 0);
    if (start_s >= 0) {
      EXPECT_EQ(later_s - start_s, 3 * kWeek_s);
    }
  }
}

TEST(CalendarLaws, AStartIsAttendedForAsLongAsItNeedsAndNoneIsEarlier) {
  Weeks weeks(4);
  for (int round = 0; round < 400; ++round) {
    const Calendar calendar(weeks.spans());
    const Seconds from_s = weeks.moment(), need_s = 1 + weeks.below(kDay_s);
    const Seconds start_s = calendar.first_start(from_s, need_s);
    EXPECT_EQ(start_s < 0, calendar.longest_s() < need_s);
    if (start_s < 0)
      continue;
    EXPECT_GE(start_s, from_s);
    EXPECT_EQ(calendar.open_s(start_s, start_s + need_s), need_s);
    for (int tries = 0; tries < 20 && start_s > from_s; ++tries) {
      const Seconds earlier_s = from_s + weeks.below(start_s - from_s);
      EXPECT_LT(calendar.open_s(earlier_s, earlier_s + need_s), need_s);
    }
    if (start_s > from_s) {
      EXPECT_LT(calendar.open_s(start_s - 1, start_s - 1 + need_s), need_s);
    }
  }
}

TEST(CalendarLaws, LongestAndShortestAreThoseOfAWeek) {
  Weeks weeks(5);
  for (int round = 0; round < 300; ++round) {
    const Calendar calendar(weeks.spans());
    if (calendar.is_always())
      continue;
    // A stay or an absence that began in this week, whole.
    Seconds longest_s = 0, shortest_s = kWeek_s, longest_gap_s = 0, last_s = -1;
    const auto gaps = calendar.closed(kMonday - kWeek_s, kMonday + 3 * kWeek_s);
    for (std::size_t i = 1; i + 1 < gaps.size(); ++i) {
      longest_gap_s = std::max(longest_gap_s, gaps[i].to_s - gaps[i].from_s);
      if (last_s >= 0) {
        longest_s = std::max(longest_s, gaps[i].from_s - last_s);
        shortest_s = std::min(shortest_s, gaps[i].from_s - last_s);
      }
      last_s = gaps[i].to_s;
    }
    EXPECT_EQ(calendar.longest_s(), longest_s);
    EXPECT_EQ(calendar.shortest_s(), shortest_s);
    EXPECT_EQ(calendar.longest_gap_s(), longest_gap_s);
  }
}

TEST(CalendarLaws, TheOrderOfSpansAndWhatTheyShareDoNotMatter) {
  Weeks weeks(6);
  for (int round = 0; round < 200; ++round) {
    std::vector<Span> spans = weeks.spans();
    const Calendar once(spans);
    std::ranges::reverse(spans);
    spans.push_back(spans.front());
    spans.push_back({5 * kHour, 5 * kHour});  // nobody comes
    const Calendar again(spans);
    const Seconds from_s = weeks.moment(), to_s = from_s + weeks.below(2 * kWeek_s);
    EXPECT_EQ(once.closed(from_s, to_s), again.closed(from_s, to_s));
  }
}

TEST(Calendar, OfNoHoursIsNever) {
  const Calendar never({});
  EXPECT_TRUE(never.is_never());
  EXPECT_FALSE(never.is_always());
  EXPECT_EQ(never.open_s(kMonday, kMonday + kWeek_s), 0);
  EXPECT_EQ(never.first_start(kMonday, 0), -1);
  EXPECT_EQ(never.longest_gap_s(), kWeek_s);
  EXPECT_EQ(never.closed(kMonday, kMonday + 5), (std::vector<Span>{{kMonday, kMonday + 5}}));
  EXPECT_TRUE(Calendar({{7, 7}, {9, 3}}).is_never()) << "spans without length";
}

TEST(Calendar, OfAllHoursIsAlways) {
  for (const std::vector<Span>& spans : {std::vector<Span>{{0, kWeek_s}},
                                         {{0, kDay_s}, {kDay_s, kWeek_s}},
                                         {{3 * kDay_s, kWeek_s + 3 * kDay_s}}}) {
    const Calendar always(spans);
    EXPECT_TRUE(always.is_always());
    EXPECT_EQ(always.first_start(kMonday + 17, 100 * kWeek_s), kMonday + 17);
    EXPECT_EQ(always.leaves(kMonday, kMonday + 9 * kWeek_s), 0);
    EXPECT_EQ(always.longest_gap_s(), 0);
    EXPECT_EQ(always.longest_s(), kWeek_s);
    EXPECT_TRUE(always.closed(kMonday, kMonday + kDay_s).empty());
  }
}

TEST(Calendar, WeeksBeforeTheFirstMondayCountToo) {
  // 1970-01-01 was a Thursday.
  EXPECT_EQ(second_of_week(0), 3 * kDay_s);
  EXPECT_EQ(second_of_week(4 * kDay_s), 0);
  EXPECT_EQ(second_of_week(4 * kDay_s - 1), kWeek_s - 1);
  EXPECT_EQ(second_of_week(4 * kDay_s - kWeek_s), 0);
  const Calendar thursdays({{3 * kDay_s + 8 * kHour, 3 * kDay_s + 9 * kHour}});
  EXPECT_EQ(thursdays.open_s(0, kDay_s), kHour);
  EXPECT_EQ(thursdays.first_start(0, 60), 8 * kHour);
}

TEST(Moments, OfChanceAreThoseOfTheCalendar) {
  std::mt19937_64 random(7);
  std::uniform_int_distribution<std::int64_t> when(0, 4102444799);
  for (int round = 0; round < 1000; ++round) {
    const std::time_t at = when(random);
    std::tm fields{};
    ASSERT_NE(gmtime_r(&at, &fields), nullptr);
    char text[40];
    ASSERT_GT(std::strftime(text, sizeof text, "%Y-%m-%d %H:%M:%S", &fields), 0U);
    EXPECT_EQ(parse_moment(text), at);
    ASSERT_GT(std::strftime(text, sizeof text, "%Y-%m-%d %H:%M", &fields), 0U);
    EXPECT_EQ(moment_text(at), text);
    EXPECT_EQ(parse_moment(moment_text(at)), at - at % 60);
    EXPECT_EQ(second_of_week(at) / kDay_s, (fields.tm_wday + 6) % 7) << "days from Monday on";
  }
}

TEST(Moments, BeforeTheirBeginningAreWrittenToo) {
  EXPECT_EQ(moment_text(-60), "1969-12-31 23:59");
  EXPECT_EQ(moment_text(-kDay_s), "1969-12-31 00:00");
  EXPECT_EQ(moment_text(-kDay_s - 1), "1969-12-30 23:59");
}

struct Hours {
  const char* text;
  std::vector<Span> spans;  ///< empty: it is none
  friend void PrintTo(const Hours& one, std::ostream* out) { *out << test::readable(one.text); }
};

class WeekHours : public testing::TestWithParam<Hours> {};

TEST_P(WeekHours, AreReadAsTheirSpansOrNotAtAll) {
  const auto parsed = parse_hours(GetParam().text);
  ASSERT_EQ(parsed.has_value(), !GetParam().spans.empty());
  std::vector<Span> spans;
  for (const WeekSpan& span : parsed.value_or(std::vector<WeekSpan>{}))
    spans.push_back({span.from_s, span.to_s});
  EXPECT_EQ(spans, GetParam().spans);
}

constexpr Span day(Seconds number, Seconds from_h, Seconds to_h) {
  return {number * kDay_s + from_h * kHour, number * kDay_s + to_h * kHour};
}

INSTANTIATE_TEST_SUITE_P(
    Of, WeekHours,
    testing::Values(
        Hours{"always", {{0, kWeek_s}}}, Hours{"mon 08:00-17:00", {day(0, 8, 17)}},
        Hours{"MON 8:00-17:00", {day(0, 8, 17)}},
        Hours{"sat-sun 00:00-24:00", {day(5, 0, 24), day(6, 0, 24)}},
        Hours{"sun-mon 22:00-06:00", {day(6, 22, 30), day(0, 22, 30)}},
        Hours{"thu-thu 09:00-10:00", {day(3, 9, 10)}},
        Hours{"fri-tue 10:00-11:00",
              {day(4, 10, 11), day(5, 10, 11), day(6, 10, 11), day(0, 10, 11), day(1, 10, 11)}},
        Hours{"wed 23:00-00:00", {day(2, 23, 24)}}, Hours{"Always", {}}, Hours{"always ", {}},
        Hours{"monday 08:00-17:00", {}}, Hours{"mon-fri", {}}, Hours{"mon  08:00-17:00", {}},
        Hours{"mon- 08:00-17:00", {}}, Hours{"-mon 08:00-17:00", {}}, Hours{"mon 24:00-08:00", {}},
        Hours{"mon 08:00-24:01", {}}, Hours{"mon 08:60-17:00", {}}, Hours{"mon 08:00 - 17:00", {}},
        Hours{"mon 008:00-17:00", {}}, Hours{"mon 08:0-17:00", {}},
        Hours{"mon-tue-wed 08:00-17:00", {}}),
    [](const auto& one) { return test::numbered(one.index, one.param.text); });

}  // namespace
}  // namespace platetally::hours
