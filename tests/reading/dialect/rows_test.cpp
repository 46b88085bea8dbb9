// Rows of the machine file over the trade's words, and arguments one after the other.
#include <fmt/format.h>
#include <gtest/gtest.h>

#include <array>
#include <random>
#include <string>
#include <vector>

#include "reading/dialect/builtin_words.hpp"
#include "reading/dialect/parameters.hpp"
#include "reading/dialect/support.hpp"
#include "reading/dialect/table.hpp"
#include "reading/dialect/text.hpp"

namespace platetally::dialect {
namespace {

using namespace test;

TEST(Rows, TakeThePlaceOfEveryWordOfTheTradeAndOfNoOther) {
  for (const BuiltinWord& word : builtin_words()) {
    std::string name = fmt::format("{}{}", static_cast<char>(word.letter + 32), word.number);
    if (word.fraction >= 0)
      name += fmt::format(".{}", word.fraction);
    SCOPED_TRACE(name);
    Dialect dialect;
    dialect.rows = {row(name.c_str(), DialectAction::pause)};
    const Table table(dialect);
    const Found found = table.find(lettered(word.letter, word.number, word.fraction));
    EXPECT_EQ(found.meaning, Meaning::machine_row);
    EXPECT_EQ(found.row, &dialect.rows[0]);
    int others = 0;
    for (const BuiltinWord& other : builtin_words()) {
      if (&other == &word)
        continue;
      ++others;
      EXPECT_EQ(table.find(lettered(other.letter, other.number, other.fraction)).meaning,
                other.meaning);
    }
    EXPECT_GT(others, 100);
  }
}

TEST(Rows, OfOneWordTheLastCountsWhateverItsKind) {
  for (const char* word : {"G29", "G38.2", "M7401.3", "M70000", "T4000", "WARM_UP"}) {
    SCOPED_TRACE(word);
    Dialect dialect;
    dialect.rows = {row(word, DialectAction::ignore), row("M999", DialectAction::home),
                    row(word, DialectAction::pause), row("COOL_DOWN", DialectAction::probe)};
    const Table table(dialect);
    const std::string text = word;
    gcode::Command command;
    if (text == "WARM_UP") {
      command = named("Warm_Up");
    } else {
      const std::size_t point = text.find('.');
      command = lettered(text[0], std::stoi(text.substr(1)),
                         point == std::string::npos ? -1 : std::stoi(text.substr(point + 1)));
    }
    EXPECT_EQ(table.find(command).row, &dialect.rows[2]);
  }
}

TEST(Rows, AreFoundAgainHoweverManyThereAre) {
  std::mt19937 random(6);
  Dialect dialect;
  std::vector<gcode::Command> commands;
  for (int i = 0; i < 3000; ++i) {
    const int number = i;  // beyond and within what is looked up directly
    const int fraction = static_cast<int>(random() % 4) - 1;
    const char letter = "GMT"[random() % 3];
    dialect.rows.push_back(row(
        (fmt::format("{}{}", letter, number) + (fraction < 0 ? "" : fmt::format(".{}", fraction)))
            .c_str()));
    commands.push_back(lettered(letter, number, fraction));
  }
  const Table table(dialect);
  for (std::size_t i = 0; i < commands.size(); ++i)
    ASSERT_EQ(table.find(commands[i]).row, &dialect.rows[i]) << dialect.rows[i].word;
  EXPECT_TRUE(table.has_tool_rows());
}

TEST(Rows, OnlyAWholeWordIsLettered) {
  // What is no letter, number and fraction is a name, and is found by that name.
  for (const char* word : {"G", "M5x", "M5.", "M5.x", "M.5", "GX1", "X1", "N5", "M 5", "MM5",
                           "M5.1.2", "M5.-1", "M99999999999", "_M5", "T"}) {
    SCOPED_TRACE(word);
    Dialect dialect;
    dialect.rows = {row(word)};
    const Table table(dialect);
    EXPECT_EQ(table.find(named(word)).row, &dialect.rows[0]);
    EXPECT_EQ(table.find(lettered('M', 5)).meaning, Meaning::nothing) << "as the trade has it";
    EXPECT_FALSE(table.has_tool_rows());
  }
}

TEST(Rows, ATNumberIsAToolUnlessARowNamesIt) {
  Dialect dialect;
  dialect.rows = {row("t7"), row("M7"), row("TOOL_7")};
  const Table table(dialect);
  EXPECT_EQ(table.find(lettered('T', 7)).row, &dialect.rows[0]);
  for (const int number : {-1, 0, 6, 8, 70, 1024})
    EXPECT_EQ(table.find(lettered('T', number)).meaning, Meaning::unknown) << number;
  dialect.rows.erase(dialect.rows.begin());
  EXPECT_FALSE(Table(dialect).has_tool_rows()) << "names with a T are no T words";
}

TEST(Rows, ALetteredRowIsNotFoundByItsName) {
  Dialect dialect;
  dialect.rows = {row("M7401")};
  const Table table(dialect);
  EXPECT_EQ(table.find(named("M7401")).meaning, Meaning::unknown);
  EXPECT_NE(table.find(lettered('M', 7401)).row, nullptr);
}

TEST(Rows, LeadingNoughtsAreTheSameNumber) {
  Dialect dialect;
  dialect.rows = {row("M0007", DialectAction::pause), row("G01.2", DialectAction::home)};
  const Table table(dialect);
  EXPECT_EQ(table.find(lettered('M', 7)).row, &dialect.rows[0]);
  EXPECT_EQ(table.find(lettered('G', 1, 2)).row, &dialect.rows[1]);
}

std::vector<std::string> arguments_of(std::string_view text) {
  std::vector<std::string> all;
  for_each_argument(text, [&](std::string_view key, const Parameter& parameter) {
    all.push_back(fmt::format("{}|{}|{}", key, parameter.text,
                              parameter.is_number ? fmt::format("{}", parameter.value) : ""));
    EXPECT_TRUE(parameter.present);
  });
  return all;
}

TEST(Arguments, ComeInTurnWithOrWithoutAKey) {
  using All = std::vector<std::string>;
  EXPECT_EQ(arguments_of(""), All{});
  EXPECT_EQ(arguments_of(" \t\r "), All{});
  EXPECT_EQ(arguments_of("A=1 B=2"), (All{"A|1|1", "B|2|2"}));
  EXPECT_EQ(arguments_of("\tA=1\t B=x\r"), (All{"A|1|1", "B|x|"}));
  EXPECT_EQ(arguments_of("60 BED=7"), (All{"|60|60", "BED|7|7"}));
  EXPECT_EQ(arguments_of("A=1=2"), All{"A|1=2|"}) << "the first sign parts them";
  EXPECT_EQ(arguments_of("=5"), All{"|5|5"});
  EXPECT_EQ(arguments_of("A=\"b c\" D=\"\""), (All{"A|b c|", "D||"}));
  EXPECT_EQ(arguments_of("A=\"b c"), All{"A|\"b c|"}) << "an open quote takes the rest";
  EXPECT_EQ(arguments_of("A=\"5\""), All{"A|5|5"});
  EXPECT_EQ(arguments_of("A=\""), All{"A|\"|"});
}

TEST(Arguments, ANumberIsReadAsItIsWritten) {
  std::mt19937 random(9);
  std::uniform_real_distribution<double> any(-1e4, 1e4);
  for (int i = 0; i < 2000; ++i) {
    const std::string written = fmt::format("{:.{}f}", any(random), random() % 9);
    const std::string text = "K=" + written;
    const Parameter found = find_parameter(named("X", text), "k");
    ASSERT_TRUE(found.is_number) << written;
    EXPECT_EQ(found.value, std::stod(written)) << written;
    EXPECT_EQ(found.text, written);
  }
  for (const char* none : {"", "-", "+", ".", "-.", "5-", "--5", "+-5", "++5", "-+5", "1,5", "1.5.",
                           "nan", "1e5", "\xc2\xb2"}) {
    const std::string text = fmt::format("K={}", none);
    EXPECT_FALSE(find_parameter(named("X", text), "K").is_number) << none;
  }
  const std::string endless = "K=" + std::string(400, '9');
  EXPECT_FALSE(find_parameter(named("X", endless), "K").is_number) << "beyond any double";
  EXPECT_TRUE(find_parameter(named("X", endless), "K").present);
}

TEST(Arguments, OfALetteredWordAreLettersFirstAndTextThen) {
  gcode::Command command = lettered('M', 860);
  command.text = "S=7 BED=60";
  EXPECT_EQ(find_parameter(command, "S").value, 7) << "in the text, as there is no letter S";
  command.words.set('S', 12);
  EXPECT_EQ(find_parameter(command, "S").value, 12);
  EXPECT_EQ(find_parameter(command, "s").value, 12);
  EXPECT_EQ(find_parameter(command, "bed").value, 60);
  gcode::Command by_name = named("X", "S=7");
  by_name.words.set('S', 12);
  EXPECT_EQ(find_parameter(by_name, "S").value, 7) << "a name has no letters";
}

TEST(Text, IsComparedWithoutCaseInAsciiOnly) {
  EXPECT_TRUE(equal_without_case("Prime-Tower 1", "pRIME-tOWER 1"));
  EXPECT_FALSE(equal_without_case("\xc3\xbc", "\xc3\x9c")) << "bytes beyond ASCII are themselves";
  EXPECT_FALSE(equal_without_case("[", "{")) << "32 apart, and no letters";
  EXPECT_FALSE(equal_without_case("a", "ab"));
  EXPECT_TRUE(starts_without_case("PURGE here", "purge"));
  EXPECT_FALSE(starts_without_case("PURG", "purge"));
  EXPECT_TRUE(starts_without_case("", ""));
  constexpr std::array<std::string_view, 2> kWords{"fan", "FANS"};
  EXPECT_TRUE(is_one_of("Fans", kWords));
  EXPECT_FALSE(is_one_of("fa", kWords));
  EXPECT_EQ(without_leading_blanks(" \t\r a b "), "a b ");
  EXPECT_EQ(without_leading_blanks(" \t"), "");
}

}  // namespace
}  // namespace platetally::dialect
