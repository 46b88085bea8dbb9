#include "account/ledgers/footprint.hpp"

#include <gtest/gtest.h>

#include <random>

#include "support/rows.hpp"

namespace platetally::ledgers {
namespace {

TEST(Footprint, StrokesMarkWhatTheyMarkOneByOne) {
  BuildArea area;
  area.x_min_mm = -20.0;
  area.x_max_mm = 30.0;  // rims of cells, where the last strokes end
  area.y_min_mm = 10.0;
  area.y_max_mm = 40.0;
  std::mt19937 random(6);
  for (int round = 0; round < 200; ++round) {
    Footprint together(area);
    Footprint apart(area);
    test::StrokeColumns run({0.0, 20.0, 0.2});
    const double reach_mm = round % 2 == 0 ? 3.0 : 60.0;
    double x_mm = 0.0, y_mm = 20.0;
    for (int i = 0; i < 40; ++i) {
      const auto step = [&] { return reach_mm * (static_cast<double>(random() % 13) / 6.0 - 1.0); };
      x_mm = std::clamp(x_mm + step(), area.x_min_mm, area.x_max_mm);
      y_mm = std::clamp(y_mm + step(), area.y_min_mm, area.y_max_mm);
      run.push({x_mm, y_mm, 0.2}, 0.1, 30.0);
    }
    const interpreter::Rows strokes = run.rows();
    const std::size_t cut = random() % 39 + 1;
    together.add(strokes, 0, cut);
    together.add(strokes, cut, strokes.size);
    std::size_t marked = 0;
    for (std::size_t i = 0; i < strokes.size; ++i)
      apart.add(strokes.record(i).move, strokes.run.layer);
    for (std::size_t column = 0; column < apart.columns(); ++column)
      for (std::size_t row = 0; row < apart.rows(); ++row) {
        ASSERT_EQ(together.laid(column, row), apart.laid(column, row)) << column << ' ' << row;
        marked += apart.laid(column, row) ? 1U : 0U;
      }
    EXPECT_GT(marked, 5U);
  }
}

}  // namespace
}  // namespace platetally::ledgers
