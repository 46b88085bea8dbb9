// How lines are found and cut, and how numbers are read off them.
#include "meter/logs/cutting.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <ostream>
#include <random>

#include "meter/logs/column.hpp"
#include "meter/logs/columns.hpp"
#include "support/test_names.hpp"

namespace platetally::meter {
namespace {

std::vector<std::string> texts_of(const std::vector<TextLine>& lines) {
  std::vector<std::string> texts;
  for (const TextLine& line : lines)
    texts.emplace_back(line.text);
  return texts;
}

Cutting cutting_of(std::string_view text) {
  return find_cutting(lines_of(text), &can_be_read);
}

std::vector<std::string> cells_of(const Cutting& cutting, std::string_view line) {
  Cutter cutter(cutting);
  const auto& cells = cutter.cells(line);
  return {cells.begin(), cells.end()};
}

TEST(Lines, AreThoseWithTextAndKeepTheirNumbers) {
  const auto lines = lines_of(
      "\xEF\xBB\xBF"
      "a,b\r\n\n# a comment\n  \t\n1,2\n#3,4\n5,6");
  EXPECT_EQ(texts_of(lines), (std::vector<std::string>{"a,b", "1,2", "5,6"}));
  EXPECT_EQ(lines[0].number, 1U);
  EXPECT_EQ(lines[1].number, 5U);
  EXPECT_EQ(lines[2].number, 7U);
  EXPECT_TRUE(lines_of("").empty());
  EXPECT_TRUE(lines_of("\n\n# nothing\n").empty());
}

TEST(Lines, AByteOrderMarkIsOneAtTheBeginningOnly) {
  EXPECT_EQ(texts_of(lines_of("1\n\xEF\xBB\xBF"
                              "2\n"))[1],
            "\xEF\xBB\xBF"
            "2");
}

struct Cut {
  const char* name;
  const char* text;
  char separator;
  std::size_t count;
  bool decimal_comma;
  friend void PrintTo(const Cut& one, std::ostream* out) { *out << one.name; }
};

class Cuttings : public testing::TestWithParam<Cut> {};

TEST_P(Cuttings, AreFoundFromTheFirstLines) {
  const Cutting cutting = cutting_of(GetParam().text);
  EXPECT_EQ(cutting.separator, GetParam().separator);
  EXPECT_EQ(cutting.count, GetParam().count);
  EXPECT_EQ(cutting.decimal_comma, GetParam().decimal_comma);
  EXPECT_FALSE(cutting.objects);
}

INSTANTIATE_TEST_SUITE_P(
    Of, Cuttings,
    testing::Values(Cut{"commas", "1,2,3\n4,5,6\n", ',', 3, false},
                    Cut{"semicolons_and_commas", "1,5;2,5\n4,5;5,5\n", ';', 2, true},
                    Cut{"tabs_before_commas", "1,5\t2\n3\t4\n", '\t', 2, false},
                    Cut{"a_comma_behind_the_first_line", "1\t2\n3,5\t4\n", '\t', 2, true},
                    Cut{"bars", "a|b\n1|2\n3|4\n", '|', 2, false},
                    Cut{"blanks", "1  2   3\n4 5 6\n", ' ', 3, false},
                    Cut{"blanks_with_decimal_commas", "1,5 2\n3 4,5\n6 7\n9 8\n", ' ', 2, true},
                    Cut{"one_faulty_line_in_four", "1,2\n3,4\noops\n5,6\n", ',', 2, false},
                    Cut{"one_column", "5\n6\n7\n", ' ', 1, false}),
    [](const auto& cut) { return std::string(cut.param.name); });

TEST(Cuttings, AHeadingIsALineOfWhichNoCellCanBeRead) {
  const Cutting with = cutting_of("time , \"Power (W)\"\n0,1\n2,3\n");
  EXPECT_EQ(with.names, (std::vector<std::string>{"time", "Power (W)"}));
  EXPECT_EQ(with.first_row, 1U);
  const Cutting without = cutting_of("0,1\n2,3\n");
  EXPECT_TRUE(without.names.empty());
  EXPECT_EQ(without.first_row, 0U);
  EXPECT_EQ(cutting_of("12:30,watts\n12:31,5\n").first_row, 0U) << "a time is no heading";
}

TEST(Cuttings, WhatStandsBeforeTheTableIsPassedByAndSaid) {
  const Cutting cutting = cutting_of("Plug of the fern house\n\nseconds,watts\n0,1\n2,3\n4,5\n");
  EXPECT_EQ(cutting.first_row, 2U);
  EXPECT_EQ(cutting.names, (std::vector<std::string>{"seconds", "watts"}));
  ASSERT_EQ(cutting.passed_by.size(), 1U);
  EXPECT_EQ(cutting.passed_by[0], "the table begins in line 3; what is before it was passed by");
  EXPECT_TRUE(cutting_of("seconds,watts\n0,1\n2,3\n").passed_by.empty());
}

TEST(Cuttings, QuotesHoldTheirSeparator) {
  const Cutting cutting = cutting_of("when,watts\n\"Nov 25, 2026\",5\n\"Nov 26, 2026\",6\n");
  EXPECT_EQ(cutting.count, 2U);
  EXPECT_EQ(cells_of(cutting, " \"Nov 25, 2026\" , 5 "),
            (std::vector<std::string>{"Nov 25, 2026", "5"}));
  EXPECT_EQ(cells_of(cutting, "\"never closed,5"), (std::vector<std::string>{"never closed", "5"}));
  EXPECT_EQ(cells_of(cutting, "a,,b,"), (std::vector<std::string>{"a", "", "b", ""}));
}

TEST(Cuttings, RunsOfBlanksAreOneSeparator) {
  const Cutting cutting = cutting_of("0 1\n2 3\n");
  EXPECT_EQ(cells_of(cutting, "  7 \t 8   9 "), (std::vector<std::string>{"7", "8", "9"}));
  EXPECT_TRUE(cells_of(cutting, "   ").empty());
}

TEST(Objects, HaveTheirKeysJoinedByDots) {
  const Cutting cutting = cutting_of(
      "{\"t\": 1, \"plug\": {\"watts\": 5.5, \"on\": true, \"deep\": {\"er\": \"x\"}}}\n"
      "{\"t\": 2, \"note\": \"late\"},\n");
  ASSERT_TRUE(cutting.objects);
  EXPECT_EQ(cutting.names, (std::vector<std::string>{"plug.deep.er", "plug.watts", "t", "note"}));
  EXPECT_EQ(cells_of(cutting, "{\"plug\": {\"watts\": 7}, \"unknown\": 3, \"t\": \"later\"}"),
            (std::vector<std::string>{"", "7", "later", ""}));
  EXPECT_EQ(cells_of(cutting, "{\"t\": 4,}"), (std::vector<std::string>{"", "", "", ""}))
      << "no JSON, nothing known";
  EXPECT_EQ(cells_of(cutting, "{\"t\": 4},  ").at(2), "4") << "a comma behind it is forgiven";
}

TEST(Objects, OfAListHaveCommasBehindThem) {
  const Cutting cutting = cutting_of("[\n{\"t\": 1},\n{\"t\": 2}, \n{\"t\": 3}\n]\n");
  EXPECT_TRUE(cutting.objects);
  EXPECT_EQ(cutting.names, (std::vector<std::string>{"t"}));
}

TEST(Objects, AreThoseOfMostOfTheFirstLines) {
  EXPECT_TRUE(cutting_of("{\"t\": 1}\n{\"t\": 2}\nbroken\n").objects);
  EXPECT_FALSE(cutting_of("{\"t\": 1}\nbroken\n").objects);
}

struct Numbered {
  const char* text;
  bool decimal_comma;
  double value;  ///< NaN: it is none
  friend void PrintTo(const Numbered& one, std::ostream* out) { *out << test::readable(one.text); }
};

constexpr double kNone = std::numeric_limits<double>::quiet_NaN();

class Numbers : public testing::TestWithParam<Numbered> {};

TEST_P(Numbers, AreReadWithTheirUnitsOrNotAtAll) {
  const auto read = read_number(GetParam().text, GetParam().decimal_comma);
  if (std::isnan(GetParam().value)) {
    EXPECT_FALSE(read) << *read;
  } else {
    ASSERT_TRUE(read);
    EXPECT_DOUBLE_EQ(*read, GetParam().value);
  }
}

INSTANTIATE_TEST_SUITE_P(
    Texts, Numbers,
    testing::Values(Numbered{"231.5", false, 231.5}, Numbered{" 231.5 W ", false, 231.5},
                    Numbered{"\"231.5\"", false, 231.5}, Numbered{"231,5", true, 231.5},
                    Numbered{"231,5", false, kNone}, Numbered{"+5", false, 5.0},
                    Numbered{"-0.25", false, -0.25}, Numbered{"1e3", false, 1000.0},
                    Numbered{".5", false, 0.5}, Numbered{"5.", false, 5.0},
                    Numbered{"12 kWh", false, 12.0}, Numbered{"230 V", false, 230.0},
                    Numbered{"0.4 A", false, 0.4}, Numbered{"50 %", false, 50.0},
                    Numbered{"5 mW", false, 5.0}, Numbered{"5 watts", false, kNone},
                    Numbered{"5 C", false, kNone}, Numbered{"", false, kNone},
                    Numbered{"W", false, kNone}, Numbered{"nan", false, kNone},
                    Numbered{"inf", false, kNone}, Numbered{"1e999", false, kNone},
                    Numbered{"0x10", false, kNone}, Numbered{"1 2", false, kNone},
                    Numbered{"--5", false, kNone}, Numbered{"+-5", false, -5.0},
                    Numbered{"1.2.3", false, kNone}),
    [](const auto& one) { return test::numbered(one.index, one.param.text); });

TEST(Numbers, OfTooManyDigitsAreNone) {
  EXPECT_TRUE(read_number(std::string(63, '1'), false));
  EXPECT_FALSE(read_number(std::string(64, '1'), false)) << "hostile text has an end";
}

TEST(Numbers, AreTakenOffTheFront) {
  std::string_view text = "12.5 W,and more";
  EXPECT_EQ(leading_number(text, false), 12.5);
  EXPECT_EQ(text, " W,and more");
  std::string_view none = "W 12.5";
  EXPECT_FALSE(leading_number(none, false));
  EXPECT_EQ(none, "W 12.5");
}

TEST(Numbers, OfChanceComeBackFromWhatWasWritten) {
  std::mt19937 random(17);
  std::uniform_real_distribution<double> value(-1e6, 1e6);
  for (int round = 0; round < 500; ++round) {
    const double written = value(random);
    std::string text = std::to_string(written);
    const double rounded = std::strtod(text.c_str(), nullptr);
    EXPECT_EQ(read_number(text, false), rounded);
    text.replace(text.find('.'), 1, ",");
    EXPECT_EQ(read_number(text, true), rounded);
  }
}

TEST(Blanks, AreTakenAwayAndQuotesWithThemWhereThatIsMeant) {
  EXPECT_EQ(trimmed(" \t\"fern house\" \r"), "fern house");
  EXPECT_EQ(without_blanks(" \t\"fern house\" \r"), "\"fern house\"");
  EXPECT_EQ(trimmed("\" \""), "");
  EXPECT_EQ(without_blanks("\t \r"), "");
  EXPECT_EQ(lower(" \"Fern HOUSE\" "), "fern house");
}

TEST(SomeLines, AreFromAllOfTheLogInTheirOrder) {
  std::string text;
  for (int i = 0; i < 5000; ++i)
    text += std::to_string(i) + "\n";
  const auto lines = lines_of(text);
  const auto some = some_lines(lines, 1);
  ASSERT_GT(some.size(), 100U);
  EXPECT_LT(some.size(), 420U);
  EXPECT_EQ(some.front(), "1");
  EXPECT_EQ(some[1], "2") << "those at the beginning one after the other";
  int last = -1;
  for (const std::string_view line : some) {
    const int number = std::stoi(std::string(line));
    EXPECT_GT(number, last);
    last = number;
  }
  EXPECT_GT(last, 4900);
  EXPECT_EQ(some_lines(lines_of("a\nb\nc\n"), 1).size(), 2U);
}

TEST(Columns, SayWhatTheirCellsCanBeReadAs) {
  const std::string text =
      "moment,clock,date,watts,note\n"
      "2026-11-25 12:00,12:00,25.11.2026,5,fern\n2026-11-25 12:01,12:01,25.11.2026,6,\n"
      "2026-11-25 12:02,12:02,26.11.2026,4,moss\n2026-11-25 12:03,later,26.11.2026,9,\n";
  const auto lines = lines_of(text);
  const Cutting cutting = find_cutting(lines, &can_be_read);
  const auto columns = columns_of(some_lines(lines, cutting.first_row), cutting);
  ASSERT_EQ(columns.size(), 5U);
  EXPECT_EQ(columns[0].moment, 1.0);
  EXPECT_EQ(columns[1].clock, 0.75);
  EXPECT_EQ(columns[2].date, 1.0);
  EXPECT_EQ(columns[3].number, 1.0);
  EXPECT_EQ(columns[3].least, 4.0);
  EXPECT_EQ(columns[3].most, 9.0);
  EXPECT_FALSE(columns[3].runs());
  EXPECT_EQ(columns[4].filled, 0.5);
  EXPECT_EQ(columns[4].example, "fern");
}

TEST(Columns, HaveTheWordsOfTheirHeadings) {
  const auto lines = lines_of("activePower,Energy_kWh total,bed duty %\n1,2,3\n4,5,6\n");
  const Cutting cutting = find_cutting(lines, &can_be_read);
  const auto columns = columns_of(some_lines(lines, cutting.first_row), cutting);
  ASSERT_EQ(columns.size(), 3U);
  EXPECT_TRUE(columns[0].is_power()) << "a word that ends with it";
  EXPECT_TRUE(columns[0].has({"active"})) << "cut where a capital begins";
  EXPECT_TRUE(columns[1].is_energy());
  EXPECT_TRUE(columns[1].has({"total"}));
  EXPECT_FALSE(columns[1].is_power());
  EXPECT_TRUE(columns[2].is_bed());
  EXPECT_TRUE(columns[2].has({"%"}));
}

}  // namespace
}  // namespace platetally::meter
