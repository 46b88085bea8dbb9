// A long stroke marks the cells that it crosses.
#include <gtest/gtest.h>

#include <cmath>
#include <random>

#include "account/ledgers/footprint.hpp"

namespace platetally::ledgers {
namespace {

// A stroke is looked at in steps of at most half a cell along its longer axis. So a cell through
// which it runs for longer than that is found whatever its slope; and nothing is marked but cells
// that it runs through or touches.
TEST(Footprint, ALongStrokeMarksEveryCellThatItRunsThroughForHalfACell) {
  constexpr double kCell = Footprint::kCellMm;
  BuildArea area;
  area.x_min_mm = area.y_min_mm = 0.0;
  area.x_max_mm = area.y_max_mm = 100.0;
  std::mt19937 random(9);
  std::uniform_real_distribution<double> place(0.0, 100.0);
  for (int round = 0; round < 300; ++round) {
    interpreter::Move move{};
    move.from_mm = {place(random), place(random), 0.2};
    move.to_mm = {place(random), place(random), 0.2};
    Footprint footprint(area);
    footprint.add(move, 1);
    // How far it runs through every cell, along its longer axis, by very many points.
    constexpr int kPoints = 20000;
    std::vector<double> inside_mm(footprint.columns() * footprint.rows(), 0.0);
    const double dx = move.to_mm[0] - move.from_mm[0], dy = move.to_mm[1] - move.from_mm[1];
    const double step_mm = std::max(std::abs(dx), std::abs(dy)) / kPoints;
    for (int i = 0; i <= kPoints; ++i) {
      const double x = move.from_mm[0] + dx * i / kPoints, y = move.from_mm[1] + dy * i / kPoints;
      inside_mm[static_cast<std::size_t>(y / kCell) * footprint.columns() +
                static_cast<std::size_t>(x / kCell)] += step_mm;
    }
    for (std::size_t row = 0; row < footprint.rows(); ++row)
      for (std::size_t column = 0; column < footprint.columns(); ++column) {
        const double through_mm = inside_mm[row * footprint.columns() + column];
        if (through_mm > 0.5 * kCell + 2.0 * step_mm) {
          EXPECT_TRUE(footprint.laid(column, row))
              << "round " << round << ": " << column << ' ' << row;
        }
        if (footprint.laid(column, row)) {
          EXPECT_GT(through_mm, 0.0) << "round " << round << ": " << column << ' ' << row;
        }
      }
  }
}

}  // namespace
}  // namespace platetally::ledgers
