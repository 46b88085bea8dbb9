// Instants as people and machines write them, against the C library's calendar.
#include "meter/logs/moments.hpp"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <ctime>
#include <ostream>
#include <random>

#include "support/test_names.hpp"

namespace platetally::meter {
namespace {

struct Written {
  const char* text;
  double seconds;  ///< since 1970
  friend void PrintTo(const Written& one, std::ostream* out) { *out << test::readable(one.text); }
};

class Moments : public testing::TestWithParam<Written> {};

// 2026-11-25 00:00 UTC is 1795564800, as date -u +%s says.
constexpr double kDay = 1795564800.0;
constexpr double kAt = kDay + 17 * 3600 + 5 * 60 + 31;

TEST_P(Moments, AreReadWhateverTheirForm) {
  const auto read = read_moment(GetParam().text, DateOrder::day_first);
  ASSERT_TRUE(read) << GetParam().text;
  EXPECT_NEAR(*read, GetParam().seconds, 1e-4) << GetParam().text;
}

INSTANTIATE_TEST_SUITE_P(
    Forms, Moments,
    testing::Values(Written{"2026-11-25T17:05:31Z", kAt}, Written{"2026-11-25 17:05:31", kAt},
                    Written{"2026-11-25t17:05:31", kAt}, Written{"2026-11-25_17:05:31", kAt},
                    Written{"2026-11-25, 17:05:31", kAt}, Written{"2026-11-25\t17:05:31", kAt},
                    Written{"2026/11/25 17:05", kAt - 31}, Written{"2026.11.25 17:05", kAt - 31},
                    Written{"25.11.2026 17:05:31", kAt}, Written{"25/11/2026 17:05:31", kAt},
                    Written{"25-11-26 17:05:31", kAt}, Written{"25 Nov 2026 17:05:31", kAt},
                    Written{"25-Nov-2026 17:05:31", kAt}, Written{"Nov 25, 2026 17:05:31", kAt},
                    Written{"november 25 2026 17:05:31", kAt},
                    Written{"25 NOVEMBER 2026 5:05:31 pm", kAt},
                    Written{"25.11.2026 5:05:31 PM", kAt}, Written{"25.11.2026 5:05:31PM", kAt},
                    Written{"25.11.2026 5:05:31 p.m.", kAt}, Written{"25.11.2026 5:05:31 P", kAt},
                    Written{"2026-11-25T17:05:31.25Z", kAt + 0.25},
                    Written{"2026-11-25T17:05:31,125", kAt + 0.125},
                    Written{"2026-11-25T17:05:31+01:00", kAt - 3600},
                    Written{"2026-11-25T17:05:31+0530", kAt - 19800},
                    Written{"2026-11-25T17:05:31-08", kAt + 28800},
                    Written{"2026-11-25T17:05:31 CET", kAt}, Written{"2026-11-25T00:00:00", kDay},
                    Written{"2026-11-25T24:00", kDay + 86400}, Written{"25.11.2026 12:00 AM", kDay},
                    Written{"25.11.2026 12:00 PM", kDay + 43200}),
    [](const auto& one) { return test::numbered(one.index, one.param.text); });

struct Text {
  const char* text;
  friend void PrintTo(const Text& one, std::ostream* out) { *out << test::readable(one.text); }
};

class NoMoment : public testing::TestWithParam<Text> {};

TEST_P(NoMoment, IsTakenForOne) {
  EXPECT_FALSE(read_moment(GetParam().text, DateOrder::day_first)) << GetParam().text;
  EXPECT_FALSE(read_moment(GetParam().text, DateOrder::month_first)) << GetParam().text;
}

INSTANTIATE_TEST_SUITE_P(
    Texts, NoMoment,
    testing::Values(Text{""}, Text{" "}, Text{"17:05:31"}, Text{"2026-11-25"},
                    Text{"2026-13-25 17:05"}, Text{"2026-02-29 17:05"}, Text{"2026-11-31 17:05"},
                    Text{"2026-11/25 17:05"}, Text{"2026-11-25 17"}, Text{"2026-11-25 17:60"},
                    Text{"2026-11-25 17:05:61"}, Text{"2026-11-25x17:05"}, Text{"2026-11-2517:05"},
                    Text{"2026-11-25 17:05:31 and more"}, Text{"2026-11-25 25:00"},
                    Text{"1969-12-31 17:05"}, Text{"32.12.2026 17:05"}, Text{"25 Nxv 2026 17:05"},
                    Text{"No 25 2026 17:05"}, Text{"25.11.2026 13:05 PM"},
                    Text{"25.11.2026 0:05 AM"}, Text{"2026-11-25T17:05+x"},
                    Text{"2026-11-25T17:05+01:00 "}, Text{"2026-11-25T17:05 FERNTIME"},
                    Text{"231.5"}, Text{"fern"}),
    [](const auto& one) { return test::numbered(one.index, one.param.text); });

TEST(Moments, ADateAloneIsMidnightOnlyWhereThatIsMeant) {
  EXPECT_FALSE(read_moment("25.11.2026", DateOrder::day_first));
  EXPECT_EQ(read_moment("25.11.2026", DateOrder::day_first, true), kDay);
  EXPECT_EQ(read_moment("25 Nov 2026", DateOrder::month_first, true), kDay);
}

TEST(Moments, DayAndMonthAreTakenInTheOrderThatIsSaid) {
  EXPECT_EQ(read_moment("03/04/2026", DateOrder::day_first, true),
            read_moment("2026-04-03", DateOrder::day_first, true));
  EXPECT_EQ(read_moment("03/04/2026", DateOrder::month_first, true),
            read_moment("2026-03-04", DateOrder::month_first, true));
  EXPECT_FALSE(read_moment("25/11/2026", DateOrder::month_first, true)) << "no month 25";
  EXPECT_EQ(read_moment("3 Apr 2026", DateOrder::month_first, true),
            read_moment("2026-04-03", DateOrder::day_first, true))
      << "a name is beyond doubt";
}

TEST(Moments, OfChanceAreThoseOfTheCalendarInEveryForm) {
  std::mt19937_64 random(9);
  std::uniform_int_distribution<std::time_t> when(0, 4102444799);  // to the end of 2099
  constexpr const char* kForms[] = {"%Y-%m-%dT%H:%M:%SZ", "%d.%m.%Y %H:%M:%S",
                                    "%d %b %Y %I:%M:%S %p", "%B %d, %Y %H:%M:%S",
                                    "%Y/%m/%d %I:%M:%S %p"};
  for (int round = 0; round < 400; ++round) {
    const std::time_t at = when(random);
    std::tm fields{};
    ASSERT_NE(gmtime_r(&at, &fields), nullptr);
    for (const char* form : kForms) {
      char text[64];
      ASSERT_GT(std::strftime(text, sizeof text, form, &fields), 0U);
      EXPECT_EQ(read_moment(text, DateOrder::day_first), static_cast<double>(at)) << text;
    }
    char text[64];
    ASSERT_GT(std::strftime(text, sizeof text, "%m/%d/%Y %H:%M:%S", &fields), 0U);
    EXPECT_EQ(read_moment(text, DateOrder::month_first), static_cast<double>(at)) << text;
  }
}

TEST(Clocks, CountBeyondADay) {
  EXPECT_EQ(read_clock("36:15")->seconds, 36 * 3600 + 900);
  EXPECT_EQ(read_clock("100:00:00.5")->seconds, 360000.5);
  EXPECT_FALSE(read_clock("12345:00")) << "four digits at the most";
  EXPECT_TRUE(read_clock("5:05 am")->twelve_hours);
  EXPECT_FALSE(read_clock("5:05")->twelve_hours);
}

TEST(Clocks, SayWhatTheirZoneTakesOff) {
  EXPECT_EQ(read_clock("17:05+02:00")->zone_s, 7200.0);
  EXPECT_EQ(read_clock("17:05 -0330")->zone_s, -12600.0);
  EXPECT_EQ(read_clock("17:05Z")->zone_s, 0.0);
  EXPECT_EQ(read_clock("17:05+2:00")->zone_s, 7200.0);
  EXPECT_FALSE(read_clock("17:05 7"));
}

TEST(Dates, AreTakenOffTheFrontAndTheRestStays) {
  std::string_view text = "25.11.2026 17:05";
  const auto date = take_date(text);
  ASSERT_TRUE(date);
  EXPECT_EQ(text, " 17:05");
  EXPECT_EQ(date->first, 25);
  EXPECT_EQ(date->second, 11);
  EXPECT_EQ(date->third, 2026);
  EXPECT_EQ(date->separator, '.');
  EXPECT_FALSE(date->year_first);
  EXPECT_FALSE(date->named_month);
  std::string_view none = "fern 25.11.2026";
  EXPECT_FALSE(take_date(none));
  EXPECT_EQ(none, "fern 25.11.2026") << "nothing was taken";
  std::string_view named = "Nov 25, 2026, 5 pm";
  ASSERT_TRUE(take_date(named)->named_month);
  EXPECT_EQ(named, ", 5 pm");
}

TEST(Dates, OfTwoDigitsAreOfThisCentury) {
  std::string_view text = "1/2/05";
  const auto date = take_date(text);
  std::string_view full = "1/2/2005";
  EXPECT_EQ(days_of(*date, DateOrder::day_first), days_of(*take_date(full), DateOrder::day_first));
}

}  // namespace
}  // namespace platetally::meter
