// Limits by the plain English in their keys, key by key and value by value.
#include "reading/dialect/limit_keys.hpp"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>

#include "reading/dialect/support.hpp"
#include "support/test_names.hpp"

namespace platetally::dialect {
namespace {

using test::lettered;
using test::named;

std::optional<LimitsByKey> limits_of(const std::string& text, std::string_view name = "PACE") {
  return read_limits_by_key(named(name, text));
}

using Member = std::optional<double> LimitsByKey::*;

struct Limit {
  const char* name;
  const char* keys;  ///< spellings, with blanks between
  Member member;
  double low, high;
};

class PlainKey : public testing::TestWithParam<Limit> {};

TEST_P(PlainKey, IsReadInEverySpellingAndSetsThatLimitAlone) {
  std::string_view rest = GetParam().keys;
  while (!rest.empty()) {
    const std::string key(rest.substr(0, rest.find(' ')));
    rest.remove_prefix(std::min(rest.size(), key.size() + 1));
    for (const bool in_lower_case : {false, true}) {
      std::string written = key;
      if (in_lower_case)
        for (char& c : written)
          c = c >= 'A' && c <= 'Z' ? static_cast<char>(c + 32) : c;
      SCOPED_TRACE(written);
      const double middle = 0.5 * (GetParam().low + GetParam().high);
      auto limits = limits_of(fmt::format(" {}={:f}", written, middle));
      ASSERT_TRUE(limits);
      ASSERT_TRUE((*limits).*(GetParam().member));
      EXPECT_NEAR(*((*limits).*(GetParam().member)), middle, 1e-5);
      (*limits).*(GetParam().member) = std::nullopt;
      EXPECT_FALSE(limits->acceleration_mm_s2 || limits->braking_acceleration_mm_s2 ||
                   limits->corner_speed_mm_s || limits->cruise_share || limits->speed_mm_s);
    }
  }
}

TEST_P(PlainKey, IsReadUpToBothEndsOfWhatIsPlausible) {
  const std::string key(GetParam().keys, std::string_view(GetParam().keys).find(' '));
  for (const double value : {GetParam().low, GetParam().high})
    EXPECT_TRUE(limits_of(fmt::format("{}={:f}", key, value))) << value;
  for (const double value : {GetParam().low - 0.001, GetParam().high + 0.001})
    EXPECT_FALSE(limits_of(fmt::format("{}={:f}", key, value))) << value;
}

INSTANTIATE_TEST_SUITE_P(
    Of, PlainKey,
    testing::Values(
        Limit{"acceleration", "ACCEL ACCELERATION MAX_ACCEL X-ACCEL PATH.ACCELERATION ACCEL2",
              &LimitsByKey::acceleration_mm_s2, 10, 1e6},
        Limit{"braking", "ACCEL_AT_DECEL ACCELERATION_DECELERATION DECEL_ACCEL",
              &LimitsByKey::braking_acceleration_mm_s2, 10, 1e6},
        Limit{"corner speed", "CORNER_SPEED SHARP_CORNER_VELOCITY SPEED_AT_A_CORNER",
              &LimitsByKey::corner_speed_mm_s, 0, 200},
        Limit{"cruise share", "CRUISE_SHARE RATIO_OF_CRUISE", &LimitsByKey::cruise_share, 0, 0.999},
        Limit{"speed", "SPEED VELOCITY TOP_SPEED VELOCITY_OF_ALL", &LimitsByKey::speed_mm_s, 5,
              5000}),
    [](const auto& limit) { return platetally::test::readable(limit.param.name); });

struct Unread {
  const char* name;
  const char* text;
};

class UnreadWord : public testing::TestWithParam<Unread> {};

TEST_P(UnreadWord, IsNoLimit) {
  EXPECT_FALSE(limits_of(GetParam().text)) << GetParam().text;
}

INSTANTIATE_TEST_SUITE_P(
    With, UnreadWord,
    testing::Values(Unread{"nothing", ""}, Unread{"blanks", "  \t "}, Unread{"a value", "120"},
                    Unread{"a value beside a limit", "SPEED=90 120"},
                    Unread{"another key", "SPEED=90 LED=1"},
                    Unread{"a part of a word", "SPEEDS=90"}, Unread{"a corner alone", "CORNER=9"},
                    Unread{"a cruise alone", "CRUISE=0.5"}, Unread{"a share alone", "SHARE=0.5"},
                    Unread{"braking alone", "DECEL=500"}, Unread{"a fan", "FAN_SPEED=90"},
                    Unread{"fans", "SPEED_OF_FANS=90"}, Unread{"a retraction", "RETRACT_SPEED=30"},
                    Unread{"an unretraction", "UNRETRACT_SPEED=30"},
                    Unread{"a retraction among limits", "SPEED=90 RETRACTION_ACCEL=900"},
                    Unread{"no value", "SPEED="}, Unread{"a word", "SPEED=quick"},
                    Unread{"an exponent", "SPEED=1e2"}, Unread{"two signs", "SPEED=+-90"},
                    Unread{"a share beyond one by a speed", "CRUISE_SPEED_SHARE=90"}),
    [](const auto& unread) { return platetally::test::readable(unread.param.name); });

TEST(PlainKeys, AreOfNamedCommandsThatAreOfThePath) {
  EXPECT_TRUE(limits_of("SPEED=90", "PACE"));
  EXPECT_TRUE(limits_of("SPEED=90", "FANTASTIC")) << "which is no fan";
  for (const char* name : {"FAN", "PART_FAN", "fans_2", "RETRACTION_MODE", "UNRETRACT"})
    EXPECT_FALSE(limits_of("SPEED=90", name)) << name;
  gcode::Command command = lettered('M', 900);
  command.text = "SPEED=90";
  EXPECT_FALSE(read_limits_by_key(command));
}

TEST(PlainKeys, OfALineGoTogetherAndTheLastOfOneCounts) {
  const auto limits = limits_of(
      "SPEED=90 ACCEL=900 CORNER_SPEED=5 CRUISE_SHARE=.5 ACCEL_AT_DECEL=450 SPEED=\"80\"");
  ASSERT_TRUE(limits);
  EXPECT_EQ(limits->speed_mm_s, 80);
  EXPECT_EQ(limits->acceleration_mm_s2, 900);
  EXPECT_EQ(limits->corner_speed_mm_s, 5);
  EXPECT_EQ(limits->cruise_share, 0.5);
  EXPECT_EQ(limits->braking_acceleration_mm_s2, 450);
}

}  // namespace
}  // namespace platetally::dialect
