// Real sliced files, read in place where they are at hand. The expected figures were counted by a
// separate small script from the E and T words; filament stated by the author's own program stands
// beside them where it is known.
#include "platetally/account.hpp"
#include "support.hpp"
#include "support/test_names.hpp"

namespace platetally {
namespace {

struct Row {
  const char* file;
  std::uint64_t swaps;
  std::vector<double> filament_mm;  // by tool, two decimals
};

class RealPlate : public testing::TestWithParam<Row> {};

TEST_P(RealPlate, SwapsAndNetFilamentAgreeWithAnIndependentCount) {
  const Row& row = GetParam();
  const std::string path = test::shared_plate(row.file);
  if (path.empty())
    GTEST_SKIP() << row.file << " is not at hand; testdata/plates covers the same traits";
  const Account account = analyze_file(path, test::embedded("changer-5"));
  EXPECT_EQ(account.totals.swaps, row.swaps);
  for (std::size_t tool = 0; tool < account.tools.size(); ++tool) {
    const double expected_mm = tool < row.filament_mm.size() ? row.filament_mm[tool] : 0.0;
    EXPECT_NEAR(account.tools[tool].filament_mm, expected_mm, 0.005) << "tool " << tool;
  }
}

INSTANTIATE_TEST_SUITE_P(
    Plates, RealPlate,
    testing::Values(
        // stated 288.7 and 18.5 mm: a retraction is left open at the end of each tool
        Row{"two_tools_absolute_e.gcode", 38, {287.73, 17.49}},
        Row{"two_tools_relative_e.gcode", 14, {1305.61, 55.13}},
        // stated 2166.8 mm in all
        Row{"three_tools_firmware_retract.gcode", 20, {532.53, 661.27, 973.04}},
        // stated 20486.5 mm
        Row{"twin_crlf.gcode", 0, {20499.46}}, Row{"twin_lf.gcode", 0, {20499.46}}),
    [](const auto& row) { return test::readable(row.param.file); });

TEST(RealPlates, LineEndsChangeNothing) {
  const std::string crlf = test::shared_plate("twin_crlf.gcode");
  const std::string lf = test::shared_plate("twin_lf.gcode");
  if (crlf.empty() || lf.empty())
    GTEST_SKIP() << "the twins are not at hand; testdata/plates covers the same trait";
  const Machine machine = test::embedded("single-1");
  const Account a = analyze_file(crlf, machine);
  const Account b = analyze_file(lf, machine);
  EXPECT_EQ(a.lines, b.lines);
  EXPECT_EQ(a.totals.time.expected, b.totals.time.expected);
  EXPECT_EQ(a.totals.energy_wh, b.totals.energy_wh);
  EXPECT_EQ(a.tools[0].filament_mm, b.tools[0].filament_mm);
  ASSERT_EQ(a.layers.size(), b.layers.size());
}

TEST(RealPlates, NestedCommentsAndExtruderWordsRunToTheEnd) {
  for (const char* name : {"paren_comments.gcode", "paren_header.gcode"}) {
    const std::string path = test::shared_plate(name);
    if (path.empty())
      GTEST_SKIP() << name << " is not at hand";
    const Account account = analyze_file(path, test::embedded("single-1"));
    EXPECT_GT(account.totals.layers, 10U) << name;
    EXPECT_GT(account.totals.time_by.print_s, 0.0) << name;
    EXPECT_EQ(account.totals.swaps, 0U) << name;
    for (const Diagnostic& diagnostic : account.diagnostics)
      EXPECT_NE(diagnostic.severity, Severity::error) << name << ": " << diagnostic.message;
  }
}

// The times that other programs stated for unknown machines: plausible, no truth.
TEST(RealPlates, HoursAreOfTheStatedOrder) {
  const std::string path = test::shared_plate("twin_lf.gcode");
  if (path.empty())
    GTEST_SKIP() << "twin_lf.gcode is not at hand";
  const double stated_s = 2 * 3600 + 32 * 60;
  const Account account = analyze_file(path, test::embedded("single-1"));
  EXPECT_GT(account.totals.time.expected, 0.5 * stated_s);
  EXPECT_LT(account.totals.time.expected, 2.0 * stated_s);
}

}  // namespace
}  // namespace platetally
