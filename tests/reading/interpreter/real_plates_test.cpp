// Real sliced files, read in place where they are at hand: net filament by tool and swaps, against
// a count of the E and T words by a separate script.
#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <sstream>

#include "support.hpp"
#include "support/test_names.hpp"

namespace platetally::interpreter::test {
namespace {

struct Row {
  const char* file;
  int swaps;
  std::uint64_t tool_selects;
  std::vector<double> net_mm;  // by tool, two decimals
  std::size_t layers;          // heights at which E is fed on the way, by the same script
};

std::string read_shared(const std::string& name) {
  std::ifstream in(std::string(PLATETALLY_SHARED) + "/plates/" + name, std::ios::binary);
  std::ostringstream text;
  text << in.rdbuf();
  return text.str();
}

int count_swaps(const Run& run) {
  int swaps = 0, tool = -1;
  bool laid = false;
  for (const Record& record : run.records) {
    laid = laid || lays_material(record);
    if (record.kind != RecordKind::select_tool || record.event.tool < 0)
      continue;
    swaps += laid && tool >= 0 && record.event.tool != tool ? 1 : 0;
    tool = record.event.tool;
  }
  return swaps;
}

class RealPlate : public testing::TestWithParam<Row> {};

TEST_P(RealPlate, NetFilamentSwapsAndLayers) {
  const Row& row = GetParam();
  const std::string text = read_shared(row.file);
  if (text.empty())
    GTEST_SKIP() << row.file << " is not at hand";
  Machine machine = test::machine(5);
  machine.dialect.initial_extrusion = ExtrusionMode::detect;
  const test::Run run = test::run(text, machine);
  std::vector<double> net_mm(5, 0.0);
  for (const Record& record : run.moves())
    net_mm.at(static_cast<std::size_t>(record.tool)) += record.move.e_mm;
  for (std::size_t tool = 0; tool < net_mm.size(); ++tool)
    EXPECT_NEAR(net_mm[tool], tool < row.net_mm.size() ? row.net_mm[tool] : 0.0, 0.005) << tool;
  EXPECT_EQ(count_swaps(run), row.swaps);
  EXPECT_EQ(run.tool_selects, row.tool_selects);
  EXPECT_EQ(run.heights_mm.size() - 1, row.layers);
  EXPECT_LE(run.largest_run, kMostRows);
  EXPECT_EQ(run.records.back().kind, RecordKind::end_of_plate);
}

INSTANTIATE_TEST_SUITE_P(
    Plates, RealPlate,
    testing::Values(Row{"two_tools_absolute_e.gcode", 38, 77, {287.73, 17.49}, 81},
                    Row{"two_tools_relative_e.gcode", 14, 33, {1305.61, 55.13}, 16},
                    Row{"three_tools_firmware_retract.gcode", 20, 21, {532.53, 661.27, 973.04}, 10},
                    Row{"twin_crlf.gcode", 0, 1, {20499.46}, 37},
                    Row{"twin_lf.gcode", 0, 1, {20499.46}, 37},
                    // These have extruder words and E words; the mode of E is never stated.
                    Row{"paren_comments.gcode", 0, 0, {486.16}, 53},
                    Row{"paren_header.gcode", 0, 0, {63.38}, 26}),
    [](const auto& row) { return platetally::test::readable(row.param.file); });

}  // namespace
}  // namespace platetally::interpreter::test
