// What is said first, and where the mark in the line stands.
#include <gtest/gtest.h>

#include "platetally/report.hpp"

namespace platetally {
namespace {

struct Row {
  const char* name;
  std::string excerpt;
  std::uint64_t column;
  std::uint64_t offset;
  std::string shown;  ///< the line with the excerpt
};

const std::vector<Row> kRows{
    {"in the middle", "G1 X1..5", 5, 0, "    line: G1 X>>1..5\n"},
    {"first column", "1G", 1, 0, "    line: >>1G\n"},
    {"just behind the line", "G1 X", 5, 0, "    line: G1 X>>\n"},
    {"a tab is one column", "\tG1 ?", 5, 0, "    line:  G1 >>?\n"},
    {"two bytes, one column", "M117 \xc3\xa9 ?", 9, 0, "    line: M117 \xc3\xa9 >>?\n"},
    {"three bytes, two columns", "\xe6\xa4\x8d ?", 5, 0, "    line: \xe6\xa4\x8d >>?\n"},
    {"bytes that are no text", "\xff\xfe?", 3, 0, "    line: \xef\xbf\xbd\xef\xbf\xbd>>?\n"},
    {"a line whose front is cut off", "5 Y..", 1004, 1000, "    line: 5 Y>>..\n"},
    {"a column that is not in the excerpt", "G1 X1", 900, 0, "    line: G1 X1\n"},
    {"a column before the excerpt", "G1 X1", 3, 10, "    line: G1 X1\n"},
    {"no column", "G1 X1", 0, 0, "    line: G1 X1\n"},
};

TEST(DiagnosticText, TheMarkStandsBeforeTheColumn) {
  for (const Row& row : kRows) {
    SCOPED_TRACE(row.name);
    Diagnostic diagnostic;
    diagnostic.code = "c";
    diagnostic.line = 7;
    diagnostic.column = row.column;
    diagnostic.message = "m";
    diagnostic.excerpt = row.excerpt;
    diagnostic.excerpt_offset = row.offset;
    const std::string place = row.column > 0 ? "p:7:" + std::to_string(row.column) : "p:7";
    EXPECT_EQ(to_text(diagnostic, "p"), place + ": c (warning): m\n" + row.shown);
  }
}

TEST(DiagnosticText, ALongLineIsCutAroundTheMark) {
  Diagnostic diagnostic;
  diagnostic.line = 1;
  diagnostic.column = 110;
  diagnostic.message = "m";
  diagnostic.excerpt = std::string(109, 'a') + '!' + std::string(10, 'b');
  const std::string text = to_text(diagnostic, "p", {.width = 80});
  const std::size_t line = text.find('\n') + 1;
  EXPECT_EQ(text.rfind("p:1:110: (warning): m\n", 0), 0U);
  EXPECT_LE(text.size() - line, 81U);
  EXPECT_NE(text.find("aaa>>!bbb"), std::string::npos) << text;
  EXPECT_TRUE(text.ends_with("bbb\n"));
}

TEST(DiagnosticText, HelpAndRepeatsHaveLinesOfTheirOwn) {
  Diagnostic diagnostic;
  diagnostic.code = "c";
  diagnostic.severity = Severity::error;
  diagnostic.message = "m";
  diagnostic.help = "h";
  diagnostic.count = 3;
  EXPECT_EQ(to_text(diagnostic, "p"), "p: c (error): m\n    mend: h\n    2 more of this kind\n");
}

}  // namespace
}  // namespace platetally
