#include "base/excerpt.hpp"

#include <gtest/gtest.h>

namespace platetally::base {
namespace {

Diagnostic at_column(std::uint64_t column, std::string_view line) {
  Diagnostic diagnostic;
  diagnostic.column = column;
  set_excerpt(diagnostic, line);
  return diagnostic;
}

TEST(Excerpt, AShortLineIsShownWholeWithoutItsEnd) {
  const Diagnostic diagnostic = at_column(4, "G1 X1..5\r\n");
  EXPECT_EQ(diagnostic.excerpt, "G1 X1..5");
  EXPECT_EQ(diagnostic.excerpt_offset, 0U);
}

TEST(Excerpt, ALongLineIsCutSoThatTheColumnStaysInside) {
  std::string line(10000, '.');
  for (const std::size_t column : {1UL, 60UL, 61UL, 5000UL, 9941UL, 10000UL}) {
    SCOPED_TRACE(column);
    std::string marked = line;
    marked[column - 1] = '!';
    const Diagnostic diagnostic = at_column(column, marked);
    EXPECT_EQ(diagnostic.excerpt.size(), 120U);
    ASSERT_LT(column - 1 - diagnostic.excerpt_offset, diagnostic.excerpt.size());
    EXPECT_EQ(diagnostic.excerpt[column - 1 - diagnostic.excerpt_offset], '!');
  }
}

TEST(Excerpt, CharactersAreNotCutInHalf) {
  std::string line;
  for (int i = 0; i < 400; ++i)
    line += "\u20ac";  // three bytes each
  for (const std::size_t column : {1UL, 400UL, 401UL, 402UL, 1200UL}) {
    SCOPED_TRACE(column);
    const Diagnostic diagnostic = at_column(column, line);
    EXPECT_EQ(diagnostic.excerpt_offset % 3, 0U);
    EXPECT_EQ(diagnostic.excerpt.size() % 3, 0U);
    EXPECT_GE(diagnostic.excerpt.size(), 114U);
  }
}

TEST(Excerpt, AColumnBehindTheLineOrBytesThatAreNoTextDoNoHarm) {
  EXPECT_EQ(at_column(99, "G1").excerpt, "G1");
  EXPECT_EQ(at_column(1, "").excerpt, "");
  EXPECT_EQ(at_column(3, std::string(500, '\x80')).excerpt_offset, 0U);
}

}  // namespace
}  // namespace platetally::base
