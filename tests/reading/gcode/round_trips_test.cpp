// Lines written out and read again, checksums, and what is said of every fault.
#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <random>
#include <string>
#include <vector>

#include "reading/gcode/faults.hpp"
#include "reading/gcode/grammar.hpp"
#include "reading/gcode/stated.hpp"
#include "support/test_names.hpp"

namespace platetally::gcode {
namespace {

struct Word {
  char letter;
  double value;
};

/// Letters of a G1 that begin no command, each once.
std::vector<Word> any_words(std::mt19937& random) {
  std::string letters = "ABCDEFHIJKLPQRSUVWXYZ";
  std::shuffle(letters.begin(), letters.end(), random);
  std::vector<Word> words;
  for (std::size_t i = 0; i < random() % 8; ++i)
    words.push_back({letters[i], 0.001 * static_cast<double>(static_cast<long>(random() % 2000001) -
                                                             1000000L)});
  return words;
}

std::string written(const std::vector<Word>& words, std::mt19937& random) {
  std::string text;
  for (const Word& word : words) {
    text += std::string(random() % 3, random() % 2 == 0 ? ' ' : '\t');
    text += random() % 2 == 0 ? word.letter : static_cast<char>(word.letter + 32);
    // A letter and its number may stand apart, and zeros and a plus change nothing.
    const std::string number = fmt::format("{:.3f}", std::abs(word.value));
    text += word.value < 0.0 ? "-" : random() % 4 == 0 ? "+" : "";
    text += std::string(random() % 3, '0') + number + std::string(random() % 4, '0');
  }
  return text;
}

TEST(Written, WordsAreReadAgainInAnyWriting) {
  std::mt19937 random(91);
  Line line;
  for (int round = 0; round < 20'000; ++round) {
    const std::vector<Word> words = any_words(random);
    const std::string text = "G1" + written(words, random) + (random() % 3 == 0 ? " ; moss" : "");
    parse_line(text, line);
    ASSERT_EQ(line.fault, LineFault::none) << text;
    ASSERT_EQ(line.commands, 1U) << text;
    const Command& command = line.command[0];
    ASSERT_TRUE(command.is('G', 1)) << text;
    ASSERT_TRUE(command.is_motion());
    std::uint32_t mask = 0;
    for (const Word& word : words) {
      mask |= 1U << Words::index(word.letter);
      ASSERT_TRUE(command.words.has(word.letter)) << text;
      ASSERT_EQ(command.words[word.letter], std::stod(fmt::format("{:.3f}", word.value))) << text;
    }
    ASSERT_EQ(command.words.mask, mask) << text;
    ASSERT_EQ(command.words.bare, 0U) << text;
  }
}

TEST(Written, CommandsOfALineAreReadOneByOne) {
  std::mt19937 random(92);
  constexpr std::array<int, 6> kNumbers{0, 1, 21, 90, 92, 17};
  Line line;
  for (int round = 0; round < 5000; ++round) {
    const std::size_t count = 1 + random() % kMostCommands;
    std::string text;
    std::vector<int> numbers;
    std::vector<std::size_t> columns;
    for (std::size_t i = 0; i < count; ++i) {
      numbers.push_back(kNumbers[random() % kNumbers.size()]);
      columns.push_back(text.size() + 1);
      text += fmt::format("G{} X{} ", numbers.back(), random() % 100);
    }
    parse_line(text, line);
    ASSERT_EQ(line.commands, count) << text;
    for (std::size_t i = 0; i < count; ++i) {
      ASSERT_TRUE(line.command[i].is('G', numbers[i])) << text;
      ASSERT_EQ(line.command[i].column, columns[i]) << text;
    }
  }
}

/// The trade's: the exclusive or of all bytes before the mark (common practice, no source).
std::string with_sum(const std::string& text) {
  unsigned sum = 0;
  for (const char c : text)
    sum ^= static_cast<unsigned char>(c);
  return fmt::format("{}*{}", text, sum);
}

TEST(Checksum, OfAnyLineIsRightAndOfAnyOtherWrong) {
  std::mt19937 random(93);
  Line line;
  for (int round = 0; round < 3000; ++round) {
    const std::string text = fmt::format("N{} G1 X{}.{} Y{} E.{}", round, random() % 200,
                                         random() % 1000, random() % 200, random() % 100);
    parse_line(with_sum(text), line);
    ASSERT_EQ(line.checksum, Checksum::right) << text;
    ASSERT_EQ(line.commands, 1U);
    // Any one digit changed is noticed: no two digits are equal in all bits.
    std::string other = with_sum(text);
    std::size_t at = random() % text.size();
    while (other[at] < '0' || other[at] > '9')
      at = (at + 1) % text.size();
    other[at] = other[at] == '9' ? '0' : static_cast<char>(other[at] + 1);
    parse_line(other, line);
    ASSERT_EQ(line.checksum, Checksum::wrong) << other;
    ASSERT_EQ(line.commands, 1U) << "a wrong sum is said, and the line is read";
    parse_line(text, line);
    ASSERT_EQ(line.checksum, Checksum::absent);
  }
}

TEST(Lines, OfATextAreReadOneBehindTheOther) {
  std::mt19937 random(94);
  for (int round = 0; round < 200; ++round) {
    std::vector<std::string> lines(1 + random() % 20);
    std::string text;
    for (std::string& one : lines) {
      one = random() % 4 == 0 ? "" : fmt::format("G1 X{}", random() % 1000);
      text += one + (random() % 2 == 0 ? "\n" : "\r\n");
    }
    const bool has_end = random() % 2 == 0;
    if (!has_end && !lines.back().empty())
      text.erase(text.find_last_not_of("\r\n") + 1);
    const char* at = text.data();
    const char* const last = text.data() + text.size();
    Line line;
    for (const std::string& one : lines) {
      ASSERT_NE(at, last);
      const char* const next = parse_line(at, last, line);
      EXPECT_EQ(line_text(at, next), one);
      EXPECT_EQ(line.commands, one.empty() ? 0U : 1U);
      at = next;
    }
    EXPECT_EQ(at, last);
  }
}

struct Fault {
  const char* name;
  std::string line;
  const char* code;
  Severity severity;
  std::size_t column;
  const char* message;
};

class EveryFault : public testing::TestWithParam<Fault> {};

TEST_P(EveryFault, SaysWhatWasFoundExpectedAndDone) {
  const Fault& fault = GetParam();
  Line line;
  parse_line(fault.line, line);
  ASSERT_NE(line.fault, LineFault::none);
  const Diagnostic said = describe_fault(line, fault.line, 7);
  EXPECT_EQ(said.code, fault.code);
  EXPECT_EQ(said.code, code_of(line.fault));
  EXPECT_EQ(said.severity, fault.severity);
  EXPECT_EQ(said.line, 7U);
  EXPECT_EQ(said.column, fault.column);
  EXPECT_EQ(said.message, fault.message);
  EXPECT_EQ(said.excerpt, fault.line);
  EXPECT_EQ(leaves_line_out(line.fault), said.message.ends_with("the line was left out"));
  if (leaves_line_out(line.fault)) {
    EXPECT_EQ(line.commands, 0U);
  }
}

INSTANTIATE_TEST_SUITE_P(
    Of, EveryFault,
    testing::Values(
        Fault{"number", "G1 X1.2.3", "number-malformed", Severity::error, 5,
              "found '1.2.3'; expected a number: an optional sign, digits, at most one point, at "
              "least one digit; the line was left out"},
        Fault{"sign at the end", "G1 X-", "number-malformed", Severity::error, 5,
              "found '-'; expected a number: an optional sign, digits, at most one point, at least "
              "one digit; the line was left out"},
        Fault{"stray character", "G1 X1 = 5 and so on and on", "character-stray", Severity::error,
              7,
              "found '= 5 and so o'; expected a word (a letter and a number), a comment or the end "
              "of the line; the line was left out"},
        Fault{"open comment", "G1 X1 (tag", "comment-unclosed", Severity::warning, 7,
              "found '(tag'; expected ')' before the end of the line; the rest of the line was "
              "read as the comment"},
        Fault{"letter twice", "G1 X1 X2", "letter-repeated", Severity::note, 7,
              "found 'X2'; expected each letter once in a command; the last value counts"},
        Fault{"placeholder", "M104 S{bed}", "placeholder-unfilled", Severity::error, 7,
              "found '{bed}'; expected a number; a value in brackets was never filled in; the line "
              "was left out"},
        Fault{"too many commands", "G0 G0 G0 G0 G0 G0 G0 G0 G0", "commands-too-many",
              Severity::error, 25,
              "found 'G0'; expected at most 8 commands on a line; the commands beyond were left "
              "out"},
        Fault{"exponent", "G1 E2.4e-15", "exponent-read", Severity::note, 8,
              "found 'e-15'; expected a number without an exponent; a second E right behind the "
              "digits of a number can be nothing else; it was read as the exponent"},
        Fault{"decimal comma", "G1 F5400,5", "decimal-comma", Severity::warning, 9,
              "found ',5'; expected a point before the decimals; the comma was read as one"}),
    [](const auto& fault) { return test::readable(fault.param.name); });

TEST(Faults, BehindTheLineAreAtItsEnd) {
  Line line;
  line.fault = LineFault::line_too_long;
  line.fault_column = 4;
  const Diagnostic said = describe_fault(line, "G1", 3);
  EXPECT_EQ(said.message,
            "found the end of the line; expected at most 1 MiB in a line; the line was left out");
  EXPECT_EQ(said.code, "line-too-long");
}

std::vector<double> values_of(const std::string& comment) {
  const auto statements = read_statements(comment);
  return statements.size() == 1 ? statements[0].values : std::vector<double>{};
}

TEST(Statements, OfOneLengthOrMassAreTheSameInEveryUnit) {
  for (const double mm : {1.0, 250.0, 12345.5}) {
    for (const std::string& text :
         {fmt::format("filament length: {} mm", mm),
          fmt::format("filament length: {} cm", mm / 10.0),
          fmt::format("filament length: {} m", mm / 1000.0),
          fmt::format("filament length [mm] = {}", mm), fmt::format("Filament_Length_mm={}", mm),
          fmt::format("  filament   length  :  {}mm", mm)}) {
      const auto values = values_of(text);
      ASSERT_EQ(values.size(), 1U) << text;
      EXPECT_NEAR(values[0], mm, 1e-9 * mm) << text;
    }
  }
  for (const std::string& text :
       {std::string("filament weight: 1250 g"), std::string("filament weight: 1.25 kg"),
        std::string("filament mass [g] = 1250")}) {
    const auto values = values_of(text);
    ASSERT_EQ(values.size(), 1U) << text;
    EXPECT_NEAR(values[0], 1250.0, 1e-9) << text;
  }
}

TEST(Statements, OfOneTimeAreTheSameInEveryWriting) {
  std::mt19937 random(95);
  for (int round = 0; round < 200; ++round) {
    const int h = static_cast<int>(random() % 24), m = static_cast<int>(random() % 60),
              s = static_cast<int>(random() % 60);
    const double seconds = 3600.0 * h + 60.0 * m + s;
    for (const std::string& text :
         {fmt::format("print time: {:02}:{:02}:{:02}", h, m, s),
          fmt::format("estimated time: {}h {}m {}s", h, m, s),
          fmt::format("Estimated_Printing_Time = {} hours {} minutes {} seconds", h, m, s),
          fmt::format("TIME:{}", seconds)}) {
      const auto values = values_of(text);
      ASSERT_EQ(values.size(), 1U) << text;
      EXPECT_NEAR(values[0], seconds, 1e-9) << text;
    }
  }
}

TEST(Statements, BehindTheBoundAreNotRead) {
  const std::string statement = "total layers: 88";
  const std::string before(kMostStatedBytes - statement.size(), ' ');
  EXPECT_EQ(values_of(before + statement), std::vector<double>{88});
  EXPECT_NE(values_of(before + "    " + statement), std::vector<double>{88});
}

TEST(Statements, OfAnyBytesAreFinite) {
  std::mt19937 random(96);
  const std::vector<std::string> pieces{"filament",
                                        "used",
                                        " ",
                                        ":",
                                        "=",
                                        "12",
                                        ".",
                                        "mm",
                                        "g",
                                        "total",
                                        "time",
                                        "1e9",
                                        "h",
                                        ",",
                                        ";",
                                        "layer",
                                        "count",
                                        "[",
                                        "]",
                                        "-",
                                        "\xff",
                                        "T1",
                                        "999999999999999999999"};
  for (int round = 0; round < 20'000; ++round) {
    std::string comment;
    for (std::size_t i = 0; i < random() % 14; ++i)
      comment += pieces[random() % pieces.size()];
    for (const Statement& statement : read_statements(comment))
      for (const double value : statement.values) {
        EXPECT_TRUE(std::isfinite(value)) << comment;
        EXPECT_GE(value, 0.0) << comment;
      }
  }
}

}  // namespace
}  // namespace platetally::gcode
