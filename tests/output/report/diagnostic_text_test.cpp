// Where the caret stands.
#include <gtest/gtest.h>

#include "platetally/report.hpp"

namespace platetally {
namespace {

struct Row {
  const char* name;
  std::string excerpt;
  std::uint64_t column;
  std::uint64_t offset;
  std::string shown;  ///< excerpt and caret lines
};

const std::vector<Row> kRows{
    {"in the middle", "G1 X1..5", 5, 0, "    G1 X1..5\n        ^\n"},
    {"first column", "1G", 1, 0, "    1G\n    ^\n"},
    {"just behind the line", "G1 X", 5, 0, "    G1 X\n        ^\n"},
    {"a tab is one column", "\tG1 ?", 5, 0, "     G1 ?\n        ^\n"},
    {"two bytes, one column", "M117 \xc3\xa9 ?", 9, 0, "    M117 \xc3\xa9 ?\n           ^\n"},
    {"three bytes, two columns", "\xe6\xa4\x8d ?", 5, 0, "    \xe6\xa4\x8d ?\n       ^\n"},
    {"bytes that are no text", "\xff\xfe?", 3, 0, "    \xef\xbf\xbd\xef\xbf\xbd?\n      ^\n"},
    {"a line whose front is cut off", "5 Y..", 1004, 1000, "    5 Y..\n       ^\n"},
    {"a column that is not in the excerpt", "G1 X1", 900, 0, "    G1 X1\n"},
    {"a column before the excerpt", "G1 X1", 3, 10, "    G1 X1\n"},
    {"no column", "G1 X1", 0, 0, "    G1 X1\n"},
};

TEST(DiagnosticText, TheCaretStandsBelowTheColumn) {
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
    EXPECT_EQ(to_text(diagnostic, "p"), place + ": warning: m [c]\n" + row.shown);
  }
}

TEST(DiagnosticText, ALongLineIsCutAroundTheCaret) {
  Diagnostic diagnostic;
  diagnostic.line = 1;
  diagnostic.column = 110;
  diagnostic.excerpt = std::string(109, 'a') + '!' + std::string(10, 'b');
  const std::string text = to_text(diagnostic, "p", {.width = 80});
  const std::size_t excerpt = text.find('\n') + 1;
  const std::size_t caret_line = text.find('\n', excerpt) + 1;
  EXPECT_LE(caret_line - excerpt, 81U);
  EXPECT_EQ(text.find('!') - excerpt, text.find('^') - caret_line);
}

TEST(DiagnosticText, HelpAndRepeatsHaveLinesOfTheirOwn) {
  Diagnostic diagnostic;
  diagnostic.code = "c";
  diagnostic.severity = Severity::error;
  diagnostic.message = "m";
  diagnostic.help = "h";
  diagnostic.count = 3;
  EXPECT_EQ(to_text(diagnostic, "p"), "p: error: m [c]\n    help: h\n    and 2 more like this\n");
}

}  // namespace
}  // namespace platetally
