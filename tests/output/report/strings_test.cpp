// Figures and strings as they are shown.
#include "output/report/strings.hpp"

#include <gtest/gtest.h>

#include <fstream>
#include <limits>
#include <nlohmann/json.hpp>

namespace platetally::report {
namespace {

/// The same file is held against the script of the pages.
TEST(Rounded, IsAsTheFormatSays) {
  std::ifstream file(std::string(PLATETALLY_TESTDATA) + "/number-format.json");
  const nlohmann::json cases = nlohmann::json::parse(file);
  ASSERT_GE(cases["rounded"].size(), 20U);
  for (const auto& one : cases["rounded"])
    EXPECT_EQ(rounded(Value(one[0].get<double>()), one[1].get<std::string>()),
              one[2].get<std::string>())
        << one;
  for (const auto& one : cases["duration"])
    EXPECT_EQ(duration(one[0].get<double>()), one[1].get<std::string>()) << one;
}

TEST(Duration, ReadsLikeAClock) {
  const std::vector<std::pair<double, std::string>> rows{
      {0, "0 s"},
      {0.04, "0.040 s"},
      {31.44, "31.4 s"},
      {59.4, "59.4 s"},
      {59.5, "1 min 0 s"},
      {451, "7 min 31 s"},
      {3599.4, "59 min 59 s"},
      {3599.5, "1 h 0 min"},
      {6619.6, "1 h 50 min"},
      {86369, "23 h 59 min"},
      {86399.6, "1 d 0 h"},
      {273600, "3 d 4 h"},
      {-451, "-7 min 31 s"},
      {std::numeric_limits<double>::quiet_NaN(), "?"},
  };
  for (const auto& [seconds, text] : rows)
    EXPECT_EQ(duration(seconds), text) << seconds;
  EXPECT_FALSE(duration(1e300).empty());
}

TEST(Share, IsNeverMoreCertainThanItCanBe) {
  EXPECT_EQ(share(0, 10), "0 %");
  EXPECT_EQ(share(0.01, 10), "< 1 %");
  EXPECT_EQ(share(6, 100), "6 %");
  EXPECT_EQ(share(1, 0), "0 %");
}

TEST(DataSize, KeepsOneDecimal) {
  EXPECT_EQ(data_size(999), "999 B");
  EXPECT_EQ(data_size(1000), "1.0 kB");
  EXPECT_EQ(data_size(999960), "1.0 MB");
  EXPECT_EQ(data_size(6712345), "6.7 MB");
}

TEST(Rounded, ThreeDigitsCountTwoBelowOne) {
  EXPECT_EQ(rounded(Value(12.345), "g"), "12.3");
  EXPECT_EQ(rounded(Value(0.98), "g"), "0.98");
  EXPECT_EQ(rounded(Value(272.99), "Wh"), "273");
  EXPECT_EQ(rounded(Value(1812.25), "Wh"), "1810");
  EXPECT_EQ(rounded(Value(6619.6), "s"), "1 h 50 min");
  EXPECT_EQ(rounded(Value(), "g"), "?");
  EXPECT_EQ(rounded(Value(std::uint64_t{38}), ""), "38");
  EXPECT_EQ(significant(std::numeric_limits<double>::max()).size(), 309U);
  EXPECT_EQ(significant(std::numeric_limits<double>::infinity()), "?");
}

TEST(Wrap, KeepsNumbersAndTheirUnitsTogether) {
  // At any width, no line ends within a duration or between a number and its unit.
  const std::string text =
      "takes 1 h 50 min (1 h 44 min to 1 h 56 min), 273 Wh, 19.0 g, 72 % of 7 min 31 s; -41 min";
  for (int width = 14; width < 90; ++width)
    for (const std::string& line : wrap(text, width)) {
      const std::string last = line.substr(line.rfind(' ') + 1);
      EXPECT_NE(last, "h") << line;
      EXPECT_TRUE(last.find_first_not_of("(-0123456789.") != std::string::npos) << line;
      EXPECT_LE(display_width(line), width);
    }
}

TEST(ExactNumber, IsTheShortestThatReadsBack) {
  EXPECT_EQ(exact_number(0.1), "0.1");
  EXPECT_EQ(exact_number(-0.0), "0");
  EXPECT_EQ(exact_number(1e21), "1e+21");
  EXPECT_EQ(exact_number(std::numeric_limits<double>::infinity()), "null");
}

TEST(ValidUtf8, ReplacesEveryByteThatIsNone) {
  const std::vector<std::pair<std::string, std::string>> rows{
      {"\xc3\xa9", "\xc3\xa9"},
      {"\xf0\x9f\x8c\xb1", "\xf0\x9f\x8c\xb1"},
      {"\xc0\xaf", "\uFFFD\uFFFD"},                      // overlong
      {"\xe0\x80\x80", "\uFFFD\uFFFD\uFFFD"},            // overlong
      {"\xed\xa0\x80", "\uFFFD\uFFFD\uFFFD"},            // surrogate
      {"\xf4\x90\x80\x80", "\uFFFD\uFFFD\uFFFD\uFFFD"},  // above U+10FFFF
      {"\xe2\x82", "\uFFFD\uFFFD"},                      // cut short
      {"\x80", "\uFFFD"},
  };
  for (const auto& [bytes, text] : rows)
    EXPECT_EQ(valid_utf8(bytes), text);
}

TEST(CsvText, IsHarmlessInASpreadsheet) {
  const std::vector<std::pair<std::string, std::string>> rows{
      {"labels.gcode", "labels.gcode"},
      {"=1+1", "'=1+1"},
      {"+1", "'+1"},
      {"-1", "'-1"},
      {"@sum", "'@sum"},
      {"=a,\"b\"", "\"'=a,\"\"b\"\"\""},
      {"a\x1b[2J", "a\uFFFD[2J"},
      {"a\u009b2J", "a\uFFFD2J"},
      {"a\x9b", "a\uFFFD"},
      {"two\nlines", "two lines"},
  };
  for (const auto& [text, cell] : rows)
    EXPECT_EQ(csv_text(text), cell);
}

TEST(JsonString, EscapesEveryControlCharacter) {
  EXPECT_EQ(json_string("a\x1b\x7f\u009b\u00a0b"), "\"a\\u001b\\u007f\\u009b\u00a0b\"");
  EXPECT_EQ(nlohmann::json::parse(json_string("\u0080\u009f\x7f")).get<std::string>(),
            "\u0080\u009f\x7f");
}

TEST(Wrap, BreaksAtBlanksAndKeepsLongWords) {
  EXPECT_EQ(wrap("one two three", 7), (std::vector<std::string>{"one two", "three"}));
  EXPECT_EQ(wrap("antidisestablishment is", 5),
            (std::vector<std::string>{"antidisestablishment", "is"}));
  EXPECT_EQ(wrap("", 5), std::vector<std::string>{""});
}

}  // namespace
}  // namespace platetally::report
