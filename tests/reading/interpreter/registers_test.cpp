// What one line leaves behind for the next: the register of E, offsets, towers that have been seen.
#include <gtest/gtest.h>

#include "support.hpp"

namespace platetally::interpreter::test {
namespace {

/// Many strokes in a row, which are taken at once; 0.5 mm of filament each.
std::string strokes(int count, bool relative) {
  std::string text;
  for (int i = 1; i <= count; ++i)
    text += fmt::format("G1 X{} Y{} E{}\n", 10 + i, i % 2, relative ? 0.5 : 0.5 * i);
  return text;
}

double last_e_mm(const std::string& text) {
  return run("G90\nG1 Z0.2 F1200\n" + text, machine()).moves().back().move.e_mm;
}

// Controllers go on counting E while it is relative (common practice, no source): after 40 times
// 0.5 mm it stands at 20.
TEST(Registers, RelativeEMovesTheRegisterOfAbsoluteE) {
  EXPECT_NEAR(last_e_mm("G92 E0\nM83\n" + strokes(40, true) + "M82\nG1 X5 Y5 E21\n"), 1.0, 1e-9);
  EXPECT_NEAR(last_e_mm("G92 E7\nM83\n" + strokes(40, true) + "M82\nG1 X5 Y5 E28\n"), 1.0, 1e-9);
}

TEST(Registers, AbsoluteEGoesOnFromTheLastOfManyStrokes) {
  EXPECT_NEAR(last_e_mm("G92 E0\nM82\n" + strokes(40, false) + "M83\nM82\nG1 X5 Y5 E20.25\n"), 0.25,
              1e-9);
  EXPECT_NEAR(last_e_mm("G92 E0\nM82\n" + strokes(40, false) + "G1 X5 Y5 E20.75 F1000\n"), 0.75,
              1e-9);
}

TEST(Registers, TheFirstOfManyStrokesGoesOnFromTheRegister) {
  const auto told =
      run("G90\nM82\nG1 Z0.2 F1200\nG92 E100\nG1 X1 Y1 E100.5\n" +
              std::string("G1 X2 Y2 E101\nG1 X3 Y1 E101.5\nG1 X4 Y2 E102\nG1 X5 Y1 E102.5\n"
                          "G1 X6 Y2 E103\nG1 X7 Y1 E103.5\nG1 X8 Y2 E104\n"),
          machine());
  for (const Record& move : told.moves())
    if (move.move.e_mm != 0.0) {
      EXPECT_NEAR(move.move.e_mm, 0.5, 1e-9);
    }
}

TEST(Registers, HomingForgetsTheOffset) {
  const auto told = run("G90\nG1 X10 Y10 F6000\nG92 X0\nG28 X\nG1 X30\n", machine());
  EXPECT_EQ(told.moves().back().move.to_mm[0], 30.0);
  EXPECT_EQ(told.moves().back().move.from_mm[0], 0.0);
}

/// Up to a tower that is 0.3 mm ahead, and back to the part.
std::string round_trip(int visit) {
  const double part_mm = 0.2 * visit;
  return fmt::format(
      "T{}\nG0 X150 Y150 Z{}\nG1 X160 E1\nG1 Y155 E1\nG0 X20 Y20 Z{}\nG1 X40 E1\nG1 Y25 E1\n",
      visit % 2, part_mm + 0.3, part_mm);
}

// The tower never meets a layer of the part. Twice it opens layers of its own; from the third visit
// on, what is laid there belongs to the part's layer.
TEST(Registers, ATallTowerIsKnownFromItsThirdVisitOn) {
  std::string text = "G90\nM83\nT0\nG1 F1200\nG0 X20 Y20 Z0.2\nG1 X40 E1\nG1 Y25 E1\n";
  for (int visit = 1; visit <= 4; ++visit)
    text += round_trip(visit);
  const auto told = run(text, machine());
  std::vector<double> heights_mm = told.heights_mm;
  std::sort(heights_mm.begin(), heights_mm.end());
  ASSERT_EQ(heights_mm.size(), 7U);  // 0, the part's four, and the tower's first two
  const double expected_mm[] = {0.0, 0.2, 0.4, 0.5, 0.6, 0.7, 0.8};
  for (std::size_t i = 0; i < 7; ++i)
    EXPECT_NEAR(heights_mm[i], expected_mm[i], 1e-9);
}

}  // namespace
}  // namespace platetally::interpreter::test
