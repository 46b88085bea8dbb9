// The grammar, row by row: a line, and a compact dump of what it says.
#include "reading/gcode/grammar.hpp"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <charconv>
#include <fstream>
#include <nlohmann/json.hpp>
#include <random>

#include "reading/gcode/faults.hpp"
#include "support/test_names.hpp"

namespace platetally::gcode {
namespace {

std::string dump(const Command& command) {
  std::string text;
  if (command.kind == CommandKind::named)
    return fmt::format("{}<{}>", command.name, command.text);
  if (command.kind == CommandKind::lettered) {
    text = command.bare_number ? fmt::format("{}?", command.letter)
                               : fmt::format("{}{}", command.letter, command.number);
    if (command.fraction >= 0)
      text += fmt::format(".{}", command.fraction);
  }
  for (char letter = 'A'; letter <= 'Z'; ++letter) {
    if (command.words.has(letter))
      text += fmt::format(" {}{:g}", letter, command.words[letter]);
    else if (command.words.has_bare(letter))
      text += fmt::format(" {}", letter);
  }
  if (!command.text.empty())
    text += fmt::format(" \"{}\"", command.text);
  return text;
}

std::string dump(const Line& line) {
  std::string result;
  for (std::size_t i = 0; i < line.commands; ++i)
    result += (i == 0 ? "" : " | ") + dump(line.command[i]);
  if (line.comment.data() != nullptr)
    result += fmt::format(" ;{}", line.comment);
  if (line.checksum != Checksum::absent)
    result += line.checksum == Checksum::right ? " *right" : " *wrong";
  if (line.fault != LineFault::none)
    result += fmt::format(" !{}@{}", code_of(line.fault), line.fault_column);
  return result;
}

std::string dump(std::string_view text) {
  static Line line;  // deliberately not cleared between lines
  parse_line(text, line);
  return dump(line);
}

/// The first line of `text`, read with what follows in sight, as a plate is read.
std::string dump_first(const std::string& text, std::size_t& length) {
  static Line line;
  length = static_cast<std::size_t>(parse_line(text.data(), text.data() + text.size(), line) -
                                    text.data());
  return dump(line);
}

std::string dump_word_by_word(std::string_view text) {
  static Line line;
  parse_line_word_by_word(text, line);
  return dump(line);
}

struct Row {
  const char* line;
  const char* says;
};

class Lines : public testing::TestWithParam<Row> {};

std::string by_line(const testing::TestParamInfo<Row>& info) {
  return platetally::test::numbered(info.index, info.param.line);
}

TEST_P(Lines, SayWhatTheySay) {
  const std::string text = GetParam().line;
  EXPECT_EQ(dump(text), GetParam().says) << text;
  EXPECT_EQ(dump_word_by_word(text), GetParam().says) << text;
  for (const char* end : {"\n", "\r\n", "\nG1 X5\n", "\nG1 X5", "\n\n"}) {
    std::size_t length = 0;
    EXPECT_EQ(dump_first(text + end, length), GetParam().says) << text;
    EXPECT_EQ(length, text.size() + (*end == '\r' ? 2 : 1)) << text;
  }
}

INSTANTIATE_TEST_SUITE_P(
    Numbers, Lines,
    testing::Values(
        Row{"G1 X1.5", "G1 X1.5"}, Row{"G1 X.5 Y-.5", "G1 X0.5 Y-0.5"},
        Row{"G1 X5. Y+8", "G1 X5 Y8"}, Row{"G1 X-0.000 Y-0 Z007", "G1 X-0 Y-0 Z7"},
        Row{"G1 X1E5", "G1 E5 X1"},  // no exponents: X1 and E5
        Row{"G1 X0x10", "G1 X10 !letter-repeated@6"}, Row{"G1 Xnan", "G1 A N X !letter-repeated@7"},
        Row{"G1 X0.30000000000000004", "G1 X0.3"}, Row{"G1 X1.2.3", " !number-malformed@5"},
        Row{"G1.2.3", " !number-malformed@2"}, Row{"G1 X+", " !number-malformed@5"},
        Row{"G1 X-", " !number-malformed@5"}, Row{"G1 X.", " !number-malformed@5"},
        Row{"g0x +0. 12 34y 7", "G0 X0.1234 Y7"},  // NISTIR 6556, 3.3
        Row{"G1 X1 E2.4e-15", "G1 E2.4e-15 X1 !exponent-read@11"},
        Row{"G1 E-1.5E+2", "G1 E-150 !exponent-read@9"},
        Row{"G1 E1e999", "G1 E999 !letter-repeated@6"},  // no number: two words
        Row{"G1 E1e-999", "G1 E0 !exponent-read@6"}, Row{"G1 E1e2.5", "G1 E2.5 !letter-repeated@6"},
        Row{"G1 E1 E2", "G1 E2 !letter-repeated@7"},
        Row{"G1 X1e-2 Y3 E5", "G1 E5 X0.01 Y3 !exponent-read@6"}, Row{"G1 X1E-5", "G1 E-5 X1"},
        Row{"G1 X1E5 E2", "G1 E2 X1 !letter-repeated@9"},
        Row{"G1 F5400,000000", "G1 F5400 !decimal-comma@9"},
        Row{"G1 X-1,25 Y2", "G1 X-1.25 Y2 !decimal-comma@7"},
        Row{"G1 X1.5,2", " !character-stray@8"}, Row{"G1 X1, Y2", " !character-stray@6"},
        Row{"G1\xC2\xA0X5\xC2\xA0Y237.5\xC2;x", "G1 X5 Y237.5 ;x"}, Row{"G1 X 5 Y\t6", "G1 X5 Y6"}),
    by_line);

INSTANTIATE_TEST_SUITE_P(
    Arguments, Lines,
    testing::Values(
        Row{"G28 Z P0 T300", "G28 P0 T300 Z"}, Row{"G28 X M84", "G28 M84 X"},
        Row{"G29 T1", "G29 T1"}, Row{"G1 X1 T1", "G1 X1 | T1"},
        Row{"M900 K0.02 L M1", "M900 K0.02 L M1"}, Row{"M742 M", "M742 M"},
        Row{"M7402 set_flag : 1 T5 M2 ; go", "M7402 E S T \"set_flag : 1 T5 M2 \" ; go"},
        Row{"M7402 S1 P2", "M7402 P2 S1"},
        Row{"G7411 bedTemp=65", "G7411 B D E M P T \"bedTemp=65\""},
        Row{"M7406 A0 M104 S200", "M7406 A0 M104 S200"},
        Row{"M73 P12 M104 S200", "M73 P12 | M104 S200"},
        Row{"M745 SGVsM6=", "M745 G M6 S V \"SGVsM6=\""},
        Row{"M746 P[bed] Q1", "M746 \"P[bed] Q1\""}, Row{"M104 S{bed}", " !placeholder-unfilled@7"},
        Row{"M106 S1.2.3", " !number-malformed@7"}, Row{"M115 U3.9.2 {x}", "M115 \"U3.9.2 {x}\""}),
    by_line);

INSTANTIATE_TEST_SUITE_P(
    Words, Lines,
    testing::Values(Row{"M84 X Y E", "M84 E X Y"}, Row{"G28 X", "G28 X"}, Row{"M221 S", "M221 S"},
                    Row{"M104.7 P5", "M104.7 P5"}, Row{"G29.7", "G29.7"},
                    Row{"F900 E.2 X1 G1", " E0.2 F900 X1 | G1"}, Row{"  G1  X1  ", "G1 X1"},
                    Row{"G1X10Y5E.2", "G1 E0.2 X10 Y5"}, Row{"t1", "T1"}, Row{"T-1", "T-1"},
                    Row{"G90 G01 Z0.8", "G90 | G1 Z0.8"},
                    Row{"M109 S200G1 X0.1 Y200.0", "M109 S200 | G1 X0.1 Y200"},
                    Row{"G1 X31.74 Y98.8G1 Z2", "G1 X31.74 Y98.8 | G1 Z2"},
                    Row{"X-20 Y-24.5 F570", " F570 X-20 Y-24.5"},
                    Row{"M104 S200 T1", "M104 S200 T1"},
                    Row{"M204 P800 R1000 T1500", "M204 P800 R1000 T1500"},
                    Row{"G10 P1 S200 R150", "G10 P1 R150 S200"}, Row{"G92 E0 T1", "G92 E0 | T1"},
                    Row{"S0A", " A S0"}, Row{"G1 X1 X2", "G1 X2 !letter-repeated@7"},
                    Row{"N12 G1 X3", "G1 X3"}, Row{"/G1 X3", "G1 X3"}, Row{"%", ""}, Row{"", ""},
                    Row{"   ", ""},
                    Row{"G0 G0 G0 G0 G0 G0 G0 G0 G0",
                        "G0 | G0 | G0 | G0 | G0 | G0 | G0 | G0 !commands-too-many@25"}),
    by_line);

INSTANTIATE_TEST_SUITE_P(
    CommentsAndText, Lines,
    testing::Values(Row{"G1 X1 ; moss", "G1 X1 ; moss"}, Row{";", " ;"},
                    Row{"G80 M5 (stop motion)", "G80 | M5 ;stop motion"},
                    Row{"(a (b) c) G1 X1", "G1 X1 ;a (b) c"},
                    Row{"(a (b (c) d) e) G1 X1", "G1 X1 ;a (b (c) d) e"},
                    Row{"(x) G1 ; y (z)", "G1 ;x"}, Row{"; G1 X1 (y)", " ; G1 X1 (y)"},
                    Row{"G1 X1 (open", "G1 X1 ;open !comment-unclosed@7"},
                    Row{"M117 tray 3 of 5", "M117 \"tray 3 of 5\""},
                    Row{"M117 tray ; done", "M117 \"tray \" ; done"},
                    Row{"WARM_UP BED=60 HEAD=215 ; go", "WARM_UP<BED=60 HEAD=215 > ; go"},
                    Row{"begin_tray", "begin_tray<>"}, Row{"M7405 S\"garden shed\"", "M7405 S"}),
    by_line);

INSTANTIATE_TEST_SUITE_P(Strange, Lines,
                         testing::Values(Row{"M190 S{bed}", " !placeholder-unfilled@7"},
                                         Row{"M190 S[bed_c]", " !placeholder-unfilled@7"},
                                         Row{"#3=15", " !character-stray@1"},
                                         Row{"R20=100", " !character-stray@4"},
                                         Row{"@100", " !character-stray@1"},
                                         Row{"G1 X1 = 5", " !character-stray@7"},
                                         Row{"\xff\xfe", " !character-stray@1"}),
                         by_line);

// The exclusive or of "N3 T0" is 57, and so on: NISTIR 6556 has none, the trade does; computed.
INSTANTIATE_TEST_SUITE_P(
    Checksums, Lines,
    testing::Values(Row{"N3 T0*57", "T0 *right"}, Row{"N4 G92 E0*67", "G92 E0 *right"},
                    Row{"N5 G28*22", "G28 *right"}, Row{"N6 G1 F1500.0*82", "G1 F1500 *right"},
                    Row{"N7 G1 X2.0 Y2.0 F3000.0*85", "G1 F3000 X2 Y2 *right"},
                    Row{"N8 G1 X3.0 Y3.0*33", "G1 X3 Y3 *right"},
                    Row{"N123 M105*39", "M105 *right"}, Row{"N3 T0*58", "T0 *wrong"},
                    Row{"G1 X1 ; 5 * 3", "G1 X1 ; 5 * 3"}, Row{"M117 2*3", "M117 \"2*3\""}),
    by_line);

TEST(Standard, ExamplesOfTheReport) {
  std::ifstream file(std::string(PLATETALLY_TESTDATA) + "/checks/rs274_checks.json");
  const auto checks = nlohmann::json::parse(file);
  for (const auto& entry : checks["syntax"]) {
    SCOPED_TRACE(entry["id"].get<std::string>());
    if (entry.contains("same_as")) {
      EXPECT_EQ(dump(entry["input"].get<std::string>()), dump(entry["same_as"].get<std::string>()));
    }
    if (entry.contains("numbers_ok"))
      for (const auto& number : entry["numbers_ok"]) {
        const std::string line = "G1 X" + number.get<std::string>();
        Line parsed;
        parse_line(line, parsed);
        EXPECT_EQ(parsed.fault, LineFault::none) << line;
        EXPECT_DOUBLE_EQ(parsed.command[0].words['X'], std::stod(number.get<std::string>()))
            << line;
      }
    if (entry.contains("numbers_error"))
      for (const auto& number : entry["numbers_error"]) {
        if (number.get<std::string>().empty())
          continue;  // a letter without a number is common in printers' files: read as such
        EXPECT_NE(dump("G1 X" + number.get<std::string>()).find("number-malformed"),
                  std::string::npos)
            << number;
      }
  }
}

TEST(Numbers, AreRoundedLikeTheStandardLibraryDoes) {
  std::mt19937_64 random(5);
  Line line;
  for (int i = 0; i < 100'000; ++i) {
    const int digits = 1 + static_cast<int>(random() % 24);
    std::string number;
    for (int d = 0; d < digits; ++d)
      number += static_cast<char>('0' + random() % 10);
    number.insert(random() % (number.size() + 1), ".");
    if (random() % 2 == 0)
      number.insert(0, "-");
    double expected = 0.0;
    std::from_chars(number.data(), number.data() + number.size(), expected,
                    std::chars_format::fixed);
    const std::string text = "X" + number + "Y1";
    parse_line(text, line);
    ASSERT_EQ(line.commands, 1U) << text;
    ASSERT_EQ(line.command[0].words['X'], expected) << text;
    ASSERT_EQ(line.command[0].words['Y'], 1.0) << text;
  }
}

TEST(Lines, CaseBlanksAndCommentsChangeNoNumber) {
  const char* const lines[] = {"G1 X10.5 Y-3.25 E.125 F1800", "M109 S215 T1", "G2 X1 Y2 I3 J4",
                               "T1", "G92 E0"};
  for (const std::string plain : lines) {
    const std::string expected = dump(plain);
    std::string lower = plain;
    std::transform(lower.begin(), lower.end(), lower.begin(),
                   [](char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c + 32) : c; });
    std::string packed = plain;
    packed.erase(std::remove(packed.begin(), packed.end(), ' '), packed.end());
    std::string spread;
    for (const char c : plain)
      spread += c == ' ' ? std::string("  \t ") : std::string(1, c);
    EXPECT_EQ(dump(lower), expected);
    EXPECT_EQ(dump(packed), expected);
    EXPECT_EQ(dump("  " + spread + " "), expected);
    EXPECT_EQ(dump(plain + "\r"), expected);
    EXPECT_EQ(dump(plain + " ;x").substr(0, expected.size()), expected);
  }
}

TEST(Lines, AnyBytesAreHarmlessAndColumnsLieInTheLine) {
  std::mt19937 random(7);
  const std::string letters = "GMTXYZEFN0123456789.-+ ;()*={}[]\"/%_a\xff";
  Line line;
  for (int i = 0; i < 200'000; ++i) {
    std::string text(random() % 40, ' ');
    for (char& c : text)
      c = letters[random() % letters.size()];
    parse_line(text, line);
    ASSERT_LE(line.commands, kMostCommands);
    ASSERT_LE(line.fault_column, text.size() + 1) << text;
    std::size_t length = 0;
    ASSERT_EQ(dump(line), dump_word_by_word(text)) << text;
    ASSERT_EQ(dump_first(text + "\nG1 X1", length), dump(text)) << text;
    ASSERT_EQ(length, text.size() + 1) << text;
    parse_line(text, line);
    for (std::size_t c = 0; c < line.commands; ++c)
      for (char letter = 'A'; letter <= 'Z'; ++letter)
        if (line.command[c].words.has(letter)) {
          ASSERT_TRUE(std::isfinite(line.command[c].words[letter])) << text;
        }
  }
}

TEST(Faults, SayWhatWasFoundExpectedAndDone) {
  Line line;
  const std::string text = "G1 X1.2.3 Y5";
  parse_line(text, line);
  const Diagnostic fault = describe_fault(line, text, 42);
  EXPECT_EQ(fault.code, "number-malformed");
  EXPECT_EQ(fault.line, 42U);
  EXPECT_EQ(fault.column, 5U);
  EXPECT_EQ(fault.severity, Severity::error);
  EXPECT_NE(fault.message.find("found '1.2.3 Y5'"), std::string::npos) << fault.message;
  EXPECT_NE(fault.message.find("expected a number"), std::string::npos);
  EXPECT_NE(fault.message.find("left out"), std::string::npos);
}

}  // namespace
}  // namespace platetally::gcode
