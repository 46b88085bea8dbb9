// What counts as one piece on the bed, and what its copies save.
#include <gtest/gtest.h>

#include "account/findings/savings.hpp"
#include "platetally/account.hpp"

namespace platetally::findings {
namespace {

constexpr double kCell = ledgers::Footprint::kCellMm;

/// A raster from a drawing; 'x' is laid upon.
ledgers::Footprint drawn(const std::vector<std::string>& rows) {
  BuildArea area;
  area.x_min_mm = area.y_min_mm = 0.0;
  area.x_max_mm = area.y_max_mm = 100.0;
  ledgers::Footprint footprint(area);
  for (std::size_t row = 0; row < rows.size(); ++row)
    for (std::size_t column = 0; column < rows[row].size(); ++column)
      if (rows[row][column] == 'x') {
        interpreter::Move move{};
        move.from_mm = {(static_cast<double>(column) + 0.4) * kCell,
                        (static_cast<double>(row) + 0.5) * kCell, 0.2};
        move.to_mm = {move.from_mm[0] + 0.1, move.from_mm[1], 0.2};
        footprint.add(move);
      }
  return footprint;
}

TEST(Copies, WhatTouchesAtACornerIsOnePiece) {
  // Two rings whose strokes go diagonally: in pieces by their edges, one each by corners too.
  EXPECT_EQ(count_copies(drawn({
                "..x.....x..",
                ".x.x...x.x.",
                "x...x.x...x",
                ".x.x...x.x.",
                "..x.....x..",
            })),
            2U);
}

TEST(Copies, PiecesOfOtherSizesAreNoCopies) {
  EXPECT_EQ(count_copies(drawn({
                "xxxxxx....xxx",
                "xxxxxx....xxx",
                "xxxxxx.......",
                "xxxxxx....xxx",
                "xxxxxx....xxx",
                "xxxxxx.......",
            })),
            2U);
}

// Half of the purge and of the seconds: the saving is for each of two plates.
TEST(Copies, TwiceAsManyShareTheSwaps) {
  Machine machine;
  machine.heads.resize(2);
  machine.tools.resize(2);
  machine.tools[1].head = 1;
  Account account;
  account.layers.resize(3);
  account.visits = {{1, {0, 1}}, {2, {0, 1}}};
  account.swap_pairs = {{0, 1, 2, 4.0, 0.0}, {1, 0, 1, 2.0, 0.0}};
  account.totals.swaps = 3;
  account.totals.purge_g = 6.0;
  account.totals.time_by.swap_s = 90.0;
  account.totals.mean_power_w = 100.0;
  for (int tool = 0; tool < 2; ++tool) {
    account.tools.emplace_back();
    account.tools.back().tool = tool;
    account.tools.back().part_g = 5.0;
  }
  const ledgers::Footprint footprint = drawn({"xx"});
  const std::vector<ledgers::ToolUse> uses(2);
  for (const Finding& finding : find_levers({account, machine, footprint, uses}))
    if (finding.code == "copies-share-swaps") {
      EXPECT_NEAR(finding.saves_purge_g, 3.0, 1e-12);
      EXPECT_NEAR(finding.saves_time_s, 45.0, 1e-12);
      EXPECT_NEAR(finding.saves_energy_wh, 45.0 * 100.0 / 3600.0, 1e-12);
      return;
    }
  FAIL() << "no such finding";
}

}  // namespace
}  // namespace platetally::findings
