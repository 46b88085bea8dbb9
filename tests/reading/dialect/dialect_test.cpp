// The table from words to meanings, and the parameters that a machine file names.
#include <gtest/gtest.h>

#include <fstream>
#include <set>
#include <sstream>

#include "reading/dialect/builtin_words.hpp"
#include "reading/dialect/parameters.hpp"
#include "reading/dialect/support.hpp"
#include "reading/dialect/table.hpp"

namespace platetally::dialect {
namespace {

using namespace test;

TEST(Table, KnowsEveryWordOfTheTradeOnce) {
  const Dialect dialect;
  const Table table(dialect);
  std::set<std::string> seen;
  for (const BuiltinWord& word : builtin_words()) {
    const std::string name =
        word.letter + std::to_string(word.number) + "." + std::to_string(word.fraction);
    EXPECT_TRUE(seen.insert(name).second) << name;
    EXPECT_EQ(table.find(lettered(word.letter, word.number, word.fraction)).meaning, word.meaning)
        << name;
  }
}

TEST(Table, AnotherNumberFractionOrLetterIsAnotherWord) {
  const Dialect dialect;
  const Table table(dialect);
  for (const auto& command :
       {lettered('G', 1, 1), lettered('G', 1, 0), lettered('M', 104, 7), lettered('G', 5),
        lettered('M', 999), lettered('M', 5000), lettered('M', -1), lettered('G', 2147483647),
        lettered('T', 1), named("G1X"), named("")})
    EXPECT_EQ(table.find(command).meaning, Meaning::unknown) << command.letter << command.number;
}

TEST(Table, RowsOfTheMachineFileWin) {
  Dialect dialect;
  dialect.rows = {
      row("m7401.3"), row("G29", DialectAction::probe),     row("WARM_UP"), row("T4000"),
      row("M4000"),   row("M7401.3", DialectAction::pause), row("M"),       row("M5.x"),
      row("")};
  const Table table(dialect);
  EXPECT_EQ(table.find(lettered('M', 7401, 3)).row, &dialect.rows[5]) << "the last row of a word";
  EXPECT_EQ(table.find(lettered('M', 7401)).meaning, Meaning::unknown);
  EXPECT_EQ(table.find(lettered('G', 29)).row, &dialect.rows[1]);
  EXPECT_EQ(table.find(lettered('T', 4000)).row, &dialect.rows[3]);
  EXPECT_EQ(table.find(lettered('M', 4000)).row, &dialect.rows[4]);
  EXPECT_EQ(table.find(named("warm_up")).row, &dialect.rows[2]);
  EXPECT_EQ(table.find(named("WARM_UPS")).row, nullptr);
  EXPECT_TRUE(table.has_tool_rows());
  const Dialect plain;
  EXPECT_FALSE(Table(plain).has_tool_rows());
}

TEST(Parameters, AreFoundByKey) {
  const struct {
    const char* text;
    const char* key;
    bool present, is_number;
    double value;
  } rows[] = {
      {" BED=60 TIP=215", "BED", true, true, 60},
      {" BED=60 TIP=215", "tip", true, true, 215},
      {"BED=60", "BE", false, false, 0},
      {"XBED=60", "BED", false, false, 0},
      {"BED=60 BED=70", "BED", true, true, 70},
      {"BED=\"60\"", "BED", true, true, 60},
      {"NOTE=\"a b BED=1\" BED=2", "BED", true, true, 2},
      {"BED=-.5", "BED", true, true, -0.5},
      {"BED=+5", "BED", true, true, 5},
      {"BED={bed}", "BED", true, false, 0},
      {"BED=", "BED", true, false, 0},
      {"BED=1E5", "BED", true, false, 0},
      {"BED=0x10", "BED", true, false, 0},
      {"BED=inf", "BED", true, false, 0},
      {"BED=1.2.3", "BED", true, false, 0},
      {"BED = 60", "BED", false, false, 0},
      {"BED=\"60", "BED", true, false, 0},
      {"", "BED", false, false, 0},
  };
  for (const auto& one : rows) {
    SCOPED_TRACE(one.text);
    const Parameter found = find_parameter(named("WARM_UP", one.text), one.key);
    EXPECT_EQ(found.present, one.present);
    EXPECT_EQ(found.is_number, one.is_number);
    if (one.is_number) {
      EXPECT_EQ(found.value, one.value);
    }
  }
}

TEST(Parameters, OfALetteredWordAreItsLetters) {
  gcode::Command command = lettered('M', 860);
  command.words.set('S', 12.5);
  EXPECT_EQ(find_parameter(command, "s").value, 12.5);
  EXPECT_FALSE(find_parameter(command, "P").present);
  EXPECT_FALSE(find_parameter(command, "").present);
}

// docs/words.md has a line for each word that is built in.
TEST(Documentation, ListsEveryWord) {
  std::ifstream in(std::string(PLATETALLY_TESTDATA) + "/../docs/words.md");
  std::ostringstream text;
  text << in.rdbuf();
  const std::string page = text.str();
  ASSERT_FALSE(page.empty());
  for (const BuiltinWord& word : builtin_words()) {
    std::string name = "`" + std::string(1, word.letter) + std::to_string(word.number);
    if (word.fraction >= 0)
      name += "." + std::to_string(word.fraction);
    EXPECT_NE(page.find(name + "`"), std::string::npos) << name << "` is not in docs/words.md";
  }
}

}  // namespace
}  // namespace platetally::dialect
