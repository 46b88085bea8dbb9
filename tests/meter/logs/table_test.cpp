// Small tables that people keep.
#include "meter/logs/table.hpp"

#include <gtest/gtest.h>

#include "platetally/meter.hpp"

namespace platetally::meter {
namespace {

std::string refusal(std::string_view text) {
  try {
    (void)Table(text, "t.csv");
  } catch (const UnreadableLog& error) {
    return error.what();
  }
  return "";
}

TEST(Table, CellsKnowTheirPlace) {
  const Table table("plate, seconds\n\n# a note\ntags.gcode,  5400\n", "t.csv");
  ASSERT_EQ(table.rows().size(), 1U);
  const TableRow& row = table.rows()[0];
  EXPECT_EQ(row.line, 4U);
  ASSERT_EQ(row.cells.size(), 2U);
  EXPECT_EQ(row.cells[0].text, "tags.gcode");
  EXPECT_EQ(row.cells[0].column, 1U);
  EXPECT_EQ(row.cells[1].text, "5400");
  EXPECT_EQ(row.cells[1].column, 14U) << "where its text begins";
}

// RFC 4180: a quote inside quotes is written twice.
TEST(Table, QuotesHoldSeparatorsAndQuotes) {
  const Table table("a,b,c\n\"fern, red\",\"12\"\" pot\",\"\"\n\"open,7\n", "t.csv");
  ASSERT_EQ(table.rows().size(), 2U);
  const auto& cells = table.rows()[0].cells;
  ASSERT_EQ(cells.size(), 3U);
  EXPECT_EQ(cells[0].text, "fern, red");
  EXPECT_EQ(cells[1].text, "12\" pot");
  EXPECT_EQ(cells[2].text, "");
  EXPECT_EQ(table.rows()[1].cells.size(), 1U) << "never closed: all of the line";
  EXPECT_EQ(table.rows()[1].cells[0].text, "open,7");
}

TEST(Table, IsCutAtWhatStandsMostOftenInItsHeading) {
  for (const char separator : {',', ';', '\t', '|'}) {
    std::string text = "a?b?c\n1?2?3\n";
    for (char& c : text)
      c = c == '?' ? separator : c;
    const Table table(text, "t.csv");
    EXPECT_EQ(table.separator(), separator);
    EXPECT_EQ(table.headings(), (std::vector<std::string>{"a", "b", "c"}));
    EXPECT_EQ(table.rows().at(0).cells.at(2).text, "3");
  }
  EXPECT_EQ(Table("one\n1\n", "t.csv").separator(), ',');
}

TEST(Table, ColumnsAreFoundByPlainNames) {
  const Table table("Plate File,Duration-s (s),kWh [mains],energy_wh,Energy Wh\n1,2,3,4,5\n",
                    "t.csv");
  EXPECT_EQ(table.column({"plate_file"}), 0U);
  EXPECT_EQ(table.column({"nothing", "duration_s"}), 1U);
  EXPECT_EQ(table.column({"kwh"}), 2U);
  EXPECT_EQ(table.column({"energy_wh"}), 3U) << "the first of two";
  EXPECT_FALSE(table.column({"Plate File"})) << "names are asked for in lower case";
}

TEST(Table, AnEmptyCellIsNone) {
  const Table table("a,b,c\n1,, 3\n4\n", "t.csv");
  const TableRow& row = table.rows()[0];
  ASSERT_NE(Table::cell(row, 0), nullptr);
  EXPECT_EQ(Table::cell(row, 1), nullptr);
  EXPECT_EQ(Table::cell(row, 2)->text, "3");
  EXPECT_EQ(Table::cell(row, std::nullopt), nullptr);
  EXPECT_EQ(Table::cell(table.rows()[1], 2), nullptr) << "its row ends before";
}

TEST(Table, NumbersHaveADecimalCommaWhereCommasDoNotCut) {
  const Table by_comma("a,b\n1,2\n", "t.csv");
  const Table by_semicolon("a;b\n1;2\n", "t.csv");
  EXPECT_EQ(by_comma.number("12.5"), 12.5);
  EXPECT_FALSE(by_comma.number("12,5"));
  EXPECT_EQ(by_semicolon.number("12,5"), 12.5);
  EXPECT_EQ(by_semicolon.number(" 12.5 "), 12.5);
  for (const char* text : {"", "x", "12.5 s", "1 2", "inf", "nan", "1e400"})
    EXPECT_FALSE(by_comma.number(text)) << text;
}

TEST(Table, StepsAreAsFineAsTheLastDigit) {
  const Table by_comma("a,b\n1,2\n", "t.csv");
  const Table by_semicolon("a;b\n1;2\n", "t.csv");
  EXPECT_EQ(by_comma.step_of("12"), 1.0);
  EXPECT_DOUBLE_EQ(by_comma.step_of("12.5"), 0.1);
  EXPECT_DOUBLE_EQ(by_comma.step_of("12.30"), 0.01) << "a nought that was written counts";
  EXPECT_EQ(by_comma.step_of("12,30"), 1.0);
  EXPECT_DOUBLE_EQ(by_semicolon.step_of("12,30"), 0.01);
  EXPECT_DOUBLE_EQ(by_comma.step_of("0.1234567890123"), 1e-9) << "nobody measures finer";
}

TEST(Table, ThatHoldsNothingIsRefused) {
  for (const char* text : {"", "\n\n", "# only a note\n", "\xEF\xBB\xBF"})
    EXPECT_EQ(refusal(text), "t.csv: is empty; expected a heading and a line for each");
  EXPECT_EQ(refusal("only a heading\n"), "");
}

TEST(Table, OfTooManyLinesIsRefusedWithTheFirstTooMany) {
  std::string text = "a\n";
  for (int i = 0; i < 200000; ++i)
    text += "1\n";
  EXPECT_EQ(refusal(text), "");
  EXPECT_EQ(refusal(text + "1\n"), "t.csv:200002: more than 200000 lines");
}

TEST(Table, OfTooManyBytesIsRefused) {
  const std::string most(std::size_t{64} << 20, ' ');
  EXPECT_EQ(refusal(most + " "), "t.csv: more than 64 MiB; expected a table of some lines");
  EXPECT_EQ(refusal(most), "t.csv: is empty; expected a heading and a line for each");
}

TEST(Table, OfAFileThatIsNotThereIsSaid) {
  try {
    text_of_file("/no/such/table.csv");
    FAIL() << "there is no such file";
  } catch (const UnreadableLog& error) {
    EXPECT_STREQ(error.what(), "/no/such/table.csv: cannot be read");
  }
}

}  // namespace
}  // namespace platetally::meter
