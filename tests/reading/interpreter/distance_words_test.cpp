// Whether G91 makes E relative where M82 stands: what the size of the E words tells.
#include <gtest/gtest.h>

#include "support.hpp"

namespace platetally::interpreter::test {
namespace {

double fed_mm(const Run& run) {
  double sum_mm = 0.0;
  for (const Record& record : run.moves())
    sum_mm += record.move.e_mm;
  return sum_mm;
}

const char* kCode = "extrusion-in-relative-distances";

TEST(DistanceWords, ARetractionAtTheEndIsAsLongAsItsWord) {
  const test::Run run =
      test::run("M82\nG1 X1 E3781 F600\nG91\nG1 E-2\nG1 E-2 Z0.2\nG90\nG1 X0\n", machine());
  EXPECT_DOUBLE_EQ(fed_mm(run), 3777.0);
  ASSERT_NE(run.find(kCode), nullptr);
  EXPECT_NE(run.find(kCode)->message.find("read as relative"), std::string::npos);
  EXPECT_EQ(run.find("retraction-implausible"), nullptr);
}

TEST(DistanceWords, TheModeIsAbsoluteAgainBehindG90) {
  // The register stands where relative words have left it: 100 - 3.
  const test::Run run =
      test::run("M82\nG1 X1 E100 F600\nG91\nG1 E-3\nG90\nG1 X2 E98\nG91\nG1 E-3\nG90\n", machine());
  ASSERT_EQ(run.moves().size(), 4U);
  EXPECT_DOUBLE_EQ(run.moves()[1].move.e_mm, -3.0);
  EXPECT_DOUBLE_EQ(run.moves()[2].move.e_mm, 1.0);
  EXPECT_DOUBLE_EQ(run.moves()[3].move.e_mm, -3.0);
}

TEST(DistanceWords, AToolOfThatNumberIsNoDistanceWord) {
  const test::Run run = test::run("M82\nG1 X1 E5 F600\nG91\nG1 E-1\nT90\nG1 E-3\nG90\n", machine());
  EXPECT_DOUBLE_EQ(run.moves()[1].move.e_mm, -1.0);
  EXPECT_DOUBLE_EQ(run.moves()[2].move.e_mm, -3.0);
}

TEST(DistanceWords, BothOnOneLine) {
  const test::Run run = test::run("M82\nG1 X1 E500 F600\nG91 G1 E-2\nG90\n", machine());
  EXPECT_DOUBLE_EQ(run.moves().back().move.e_mm, -2.0);
}

TEST(DistanceWords, WhatIsClearHoldsForTheRestOfThePlate) {
  // The second pair of words alone would not decide it: 4 mm fed, or 1 mm drawn back.
  const test::Run run =
      test::run("M82\nG1 X1 E500 F600\nG91\nG1 E-2\nG90\nG92 E5\nG91\nG1 E4\nG90\n", machine());
  EXPECT_DOUBLE_EQ(run.moves().back().move.e_mm, 4.0);
}

TEST(DistanceWords, WhereNothingTellsThemApartNothingIsSaid) {
  const test::Run run =
      test::run("M82\nG1 X1 E5 F600\nG92 E0\nG91\nG1 E-2\nG92 E0\nG90\n", machine());
  EXPECT_DOUBLE_EQ(run.moves().back().move.e_mm, -2.0);
  EXPECT_EQ(run.find(kCode), nullptr);
}

TEST(DistanceWords, WhatIsNotClearGoesByTheSmallerLength) {
  // 5 - 3: absolute draws 8 mm back, relative 3.
  const test::Run run =
      test::run("M82\nG1 X1 E5 F600\nG91\nG1 E-3\nG90\nG92 E0\nG1 X2 E1\n", machine());
  EXPECT_DOUBLE_EQ(run.moves()[1].move.e_mm, -3.0);
  EXPECT_NE(run.find(kCode), nullptr);
}

TEST(DistanceWords, AnAbsolutePlateInRelativeDistancesStaysAbsolute) {
  std::string text = "M82\nG91\n";
  for (int i = 1; i <= 2000; ++i)
    text += fmt::format("G1 X{} E{:.2f} F600\n", i % 2 == 0 ? -1 : 1, 0.05 * i);
  const test::Run run = test::run(text, machine());
  EXPECT_NEAR(fed_mm(run), 100.0, 1e-9);
}

TEST(DistanceWords, ARelativePlateInRelativeDistancesIsKnownByItsBead) {
  std::string text = "M82\nG91\n";
  for (int i = 1; i <= 2000; ++i) {
    const int length = 1 + i % 7;
    text += fmt::format("G1 X{} E{:.2f} F600\n", i % 2 == 0 ? -length : length, 0.05 * length);
  }
  const test::Run run = test::run(text, machine());
  EXPECT_NEAR(fed_mm(run), 0.05 * 2000 * 4, 1.0);  // 4 mm is the mean length
}

TEST(DistanceWords, LinesThatWaitAreBounded) {
  // E at rest, back and forth: nothing decides it.
  std::string text = "M82\nG91\n";
  for (int i = 0; i < 30'000; ++i)
    text += i % 2 == 0 ? "G1 E1 F300\n" : "G1 E0\n";
  Collect sink;
  const Machine one = machine();
  Interpreter interpreter(one, sink);
  PlateReader reader(interpreter);
  reader.take(text);
  EXPECT_FALSE(sink.records.empty()) << "decided long before the end";
  interpreter.finish();
}

TEST(DistanceWords, TheMachineFileSettlesIt) {
  const std::string text = "M82\nG1 X1 E500 F600\nG91\nG1 E-2\nG90\n";
  Machine never = machine();
  never.dialect.distance_words_set_e = DistanceWordsSetE::no;
  const test::Run absolute = test::run(text, never);
  EXPECT_DOUBLE_EQ(absolute.moves().back().move.e_mm, -502.0);
  EXPECT_TRUE(absolute.diagnostics.empty());
  Machine always = machine();
  always.dialect.distance_words_set_e = DistanceWordsSetE::yes;
  const test::Run relative = test::run(text, always);
  EXPECT_DOUBLE_EQ(relative.moves().back().move.e_mm, -2.0);
  EXPECT_TRUE(relative.diagnostics.empty());
}

}  // namespace
}  // namespace platetally::interpreter::test
