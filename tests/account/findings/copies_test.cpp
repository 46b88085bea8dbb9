// What counts as one piece on the bed.
#include <gtest/gtest.h>

#include "account/findings/savings.hpp"

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
        footprint.add(move, 1);
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

}  // namespace
}  // namespace platetally::findings
