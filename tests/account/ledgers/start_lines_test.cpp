#include "account/ledgers/start_lines.hpp"

#include <gtest/gtest.h>

#include <map>

#include "support/records.hpp"

namespace platetally::ledgers {
namespace {

using test::Point;

/// Strokes given to StartLines, with what is laid in each layer.
class Plate {
 public:
  void line(Point from, Point to, double e_mm, std::uint32_t layer) {
    if (lines_.is_watching())
      lines_.add(test::move(from, to, e_mm, 1.0, 0, layer), e_mm);
    laid_mm_[layer] += e_mm;
  }
  /// A part of squares, one a layer, from layer `first` on.
  void part(std::uint32_t first, std::uint32_t layers, double e_per_mm = 0.04) {
    for (std::uint32_t layer = first; layer < first + layers; ++layer) {
      const double z_mm = 0.2 * layer;
      const Point corners[] = {{50, 50, z_mm}, {90, 50, z_mm}, {90, 90, z_mm}, {50, 90, z_mm}};
      for (int side = 0; side < 4; ++side)
        line(corners[side], corners[(side + 1) % 4], 40.0 * e_per_mm, layer);
      later_.include(50, 50);
      later_.include(90, 90);
    }
  }
  std::size_t found() const {
    return lines_.find(later_, [this](std::uint32_t layer) { return laid_mm_.at(layer); }).size();
  }

 private:
  StartLines lines_;
  swaps::Box later_;
  std::map<std::uint32_t, double> laid_mm_;
};

TEST(StartLines, LinesAtTheEdgeWithAHeightOfTheirOwn) {
  Plate plate;
  plate.line({0.1, 20, 0.3}, {0.1, 200, 0.3}, 7.2, 1);
  plate.line({0.4, 200, 0.3}, {0.4, 20, 0.3}, 7.2, 1);
  plate.part(2, 30);
  EXPECT_EQ(plate.found(), 2U);
}

TEST(StartLines, LinesOfAThickBeadAtTheHeightOfTheFirstLayer) {
  Plate plate;
  plate.line({0.1, 20, 0.2}, {0.1, 200, 0.2}, 15.0, 1);
  plate.line({0.4, 200, 0.2}, {0.4, 20, 0.2}, 15.0, 1);
  plate.part(1, 30);
  EXPECT_EQ(plate.found(), 2U);
}

TEST(StartLines, AThinLineAtTheHeightOfTheFirstLayerMayBeAPart) {
  Plate plate;
  plate.line({0.1, 20, 0.2}, {0.1, 200, 0.2}, 7.2, 1);
  plate.part(1, 30);
  EXPECT_EQ(plate.found(), 0U);
}

TEST(StartLines, ASkirtLiesAroundThePartAndIsNone) {
  Plate plate;
  plate.line({40, 40, 0.2}, {100, 40, 0.2}, 3.2, 1);
  plate.line({100, 40, 0.2}, {100, 100, 0.2}, 3.2, 1);
  plate.line({100, 100, 0.2}, {40, 100, 0.2}, 3.2, 1);
  plate.line({40, 100, 0.2}, {40, 40, 0.2}, 3.2, 1);
  plate.part(1, 30);
  EXPECT_EQ(plate.found(), 0U);
}

TEST(StartLines, ADotPrimesNothing) {
  Plate plate;
  plate.line({0.1, 20, 0.3}, {0.1, 22, 0.3}, 1.0, 1);
  plate.part(2, 30);
  EXPECT_EQ(plate.found(), 0U);
}

TEST(StartLines, WithoutAPrintBehindThemThereAreNone) {
  Plate plate;
  plate.line({0.1, 20, 0.3}, {0.1, 200, 0.3}, 7.2, 1);
  EXPECT_EQ(plate.found(), 0U);
}

TEST(StartLines, NothingIsWantedAnyMoreBehindTheFirstStrokesOrASwap) {
  StartLines lines;
  EXPECT_TRUE(lines.is_watching());
  lines.stop();
  EXPECT_FALSE(lines.is_watching());
  StartLines many;
  for (int i = 0; i < 64; ++i)
    many.add(test::move({}, {1, 0, 0}, 1.0, 1.0), 1.0);
  EXPECT_FALSE(many.is_watching());
}

}  // namespace
}  // namespace platetally::ledgers
