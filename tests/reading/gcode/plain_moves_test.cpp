#include "reading/gcode/plain_moves.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <bit>
#include <cmath>
#include <memory>
#include <random>
#include <string>
#include <vector>

#include "reading/gcode/decimal.hpp"
#include "reading/gcode/equal_but_digits.hpp"
#include "reading/gcode/grammar.hpp"

namespace platetally::gcode {
namespace {

constexpr const char* kLetters = "XYZEF";

/// So much of it that no line is near the end.
std::string with_more(const std::string& text) {
  return text + std::string(80, ';');
}

/// Each line that was read says what parse_line() makes of it, to the bit.
void expect_as_parsed(const PlainMoves& moves, const char* at, const char* last) {
  Line line;
  for (std::size_t i = 0; i < moves.size(); ++i) {
    const char* const next = parse_line(at, last, line);
    const std::string text(line_text(at, next));
    ASSERT_EQ(moves.next(i), next) << text;
    ASSERT_EQ(moves.text(i), text);
    ASSERT_EQ(line.fault, LineFault::none) << text;
    ASSERT_EQ(line.commands, 1U) << text;
    ASSERT_EQ(line.comment.data(), nullptr) << text;
    const Command& command = line.command[0];
    ASSERT_EQ(command.letter, 'G') << text;
    ASSERT_LE(command.fraction, -1) << text;
    ASSERT_EQ(command.number, moves.is_rapid(i) ? 0 : 1) << text;
    ASSERT_EQ(command.words.bare, 0U) << text;
    std::uint32_t mask = 0;
    for (const auto word :
         {PlainMoves::kX, PlainMoves::kY, PlainMoves::kZ, PlainMoves::kE, PlainMoves::kF}) {
      const char letter = kLetters[word];
      if (!moves.has(i, word))
        continue;
      mask |= 1U << Words::index(letter);
      ASSERT_EQ(std::bit_cast<std::uint64_t>(moves.value(i, word)),
                std::bit_cast<std::uint64_t>(command.words[letter]))
          << text << ' ' << letter;
    }
    ASSERT_EQ(command.words.mask, mask) << text;
    at = next;
  }
}

/// How many of the lines are read.
std::size_t count_of(PlainMoves& moves, const std::string& text) {
  moves.read(text.data(), text.data() + text.size());
  expect_as_parsed(moves, text.data(), text.data() + text.size());
  return moves.size();
}

TEST(PlainMoves, AreReadWhereNothingIsOutOfTheOrdinary) {
  PlainMoves moves;
  for (const char* const line :
       {"G1 X1", "G0 X1 Y2", "G1 X112.875 Y68.125 E0.06548", "G1 E-0.80000 F2400",
        "G1 X-1.5 Y-0.25", "G1 X.5 Y-.5 E5.", "G1 F1800", "G1 Y007 X00.50",
        "G1 X12345678 Y1234567.8 E.12345678", "G1 X123456789012345 E-12345.6789012345",
        "G0 F15000 X145.675 Y40.675", "G1 X-0 Y-0.0", "G1 Z.6", "G1 X1.5 Y2 Z0.30 F1200.0 E71.42"})
    for (const char* const end : {"\n", "\r\n"})
      EXPECT_EQ(count_of(moves, with_more(std::string(line) + end)), 1U) << line;
}

TEST(PlainMoves, LeaveEverythingElse) {
  PlainMoves moves;
  for (const char* const line : {"",
                                 "G1",
                                 "G1 ",
                                 "G1 X",
                                 "G1 X-",
                                 "G1 X.",
                                 "G1 X+5",
                                 "G1 X1 ",
                                 " G1 X1",
                                 "g1 X1",
                                 "G1 x1",
                                 "G1X1",
                                 "G1 X1Y2",
                                 "G1  X1",
                                 "G1\tX1",
                                 "G1 X1 X2",
                                 "G2 X1 Y1 I1",
                                 "G10 X1",
                                 "G01 X1",
                                 "G1.1 X1",
                                 "G1 X1 M5",
                                 "G1 X1 T0",
                                 "G1 X1.2.3",
                                 "G1 X1-2",
                                 "G1 X1 2",
                                 "G1 X 1",
                                 "G1 X1;comment",
                                 "G1 X1 ;comment",
                                 "G1 X1 (comment)",
                                 "G1 X1*33",
                                 "N1 G1 X1",
                                 "T0",
                                 "M104 S200",
                                 "G1 X1234567890123456",
                                 "G1 X1.234567890123456",
                                 "G1 X1\rY2",
                                 "G1 X1 Y2 E3 F4 S5",
                                 "G1 X123456789 Y123456789 E123456789 F12345678901",
                                 "G1 X1E5"})
    EXPECT_EQ(count_of(moves, with_more(std::string(line) + "\n")), 0U) << line;
  EXPECT_EQ(count_of(moves, "G1 X1\n"), 0U) << "near the end";
  EXPECT_EQ(count_of(moves, ""), 0U);
}

TEST(PlainMoves, StopAtTheFirstLineThatIsNone) {
  PlainMoves moves;
  EXPECT_EQ(count_of(moves, with_more("G1 X1\nG1 X2 E1\nG92 E0\nG1 X3\n")), 2U);
  std::string many;
  for (std::size_t i = 0; i < PlainMoves::kMost + 5; ++i)
    many += "G1 X" + std::to_string(i) + "\n";
  EXPECT_EQ(count_of(moves, with_more(many)), PlainMoves::kMost);
}

TEST(PlainMoves, ThatDifferInTheirCommandAloneAreToldApart) {
  PlainMoves moves;
  EXPECT_EQ(count_of(moves, with_more("G1 X1\nG0 X2\nG1 X3\nG0 X4\n")), 4U);
  for (const char* const other : {"G2", "G3", "G4", "G9"})
    EXPECT_EQ(count_of(moves, with_more(std::string("G1 X1\n") + other + " X2\n")), 1U) << other;
}

std::string random_number(std::mt19937& random) {
  std::string text = random() % 4 == 0 ? "-" : "";
  const auto digits = [&](std::size_t most) {
    for (std::size_t i = random() % (most + 1); i > 0; --i)
      text += static_cast<char>('0' + random() % 10);
  };
  digits(random() % 8 == 0 ? 10 : 3);
  if (random() % 3 != 0)
    text += '.';
  digits(random() % 8 == 0 ? 9 : 4);
  return text;
}

/// Mostly plain; now and then one byte is another.
std::string random_line(std::mt19937& random) {
  std::string line = random() % 8 == 0 ? "G0" : "G1";
  for (const char letter : {'X', 'Y', 'Z', 'E', 'F'})
    if (random() % 4 != 0)
      line += std::string(" ") + letter + random_number(random);
  if (random() % 16 == 0)
    line[random() % line.size()] = " \t\rGMXYZEF019.-+;(*\n"[random() % 20];
  return line + (random() % 16 == 0 ? "\r\n" : "\n");
}

TEST(PlainMoves, SayWhatTheGrammarSays) {
  std::mt19937 random(11);
  PlainMoves moves;
  std::size_t read = 0;
  std::size_t lines = 0;
  for (int round = 0; round < 300; ++round) {
    std::string text;
    // Lines that differ in their digits alone come often: they have a short way of their own.
    std::vector<std::string> kinds;
    for (int i = 0; i < 12; ++i)
      kinds.push_back(random_line(random));
    for (int i = 0; i < 200; ++i) {
      std::string line = kinds[random() % kinds.size()];
      for (char& c : line)
        if (c >= '0' && c <= '9' && (&c - line.data() > 1 || random() % 8 == 0))
          c = static_cast<char>('0' + random() % 10);
      text += line;
    }
    const char* at = text.data();
    const char* const last = at + text.size();
    Line line;
    while (at != last) {
      moves.read(at, last);
      ASSERT_NO_FATAL_FAILURE(expect_as_parsed(moves, at, last));
      read += moves.size();
      lines += moves.size();
      if (moves.size() > 0) {
        at = moves.next(moves.size() - 1);
      } else {
        at = parse_line(at, last, line);
        ++lines;
      }
    }
  }
  EXPECT_GT(read, lines / 2) << "or the test says little";
  EXPECT_LT(read, lines);
}

TEST(PlainMoves, ReadNothingBehindTheText) {
  // On the heap and without a byte to spare, for the sanitizers.
  PlainMoves moves;
  std::string text;
  for (int i = 0; i < 9; ++i)
    text += "G1 X112.875 Y68.125 E0.06548 F1800\n";
  for (std::size_t size = 0; size <= text.size(); ++size) {
    const std::unique_ptr<char[]> exact(new char[size + 1]);
    std::copy_n(text.data(), size, exact.get());
    moves.read(exact.get(), exact.get() + size);
    ASSERT_LE(moves.size() * 35, size);
    ASSERT_GE((moves.size() + 2) * 35, size) << "only what is near the end is left";
  }
}

TEST(Digits, AreTakenForZerosOneByOneAndSideBySide) {
  std::mt19937 random(5);
  char text[16];
  char pattern[16];
  for (int round = 0; round < 20000; ++round) {
    std::uint32_t expected = 0;
    for (unsigned i = 0; i < 16; ++i) {
      text[i] = static_cast<char>(random() % 3 == 0 ? '0' + random() % 10 : random() % 256);
      const bool is_digit = text[i] >= '0' && text[i] <= '9';
      const char zeroed = is_digit ? '0' : text[i];
      pattern[i] = random() % 4 == 0 ? static_cast<char>(random() % 256) : zeroed;
      expected |= (zeroed == pattern[i] ? 1U : 0U) << i;
    }
    ASSERT_EQ(equal_but_digits(text, pattern), expected);
    ASSERT_EQ(equal_but_digits_by_words(text, pattern), expected);
  }
}

TEST(Digits, OfALineEndWithIt) {
  EXPECT_EQ(digits_of_line("G1 X20.5\n1234567890123456789012345678"), 0b10110010U);
  EXPECT_EQ(digits_of_line("\n12345678901234567890123456789012"), 0U);
  EXPECT_EQ(digits_of_line("G1 X123456789012345678901234567890"), 0xFFFFFFF2U);
  EXPECT_EQ(digits_of_line("G1 X1234567 Y0.123456789012345\n12"), 0x3FFFA7F2U);
}

TEST(PlainMoves, OfManyLayoutsAreKnownAgain) {
  // More kinds of line than are kept, in turns; the test above holds each against the grammar.
  std::string text;
  for (int round = 0; round < 3; ++round)
    for (int x = 1; x <= 7; ++x)
      for (int y = 1; y <= 7; ++y)
        for (int e = 1; e <= 4; ++e)
          text += "G" + std::to_string(e % 2) + " X" +
                  std::string(static_cast<std::size_t>(x), '7') + ".1 Y-" +
                  std::string(static_cast<std::size_t>(y), '3') + " Z.2 E0." +
                  std::string(static_cast<std::size_t>(e), '5') + "\n";
  PlainMoves moves;
  const std::string all = with_more(text);
  const char* at = all.data();
  std::size_t read = 0;
  while (at < all.data() + text.size()) {
    moves.read(at, all.data() + all.size());
    ASSERT_GT(moves.size(), 0U);
    ASSERT_NO_FATAL_FAILURE(expect_as_parsed(moves, at, all.data() + all.size()));
    read += moves.size();
    at = moves.next(moves.size() - 1);
  }
  EXPECT_EQ(read, 3U * 7 * 7 * 4);
}

TEST(Decimal, QuotientsAreRoundedOnce) {
  std::mt19937 random(3);
  std::vector<std::uint64_t> digits;
  std::vector<double> divisor, expected;
  for (std::uint64_t whole : {0ULL, 1ULL, 9ULL, 10ULL, 99999999ULL, 12345678ULL, 90000000ULL}) {
    digits.push_back(whole);
  }
  while (digits.size() < 1001)
    digits.push_back(random() % 100000000U);
  for (std::uint64_t& number : digits) {
    const double by = std::pow(10.0, static_cast<double>(random() % 8)) * (random() % 2 ? 1 : -1);
    divisor.push_back(by);
    expected.push_back(static_cast<double>(number) / by);
    std::uint64_t bytes = 0;
    for (int i = 0; i < 8; ++i, number /= 10)
      bytes = bytes << 8 | number % 10;
    number = bytes;
  }
  std::vector<double> value(digits.size());
  find_quotients(digits.data(), divisor.data(), digits.size(), value.data());
  for (std::size_t i = 0; i < value.size(); ++i)
    ASSERT_EQ(std::bit_cast<std::uint64_t>(value[i]), std::bit_cast<std::uint64_t>(expected[i]));
}

}  // namespace
}  // namespace platetally::gcode
