#include "base/diagnostics.hpp"

#include <gtest/gtest.h>

namespace platetally::base {
namespace {

Diagnostic at(const char* code, std::uint64_t line) {
  Diagnostic diagnostic;
  diagnostic.code = code;
  diagnostic.line = line;
  diagnostic.message = "line " + std::to_string(line);
  return diagnostic;
}

TEST(Diagnostics, FoldsRepeatsIntoACountAndKeepsTheFirst) {
  Diagnostics diagnostics;
  diagnostics.add(at("a", 3));
  diagnostics.add(at("b", 4));
  diagnostics.add(at("a", 5));
  ASSERT_EQ(diagnostics.entries().size(), 2U);
  EXPECT_EQ(diagnostics.entries()[0].message, "line 3");
  EXPECT_EQ(diagnostics.entries()[0].count, 2U);
}

TEST(Diagnostics, CountAgainKnowsOnlyWhatWasSeen) {
  Diagnostics diagnostics;
  EXPECT_FALSE(diagnostics.count_again("a"));
  diagnostics.add(at("a", 3));
  EXPECT_TRUE(diagnostics.count_again("a"));
  EXPECT_EQ(diagnostics.entries()[0].count, 2U);
}

TEST(Diagnostics, MergeKeepsTheEarlierLine) {
  Diagnostics first;
  first.add(at("a", 9));
  Diagnostics second;
  second.add(at("a", 2));
  second.add(at("b", 5));
  first.merge(second);
  ASSERT_EQ(first.entries().size(), 2U);
  EXPECT_EQ(first.entries()[0].line, 2U);
  EXPECT_EQ(first.entries()[0].count, 2U);
}

}  // namespace
}  // namespace platetally::base
