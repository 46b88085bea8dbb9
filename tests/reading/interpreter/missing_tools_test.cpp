// Tools that the machine lacks: what is lost with each.
#include <gtest/gtest.h>

#include "support.hpp"

namespace platetally::interpreter::test {
namespace {

std::vector<MissingTool> missing(const std::string& text, const Machine& machine) {
  Collect sink;
  Interpreter interpreter(machine, sink);
  PlateReader reader(interpreter);
  reader.take(text);
  interpreter.finish();
  return interpreter.missing_tools();
}

TEST(MissingTools, EachNumberHasItsFilamentAndItsSwaps) {
  // T0, T9 and back to T0: two swaps that are not counted. T1, T8, T9, T0: T1 to T0 is counted
  // once, so of three swaps two are lost.
  const std::string text =
      "M83\nT0\nG1 X5 E1 F600\n"
      "T9\nG1 X0 E2\nG1 E-0.5\n"
      "T0\nG1 X5 E1\n"
      "T1\nG1 X0 E1\n"
      "T8\nG1 X5 E3\n"
      "T9\nG1 X0 E4\n"
      "T0\nG1 X5 E1\n";
  const auto lost = missing(text, machine(2));
  ASSERT_EQ(lost.size(), 2U);
  EXPECT_EQ(lost[0].tool, 8);
  EXPECT_EQ(lost[0].selects, 1U);
  EXPECT_EQ(lost[0].swaps, 1U);
  EXPECT_DOUBLE_EQ(lost[0].filament_mm, 3.0);
  EXPECT_EQ(lost[1].tool, 9);
  EXPECT_EQ(lost[1].selects, 2U);
  EXPECT_EQ(lost[1].first_line, 4U);
  EXPECT_EQ(lost[1].swaps, 3U);
  EXPECT_DOUBLE_EQ(lost[1].filament_mm, 5.5);
  const test::Run run = test::run(text, machine(2));
  const Diagnostic* const said = run.find("tool-not-on-machine");
  ASSERT_NE(said, nullptr);
  EXPECT_EQ(said->severity, Severity::warning);
  EXPECT_EQ(said->count, 3U);
  EXPECT_EQ(said->line, 4U);
  for (const char* part : {"T8 (line 11), which feeds 3.0 mm and loses 1 swap",
                           "T9 (2 times, first in line 4), which feeds 5.5 mm and loses 3 swaps"})
    EXPECT_NE(said->message.find(part), std::string::npos) << said->message;
}

TEST(MissingTools, NumbersThatStandForNoToolAreANote) {
  const std::string text = "M83\nT0\nG1 X5 E1 F600\nT1000\nG1 X9 E1\nT1\nG1 X0 E1\nT1000\n";
  const auto lost = missing(text, machine(2));
  ASSERT_EQ(lost.size(), 1U);
  EXPECT_EQ(lost[0].swaps, 0U);
  EXPECT_EQ(lost[0].filament_mm, 0.0);
  EXPECT_EQ(test::run(text, machine(2)).find("tool-not-on-machine")->severity, Severity::note);
}

TEST(MissingTools, AreBoundedInNumber) {
  std::string text = "M83\n";
  for (int i = 0; i < 1000; ++i)
    text += fmt::format("T{}\nG1 X{} E1\n", 5 + i, i % 2);
  EXPECT_LE(missing(text, machine(2)).size(), 64U);
}

}  // namespace
}  // namespace platetally::interpreter::test
